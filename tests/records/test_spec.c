/* spec/records.md and the table in the library say the same, cell by cell. */
#include "base/unit.h"

#include <inttypes.h>
#include <stdio.h>

#include "base/file.h"
#include "base/text.h"
#include "records/table.h"

#define CELLS 6

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

static gl_span next_line(gl_span *text) {
    const char *end = memchr(text->text, '\n', text->length);
    size_t length = end ? (size_t)(end - text->text) : text->length;
    gl_span line = gl_span_part(*text, 0, length);
    *text = gl_span_part(*text, length + 1, SIZE_MAX);
    return line;
}

/* The rows of the table that begins with this head, from `text` on, up to the line that is none of it. */
static gl_span rows_under(gl_span text, const char *head) {
    while (text.length > 0 && !gl_span_is(next_line(&text), head)) {
    }
    next_line(&text); /* | --- | */
    gl_span rest = text, rows = {text.text, 0};
    while (gl_span_starts(rest, GL_SPAN("| "))) {
        next_line(&rest);
        rows.length = text.length - rest.length;
    }
    return rows;
}

/* "| a | b |" into cells; returns how many there are. */
static size_t split(gl_span line, gl_span cells[CELLS]) {
    size_t count = 0;
    line = gl_span_part(line, 1, line.length - 2);
    while (count < CELLS) {
        const char *bar = memchr(line.text, '|', line.length);
        size_t length = bar ? (size_t)(bar - line.text) : line.length;
        cells[count++] = gl_text_trim(gl_span_part(line, 0, length));
        if (!bar)
            break;
        line = gl_span_part(line, length + 1, SIZE_MAX);
    }
    return count;
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

static void check_cell(gl_span cell, const char *expected) {
    char said[1024];
    snprintf(said, sizeof said, "%.*s", GL_SPAN_ARGS(cell));
    assert_string_equal(said, expected);
}

static void check_row(gl_span line, const glassine_field_info *field) {
    gl_span cells[CELLS];
    gl_buf expected = GL_BUF_EMPTY;
    assert_int_equal(split(line, cells), CELLS);
    gl_buf_printf(&expected, "`%s`", field->name);
    check_cell(cells[0], expected.text);
    check_cell(cells[1], kinds[field->kind]);
    check_cell(cells[2], glassine_reach_name(field->reach));
    check_cell(cells[3], field->required ? "required" : "");
    gl_buf_clear(&expected);
    gl_buf_add_text(&expected, "");
    add_values(&expected, field);
    check_cell(cells[4], expected.length ? expected.text : "");
    check_cell(cells[5], field->help);
    gl_buf_free(&expected);
}

/* The part of the page behind the heading of a type. */
static gl_span section(const char *type) {
    char heading[64];
    snprintf(heading, sizeof heading, "### %s", type);
    gl_span text = gl_buf_span(&spec);
    while (text.length > 0)
        if (gl_span_is(next_line(&text), heading))
            return text;
    fail_msg("no section for %s", type);
    return text;
}

static void test_fields(void **state) {
    (void)state;
    for (size_t i = 0; i < glassine_type_count(); i++) {
        const glassine_type_info *type = glassine_type_at(i);
        gl_span rows = rows_under(section(type->name), "| field | kind | reach | | values | meaning |");
        for (size_t k = 0; k < type->field_count; k++)
            check_row(next_line(&rows), &type->fields[k]);
        assert_int_equal(rows.length, 0);
    }
}

static void test_types(void **state) {
    (void)state;
    gl_span rows =
        rows_under(gl_buf_span(&spec), "| type | authored | named by | needs one of | what it is |");
    for (size_t i = 0; i < glassine_type_count(); i++) {
        const glassine_type_info *type = glassine_type_at(i);
        const gl_either *either = gl_type_either(type);
        char expected[128];
        gl_span cells[CELLS];
        assert_int_equal(split(next_line(&rows), cells), 5);
        snprintf(expected, sizeof expected, "`%s`", type->name);
        check_cell(cells[0], expected);
        check_cell(cells[1], type->authored ? "yes" : "");
        snprintf(expected, sizeof expected, "`%s`", type->label ? type->label : "");
        check_cell(cells[2], type->label ? expected : "");
        snprintf(expected, sizeof expected, "`%s`, `%s`", either ? either->one : "",
                 either ? either->other : "");
        check_cell(cells[3], either ? expected : "");
        check_cell(cells[4], type->help);
    }
    assert_int_equal(rows.length, 0);
}

/* No section that the table has no type for. */
static void test_sections(void **state) {
    (void)state;
    gl_span text = gl_buf_span(&spec);
    size_t sections = 0;
    while (text.length > 0) {
        gl_span line = next_line(&text);
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
