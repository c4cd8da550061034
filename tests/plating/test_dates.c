/* Earliest and latest dates, certain and possible. */
#include "layouts.h"
#include "plating/dates.h"

static gl_dated dated(const char *edtf, const char *by) {
    gl_dated made;
    assert_true(gl_edtf_parse(gl_span_of(edtf), &made.date, NULL, NULL));
    made.proven = gl_date_proven(&made.date, gl_span_of(by));
    return made;
}

static int64_t day(int64_t year, unsigned month, unsigned of_month) {
    return gl_days_from_date(year, month, of_month);
}

static void a_range_has_two_bounds(void **state) {
    (void)state;
    const gl_dated items[] = {dated("1861-03-14", "postmark"), dated("1861", "docketing"),
                              dated("1863-05/1864-02", "contents")};
    gl_date_span span = gl_dates_span(items, 3);
    assert_int_equal(span.proven, 3);
    assert_int_equal(span.certainly_by.from, 0);
    assert_true(span.certainly_by.day == day(1861, 3, 14));
    assert_int_equal(span.possibly_from.from, 1);
    assert_true(span.possibly_from.day == day(1861, 1, 1));
    assert_int_equal(span.certainly_until.from, 2);
    assert_true(span.certainly_until.day == day(1863, 5, 1));
    assert_true(span.possibly_until.day == day(1864, 2, 29));
    assert_int_equal(span.unproven_earlier.from, GL_NONE);
}

/* Without a proven year it is no earliest date, and is told apart. */
static void a_year_must_be_proven(void **state) {
    (void)state;
    const struct {
        const char *edtf, *by;
        bool proven;
    } cases[] = {{"1861", "postmark", true},   {"1861", "docketing", true}, {"1861", "contents", true},
                 {"1861", "inferred", false},  {"1861", NULL, false},       {"1861?", "postmark", false},
                 {"1861~", "contents", false}, {"1861%", "postmark", false}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_int_equal(dated(cases[i].edtf, cases[i].by).proven, cases[i].proven);
    const gl_dated items[] = {dated("1860-01-02", "inferred"), dated("1861-03-14", "postmark"),
                              dated("1862-01-02", "inferred")};
    gl_date_span span = gl_dates_span(items, 3);
    assert_int_equal(span.proven, 1);
    assert_int_equal(span.unproven, 2);
    assert_int_equal(span.certainly_by.from, 1);
    assert_int_equal(span.certainly_until.from, 1);
    assert_int_equal(span.unproven_earlier.from, 0);
    span = gl_dates_span(items + 2, 1);
    assert_int_equal(span.certainly_by.from, GL_NONE);
    assert_int_equal(span.unproven_earlier.from, 0);
}

static void open_ends_bound_nothing(void **state) {
    (void)state;
    const gl_dated items[] = {dated("../1862", "postmark"), dated("1861/..", "postmark"),
                              dated("1863/", "postmark")};
    gl_date_span span = gl_dates_span(items, 3);
    assert_true(span.certainly_by.day == day(1862, 12, 31));
    assert_true(span.possibly_from.day == day(1861, 1, 1));
    assert_true(span.certainly_until.day == day(1863, 1, 1));
    assert_true(span.possibly_until.day == day(1862, 12, 31));
    span = gl_dates_span(NULL, 0);
    assert_int_equal(span.certainly_by.from, GL_NONE);
}

static void earlier_than_published(void **state) {
    (void)state;
    const struct {
        const char *edtf, *by, *than;
        gl_earlier earlier;
    } cases[] = {
        {"1861-03-14", "postmark", "1861-04-01", GL_EARLIER},
        {"1861-03-14", "inferred", "1861-04-01", GL_PERHAPS_EARLIER},
        {"1861", "postmark", "1861-04-01", GL_PERHAPS_EARLIER},
        {"1861-04-01", "postmark", "1861-04-01", GL_NOT_EARLIER},
        {"1861-04-14", "postmark", "1861-04", GL_NOT_EARLIER},
        {"1861-03", "postmark", "1861-04", GL_EARLIER},
        {"1862", "postmark", "1861-04", GL_NOT_EARLIER},
        {"../1861", "postmark", "1862", GL_EARLIER},
        {"../1863", "postmark", "1862", GL_PERHAPS_EARLIER},
        {"1860", "postmark", "../1862", GL_NOT_EARLIER},
        {"1860/..", "postmark", "1862", GL_PERHAPS_EARLIER},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gl_dated item = dated(cases[i].edtf, cases[i].by), than = dated(cases[i].than, NULL);
        assert_int_equal(gl_date_earlier(&item, &than.date), cases[i].earlier);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_range_has_two_bounds),
        cmocka_unit_test(a_year_must_be_proven),
        cmocka_unit_test(open_ends_bound_nothing),
        cmocka_unit_test(earlier_than_published),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
