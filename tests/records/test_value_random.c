/* Properties of values, over every field of the table and many random values:
 *  - a value that fits, shown, is read as the same value again;
 *  - whatever is typed becomes a value that fits and is canonical, or is refused with a rule;
 *  - what is read, shown and read again does not change any more. */
#include "base/unit.h"

#include <inttypes.h>
#include <stdio.h>

#include "base/text.h"
#include "records/table.h"
#include "records/value.h"

static unit_random chance = {20260102};

static const char *pick(const char *const *words) {
    size_t count = 0;
    while (words[count])
        count++;
    return words[unit_below(&chance, count)];
}

static void add_letter(gl_buf *out) {
    static const char *const letters[] = {"a",
                                          "Z",
                                          "7",
                                          " ",
                                          ",",
                                          "\\",
                                          "\"",
                                          "/",
                                          "-",
                                          ".",
                                          "\xC3\xA9",
                                          "\xE2\x82\xAC",
                                          "\xF0\x9F\x90\xA6",
                                          "\n",
                                          "[",
                                          "{",
                                          "\xC2\xBD",
                                          NULL};
    gl_buf_add_text(out, pick(letters));
}

/* Words with no white space at their ends; a new line is no letter of an element of a list. */
static void add_words(gl_buf *out) {
    gl_buf words = GL_BUF_EMPTY;
    gl_buf_add_char(&words, 'k');
    for (size_t i = unit_below(&chance, 12); i > 0; i--)
        add_letter(&words);
    gl_buf_add_char(&words, unit_below(&chance, 4) ? 'g' : '\\');
    gl_json_add_string(out, gl_buf_span(&words));
    gl_buf_free(&words);
}

static void add_ref(gl_buf *out, const char *const *types) {
    static const char *const any[] = {"item", "claim", "something_new", NULL};
    gl_buf_printf(out, "\"%s/%08" PRIx32 "-0000-4000-8000-%012" PRIx64 "\"", pick(types ? types : any),
                  (uint32_t)unit_next(&chance), unit_next(&chance) >> 16);
}

static void add_integer(gl_buf *out, int64_t least, int64_t most) {
    uint64_t width = (uint64_t)(most - least) + 1;
    int64_t value = least + (int64_t)(unit_next(&chance) % width);
    gl_json_add_integer(out, unit_below(&chance, 8) ? value : unit_below(&chance, 2) ? least : most);
}

static void add_date(gl_buf *out) {
    static const char *const dates[] = {"1860",      "1860-03", "1860-03-14", "1860~",   "1860?", "186X",
                                        "1861/1863", "../1870", "1860-21",    "1855/..", NULL};
    gl_json_add_string(out, gl_span_of(pick(dates)));
}

/* One string of a kind, or of a list of this kind. */
static void add_item(gl_buf *out, const glassine_field_info *field) {
    switch (field->kind) {
    case GLASSINE_REF:
    case GLASSINE_REFS:
        add_ref(out, field->refs);
        break;
    case GLASSINE_CHOICE:
        gl_json_add_string(out, gl_span_of(pick(field->choices)));
        break;
    case GLASSINE_DATE:
        add_date(out);
        break;
    case GLASSINE_HEX:
        gl_buf_printf(out, "\"%016" PRIx64 "%016" PRIx64 "%016x%016x\"", unit_next(&chance),
                      unit_next(&chance), 1, 2);
        break;
    case GLASSINE_EXPRESSION:
        gl_json_add_string(out, GL_SPAN("row 3-10 and column 4, 64 but not R6/3"));
        break;
    default:
        add_words(out);
    }
}

static void add_list(gl_buf *out, const glassine_field_info *field) {
    size_t least = field->least > 1 ? (size_t)field->least : 1;
    size_t count = field->most > 0 && field->kind == GLASSINE_REFS ? least : least + unit_below(&chance, 4);
    for (size_t i = 0; i < count; i++) {
        gl_buf_add_char(out, i ? ',' : '[');
        add_item(out, field);
    }
    gl_buf_add_char(out, ']');
}

static void add_choices(gl_buf *out, const glassine_field_info *field) {
    size_t count = 0, first = 1;
    while (field->choices[count])
        count++;
    uint64_t chosen = 1 + unit_next(&chance) % ((UINT64_C(1) << count) - 1);
    gl_buf_add_char(out, '[');
    for (size_t i = 0; i < count; i++)
        if (chosen >> i & 1) {
            gl_buf_printf(out, "%s\"%s\"", first ? "" : ",", field->choices[i]);
            first = 0;
        }
    gl_buf_add_char(out, ']');
}

/* A value that fits the field. */
static void add_fitting(gl_buf *out, const glassine_field_info *field) {
    switch (field->kind) {
    case GLASSINE_INTEGER:
        add_integer(out, field->least, field->most);
        break;
    case GLASSINE_TRUTH:
        gl_buf_add_text(out, unit_below(&chance, 2) ? "true" : "false");
        break;
    case GLASSINE_CHOICES:
        add_choices(out, field);
        break;
    case GLASSINE_TEXTS:
    case GLASSINE_REFS:
        add_list(out, field);
        break;
    case GLASSINE_REGION:
        gl_buf_printf(out, "[%zu,0,%zu,1]", unit_below(&chance, 5000), 1 + unit_below(&chance, 5000));
        break;
    default:
        add_item(out, field);
    }
}

static void each_field(void (*check)(const glassine_field_info *field)) {
    for (size_t i = 0; i < glassine_type_count(); i++)
        for (size_t k = 0; k < glassine_type_at(i)->field_count; k++)
            check(&glassine_type_at(i)->fields[k]);
}

static void check_round_trip(const glassine_field_info *field) {
    gl_buf value = GL_BUF_EMPTY, shown = GL_BUF_EMPTY, again = GL_BUF_EMPTY;
    glassine_error error = {0};
    for (int i = 0; i < 40; i++) {
        gl_buf_clear(&value);
        gl_buf_clear(&shown);
        gl_buf_clear(&again);
        add_fitting(&value, field);
        assert_null(gl_value_fault(field, gl_buf_span(&value), NULL));
        gl_value_show(field, gl_buf_span(&value), NULL, NULL, &shown);
        assert_int_equal(gl_value_parse(field, gl_buf_span(&shown), NULL, NULL, &again, &error), GLASSINE_OK);
        assert_string_equal(again.text, value.text);
    }
    gl_buf_free(&value);
    gl_buf_free(&shown);
    gl_buf_free(&again);
}

static void test_round_trip(void **state) {
    (void)state;
    each_field(check_round_trip);
}

/* Something people may type: words, numbers, bytes that are no text. */
static void add_typed(gl_buf *out, const glassine_field_info *field) {
    if (unit_below(&chance, 3) == 0 && field->choices)
        gl_buf_add_text(out, pick(field->choices));
    for (size_t i = unit_below(&chance, 6); i > 0; i--)
        switch (unit_below(&chance, 5)) {
        case 0:
            gl_buf_printf(out, "%zu", unit_below(&chance, 3000));
            break;
        case 1:
            gl_buf_add_text(out, ", ");
            break;
        case 2:
            gl_buf_add_char(out, (char)unit_next(&chance));
            break;
        default:
            add_letter(out);
        }
}

static void check_canonical(gl_span value) {
    gl_buf object = GL_BUF_EMPTY;
    gl_buf_printf(&object, "{\"v\":%.*s}", GL_SPAN_ARGS(value));
    assert_true(gl_json_check(gl_buf_span(&object), 1, NULL));
    gl_buf_free(&object);
}

static void check_anything_typed(const glassine_field_info *field) {
    gl_buf typed = GL_BUF_EMPTY, value = GL_BUF_EMPTY, shown = GL_BUF_EMPTY, again = GL_BUF_EMPTY;
    for (int i = 0; i < 100; i++) {
        glassine_error error = {0};
        gl_buf_clear(&typed);
        gl_buf_clear(&value);
        gl_buf_clear(&shown);
        gl_buf_clear(&again);
        add_typed(&typed, field);
        if (gl_value_parse(field, gl_buf_span(&typed), NULL, NULL, &value, &error) != GLASSINE_OK) {
            assert_int_equal(error.rule[0], 'R');
            assert_int_equal(value.length, 0);
            continue;
        }
        assert_null(gl_value_fault(field, gl_buf_span(&value), NULL));
        check_canonical(gl_buf_span(&value));
        assert_true(gl_text_is_nfc(gl_buf_span(&value)));
        gl_value_show(field, gl_buf_span(&value), NULL, NULL, &shown);
        assert_int_equal(gl_value_parse(field, gl_buf_span(&shown), NULL, NULL, &again, &error), GLASSINE_OK);
        assert_string_equal(again.text, value.text);
    }
    gl_buf_free(&typed);
    gl_buf_free(&value);
    gl_buf_free(&shown);
    gl_buf_free(&again);
}

static void test_anything_typed(void **state) {
    (void)state;
    each_field(check_anything_typed);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_round_trip),
        cmocka_unit_test(test_anything_typed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
