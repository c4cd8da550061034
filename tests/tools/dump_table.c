/* dump_table: the table of record types as JSON (testvectors/records/table.json), for other implementations
 * and for the tests that are written in other languages. */
#include <inttypes.h>
#include <stdio.h>

#include "records/table.h"

static const char *const kinds[] = {
    [GLASSINE_TEXT] = "text",
    [GLASSINE_INTEGER] = "integer",
    [GLASSINE_TRUTH] = "truth",
    [GLASSINE_DATE] = "date",
    [GLASSINE_CHOICE] = "choice",
    [GLASSINE_REF] = "ref",
    [GLASSINE_EXPRESSION] = "expression",
    [GLASSINE_HEX] = "hex",
    [GLASSINE_TEXTS] = "texts",
    [GLASSINE_CHOICES] = "choices",
    [GLASSINE_REFS] = "refs",
    [GLASSINE_REGION] = "region",
};

/* The texts of the table hold no character that JSON would want escaped: test_table.c sees to that. */
static void text(const char *name, const char *value) {
    if (value)
        printf(",\"%s\":\"%s\"", name, value);
}

static void list(const char *name, const char *const *words) {
    if (!words)
        return;
    printf(",\"%s\":[", name);
    for (size_t i = 0; words[i]; i++)
        printf("%s\"%s\"", i ? "," : "", words[i]);
    printf("]");
}

static void print_field(const glassine_field_info *field) {
    printf("    {\"name\":\"%s\",\"kind\":\"%s\",\"reach\":\"%s\"", field->name, kinds[field->kind],
           glassine_reach_name(field->reach));
    if (field->required)
        printf(",\"required\":true");
    list("choices", field->choices);
    list("refs", field->refs);
    if (field->kind == GLASSINE_INTEGER)
        printf(",\"least\":%" PRId64 ",\"most\":%" PRId64, field->least, field->most);
    if (field->kind == GLASSINE_REFS && field->least > 1)
        printf(",\"least\":%" PRId64, field->least);
    if (field->kind == GLASSINE_REFS && field->most > 0)
        printf(",\"most\":%" PRId64, field->most);
    text("unit", field->unit);
    text("help", field->help);
    printf("}");
}

static void print_type(const glassine_type_info *type) {
    printf("  {\"name\":\"%s\",\"authored\":%s", type->name, type->authored ? "true" : "false");
    text("label", type->label);
    const gl_either *either = gl_type_either(type);
    if (either)
        printf(",\"either\":[\"%s\",\"%s\"]", either->one, either->other);
    if (gl_field_reach(type, &type->fields[0], GL_SPAN("sold")) != type->fields[0].reach)
        printf(",\"private_kinds\":[\"acquired\",\"sold\"]");
    text("help", type->help);
    text("caution", type->caution);
    printf(",\"fields\":[\n");
    for (size_t i = 0; i < type->field_count; i++) {
        print_field(&type->fields[i]);
        printf(i + 1 < type->field_count ? ",\n" : "]}");
    }
}

int main(void) {
    printf("{\"format\":\"%d.%d\",\"types\":[\n", GLASSINE_FORMAT_MAJOR, GLASSINE_FORMAT_MINOR);
    for (size_t i = 0; i < glassine_type_count(); i++) {
        print_type(glassine_type_at(i));
        printf(i + 1 < glassine_type_count() ? ",\n" : "\n]}\n");
    }
    return 0;
}
