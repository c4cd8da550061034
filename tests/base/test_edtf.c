/* Dates against testvectors/dates: the EDTF specification's examples (from memory) and our own bounds. */
#include "base/edtf.h"

#include <stdio.h>

#include <jansson.h>

#include "base/text.h"
#include "unit.h"

static json_t *load(const char *name) {
    char path[512];
    snprintf(path, sizeof path, "%s/dates/%s", TESTVECTORS, name);
    json_error_t error;
    json_t *vectors = json_load_file(path, JSON_ALLOW_NUL, &error);
    if (!vectors)
        fail_msg("%s: line %d: %s", path, error.line, error.text);
    return vectors;
}

static gl_span text_of(const json_t *string) {
    return (gl_span){json_string_value(string), json_string_length(string)};
}

static void day_text(int64_t days, char *out, size_t size) {
    int64_t year;
    unsigned month, day;
    gl_date_from_days(days, &year, &month, &day);
    snprintf(out, size, "%s%04lld-%02u-%02u", year < 0 ? "-" : "", (long long)(year < 0 ? -year : year),
             month, day);
}

static void assert_bound(const char *edtf, const json_t *wanted, int64_t days, int64_t none) {
    char got[64];
    if (json_is_null(wanted)) {
        assert_true(days == none);
        return;
    }
    day_text(days, got, sizeof got);
    if (strcmp(got, json_string_value(wanted)) != 0)
        fail_msg("%s: %s, not %s", edtf, got, json_string_value(wanted));
}

static bool flagged(const json_t *test, const char *name) {
    size_t i;
    json_t *flag;
    json_array_foreach(json_object_get(test, "flags"), i, flag) {
        if (strcmp(json_string_value(flag), name) == 0)
            return true;
    }
    return false;
}

static void forms(void **state) {
    (void)state;
    json_t *vectors = load("forms.json"), *test;
    size_t i;
    json_array_foreach(json_object_get(vectors, "cases"), i, test) {
        const json_t *edtf = json_object_get(test, "edtf");
        gl_date date;
        size_t at = 0;
        const char *fault = NULL;
        if (!gl_edtf_parse(text_of(edtf), &date, &at, &fault))
            fail_msg("%s: refused at %zu: %s", json_string_value(edtf), at, fault);
        assert_bound(json_string_value(edtf), json_object_get(test, "first"), date.first, INT64_MIN);
        assert_bound(json_string_value(edtf), json_object_get(test, "last"), date.last, INT64_MAX);
        assert_int_equal(date.open_start, flagged(test, "open_start"));
        assert_int_equal(date.open_end, flagged(test, "open_end"));
        assert_int_equal(date.unknown_start, flagged(test, "unknown_start"));
        assert_int_equal(date.unknown_end, flagged(test, "unknown_end"));
        assert_int_equal(date.uncertain, flagged(test, "uncertain"));
        assert_int_equal(date.approximate, flagged(test, "approximate"));
    }
    assert_true(i > 50);
    json_decref(vectors);
}

static void refused_forms(void **state) {
    (void)state;
    json_t *vectors = load("refused.json"), *test;
    size_t i;
    json_array_foreach(json_object_get(vectors, "cases"), i, test) {
        gl_span text = text_of(json_object_get(test, "text"));
        gl_date date;
        size_t at = SIZE_MAX;
        const char *fault = NULL;
        if (gl_edtf_parse(text, &date, &at, &fault))
            fail_msg("\"%s\" was accepted", text.text);
        assert_non_null(fault);
        if (at != (size_t)json_integer_value(json_object_get(test, "at")))
            fail_msg("\"%s\": stopped at %zu: %s", text.text, at, fault);
        assert_false(gl_edtf_parse(text, &date, NULL, NULL));
    }
    json_decref(vectors);
}

static gl_date parsed(const json_t *edtf) {
    gl_date date;
    assert_true(gl_edtf_parse(text_of(edtf), &date, NULL, NULL));
    return date;
}

static void order(void **state) {
    (void)state;
    json_t *vectors = load("order.json"), *pair;
    size_t i;
    json_array_foreach(json_object_get(vectors, "before"), i, pair) {
        gl_date a = parsed(json_array_get(pair, 0)), b = parsed(json_array_get(pair, 1));
        assert_int_equal(gl_date_compare(&a, &b), GL_DATE_BEFORE);
        assert_int_equal(gl_date_compare(&b, &a), GL_DATE_AFTER);
    }
    json_array_foreach(json_object_get(vectors, "either"), i, pair) {
        gl_date a = parsed(json_array_get(pair, 0)), b = parsed(json_array_get(pair, 1));
        assert_int_equal(gl_date_compare(&a, &b), GL_DATE_EITHER);
        assert_int_equal(gl_date_compare(&b, &a), GL_DATE_EITHER);
    }
    json_decref(vectors);
}

static void typed(void **state) {
    (void)state;
    json_t *vectors = load("typed.json"), *test;
    size_t i;
    json_array_foreach(json_object_get(vectors, "cases"), i, test) {
        gl_span text = text_of(json_array_get(test, 0)), wanted = text_of(json_array_get(test, 1));
        gl_buf out = GL_BUF_EMPTY;
        glassine_error error = {0};
        if (gl_edtf_from_typed(text, &out, &error) != GLASSINE_OK)
            fail_msg("\"%s\": %s", text.text, error.message);
        if (!gl_span_equal(gl_buf_span(&out), wanted))
            fail_msg("\"%s\": %s, not %s", text.text, out.text, wanted.text);
        gl_date date;
        assert_true(gl_edtf_parse(wanted, &date, NULL, NULL));
        gl_buf_free(&out);
    }
    json_decref(vectors);
}

static void refused_typed(void **state) {
    (void)state;
    json_t *vectors = load("typed.json"), *test;
    size_t i;
    json_array_foreach(json_object_get(vectors, "refused"), i, test) {
        gl_buf out = GL_BUF_EMPTY;
        glassine_error error = {0};
        gl_buf_add_text(&out, "kept");
        if (gl_edtf_from_typed(text_of(test), &out, &error) != GLASSINE_REFUSED)
            fail_msg("\"%s\" became %s", json_string_value(test), out.text);
        assert_string_equal(out.text, "kept");
        assert_true(error.message[0] && error.remedy[0]);
        gl_buf_free(&out);
    }
    json_decref(vectors);
}

static void reasons_help(void **state) {
    (void)state;
    static const struct {
        const char *typed, *message, *remedy;
    } cases[] = {
        {"3/4/1860", "date \"3/4/1860\": day and month could be either way round",
         "Write the month as a word: 3 Apr 1860"},
        {"14 Mar 60", "date \"14 Mar 60\": the year is too short",
         "Write the year with four digits: 14 Mar 1860"},
        {"31 Feb 1860", "date \"31 Feb 1860\": the month has no such day",
         "Look at the day, the month and the order of the dates"},
        {"\x1b[2J", "date \"\\u{1b}[2J\": not understood", NULL},
    };
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        gl_buf out = GL_BUF_EMPTY;
        glassine_error error = {0};
        assert_int_equal(gl_edtf_from_typed(gl_span_of(cases[i].typed), &out, &error), GLASSINE_REFUSED);
        assert_string_equal(error.message, cases[i].message);
        if (cases[i].remedy)
            assert_string_equal(error.remedy, cases[i].remedy);
        gl_buf_free(&out);
    }
}

/* The calendar against the plain rule: every day of 1,200 years follows the one before it. */
static void days_follow_each_other(void **state) {
    (void)state;
    static const unsigned lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int64_t days = gl_days_from_date(-400, 1, 1);
    for (int64_t year = -400; year < 800; year++) {
        for (unsigned month = 1; month <= 12; month++) {
            bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
            for (unsigned day = 1; day <= lengths[month - 1] + (month == 2 && leap); day++, days++) {
                int64_t y;
                unsigned m, d;
                assert_true(gl_days_from_date(year, month, day) == days);
                gl_date_from_days(days, &y, &m, &d);
                assert_true(y == year && m == month && d == day);
            }
        }
    }
    assert_int_equal(gl_days_from_date(1970, 1, 1), 0);
    assert_int_equal(gl_days_from_date(2000, 3, 1), 11017); /* 30 years with 7 leap days, and 60 days */
}

/* Random strings of a date's characters: nothing breaks; what is taken has bounds in order, and, put through
 * the typed reader, stays as it is. Random words: what they become is always a date. */
static void random_strings(void **state) {
    (void)state;
    static const char letters[] = "0123456789-/.XTZY?~%:+18608";
    static const char *const words[] = {"14",   "1860",   "Mar",    "about", "or",      "to",   "-",
                                        "1861", "before", "spring", "19th",  ".",       "?",    "/",
                                        "of",   "1850s",  "3",      "and",   "between", "after"};
    unit_random random = {1861};
    size_t taken = 0;
    for (int i = 0; i < 200000; i++) {
        char text[128] = "";
        bool is_words = i % 2;
        size_t length = unit_below(&random, is_words ? 6 : 14), at = 0;
        for (size_t k = 0; k < length; k++) {
            if (is_words)
                at += (size_t)snprintf(text + at, sizeof text - at, "%s%s",
                                       words[unit_below(&random, UNIT_COUNT(words))],
                                       unit_below(&random, 4) ? " " : "");
            else
                text[at++] = letters[unit_below(&random, sizeof letters - 1)];
        }
        gl_date date;
        gl_buf out = GL_BUF_EMPTY;
        bool is_edtf = gl_edtf_parse(gl_span_of(text), &date, NULL, NULL);
        glassine_status status = gl_edtf_from_typed(gl_span_of(text), &out, NULL);
        if (is_edtf) {
            assert_int_equal(status, GLASSINE_OK);
            assert_true(gl_span_is(gl_buf_span(&out), text));
        }
        if (status == GLASSINE_OK) {
            taken++;
            assert_true(gl_edtf_parse(gl_buf_span(&out), &date, NULL, NULL));
            assert_true(date.first <= date.last);
        }
        gl_buf_free(&out);
    }
    assert_true(taken > 1000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forms),
        cmocka_unit_test(refused_forms),
        cmocka_unit_test(order),
        cmocka_unit_test(typed),
        cmocka_unit_test(refused_typed),
        cmocka_unit_test(reasons_help),
        cmocka_unit_test(days_follow_each_other),
        cmocka_unit_test(random_strings),
    };
    return cmocka_run_group_tests_name("base/edtf", tests, NULL, NULL);
}
