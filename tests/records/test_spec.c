/* spec/records.md and the table in the library say the same, cell by cell. */
#include "markdown.h"

#include <inttypes.h>

#include "base/file.h"
#include "records/table.h"

static const char *const kinds[] = {"text",       "integer", "truth", "date",    "choice", "ref",
                                    "expression", "hex",     "texts", "choices", "refs",   "region"};

static gl_buf spec;

static int read_spec(void **state) {
    (void)state;
    return gl_file_read_all(SOURCE_ROOT "/spec/records.md", (size_t)1 << 20, &spec);
}

static int free_spec(void **state) {
    (void)state;
    gl_buf_free(&spec);
    return 0;
}

static void add_words(gl_buf *out, const char *const *words) {
    for (size_t i = 0; words[i]; i++)
        gl_buf_printf(out, "%s`%s`", i ? ", " : "", words[i]);
}

/* What the column of values has to say for a field. */
static void add_values(gl_buf *out, const glassine_field_info *field) {
    bool ref = field->kind == GLASSINE_REF || field->kind == GLASSINE_REFS;
    if (field->choices)
        add_words(out, field->choices);
    if (field->refs)
        add_words(out, field->refs);
    else if (ref)
        gl_buf_add_text(out, "any type");
    if (ref && field->least > 1)
        gl_buf_printf(out, ", %" PRId64 "%s", field->least, field->most ? "" : " or more");
    if (field->kind == GLASSINE_INTEGER)
        gl_buf_printf(out, "%" PRId64 " to %" PRId64 "%s", field->least, field->most,
                      field->unit ? ", " : "");
    if (field->unit)
        gl_buf_add_text(out, field->unit);
}

static void check_row(gl_span line, const glassine_field_info *field) {
    gl_span cells[MARKDOWN_CELLS];
    gl_buf expected = GL_BUF_EMPTY;
    assert_int_equal(markdown_cells(line, cells), 6);
    gl_buf_printf(&expected, "`%s`", field->name);
    markdown_expect(cells[0], expected.text);
    markdown_expect(cells[1], kinds[field->kind]);
    markdown_expect(cells[2], glassine_reach_name(field->reach));
    markdown_expect(cells[3], field->required ? "required" : "");
    gl_buf_clear(&expected);
    add_values(&expected, field);
    markdown_expect(cells[4], expected.length ? expected.text : "");
    markdown_expect(cells[5], field->help);
    gl_buf_free(&expected);
}

static void test_fields(void **state) {
    (void)state;
    for (size_t i = 0; i < glassine_type_count(); i++) {
        const glassine_type_info *type = glassine_type_at(i);
        char heading[64];
        snprintf(heading, sizeof heading, "### %s", type->name);
        gl_span part = markdown_behind(gl_buf_span(&spec), heading);
        gl_span rows = markdown_rows(part, "| field | kind | reach | | values | meaning |");
        for (size_t k = 0; k < type->field_count; k++)
            check_row(markdown_line(&rows), &type->fields[k]);
        assert_int_equal(rows.length, 0);
    }
}

static void test_types(void **state) {
    (void)state;
    gl_span rows =
        markdown_rows(gl_buf_span(&spec), "| type | authored | named by | needs one of | what it is |");
    for (size_t i = 0; i < glassine_type_count(); i++) {
        const glassine_type_info *type = glassine_type_at(i);
        const gl_either *either = gl_type_either(type);
        char expected[128];
        gl_span cells[MARKDOWN_CELLS];
        assert_int_equal(markdown_cells(markdown_line(&rows), cells), 5);
        snprintf(expected, sizeof expected, "`%s`", type->name);
        markdown_expect(cells[0], expected);
        markdown_expect(cells[1], type->authored ? "yes" : "");
        snprintf(expected, sizeof expected, "`%s`", type->label ? type->label : "");
        markdown_expect(cells[2], type->label ? expected : "");
        snprintf(expected, sizeof expected, "`%s`, `%s`", either ? either->one : "",
                 either ? either->other : "");
        markdown_expect(cells[3], either ? expected : "");
        markdown_expect(cells[4], type->help);
    }
    assert_int_equal(rows.length, 0);
}

/* No section that the table has no type for. */
static void test_sections(void **state) {
    (void)state;
    gl_span text = gl_buf_span(&spec);
    size_t sections = 0;
    while (text.length > 0) {
        gl_span line = markdown_line(&text);
        if (!gl_span_starts(line, GL_SPAN("### ")))
            continue;
        assert_non_null(gl_type_of(gl_span_part(line, 4, SIZE_MAX)));
        sections++;
    }
    assert_int_equal(sections, glassine_type_count());
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fields),
        cmocka_unit_test(test_types),
        cmocka_unit_test(test_sections),
    };
    return cmocka_run_group_tests(tests, read_spec, free_spec);
}
