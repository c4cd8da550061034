#include "unit.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"

#define DAY INT64_C(86400)

static void check_time(int64_t seconds, const char *text) {
    char out[GL_TIME_SIZE];
    int64_t back = -1;
    gl_time_print(seconds, out);
    assert_string_equal(out, text);
    assert_true(gl_time_parse(gl_span_of(text), &back));
    assert_int_equal(back, seconds);
}

/* A calendar that counts day by day, by the rule of RFC 3339, appendix C, and knows no formula. */
static unsigned days_in(unsigned year, unsigned month) {
    static const unsigned days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return days[month - 1] + (month == 2 && leap ? 1 : 0);
}

static void every_day_goes_there_and_back(unsigned first_year, unsigned last_year, int64_t day) {
    unit_random random = {5};
    for (unsigned year = first_year; year <= last_year; year++) {
        for (unsigned month = 1; month <= 12; month++) {
            for (unsigned date = 1; date <= days_in(year, month); date++, day++) {
                char text[64];
                unsigned second = (unsigned)unit_below(&random, DAY);
                snprintf(text, sizeof text, "%04u-%02u-%02uT%02u:%02u:%02uZ", year, month, date,
                         second / 3600, second / 60 % 60, second % 60);
                check_time(day * DAY + second, text);
                uint16_t dos_date, dos_time;
                gl_time_dos(day * DAY + second, &dos_date, &dos_time);
                if (year >= 1980 && year <= 2107) {
                    assert_int_equal(dos_date, (year - 1980) * 512 + month * 32 + date);
                    assert_int_equal(dos_time,
                                     second / 3600 * 2048 + second / 60 % 60 * 32 + second % 60 / 2);
                }
            }
        }
    }
}

static void every_day_from_1970_to_2107(void **state) {
    (void)state;
    every_day_goes_there_and_back(1970, 2107, 0);
}

static void every_day_of_the_years_0000_to_9999(void **state) {
    (void)state;
    every_day_goes_there_and_back(0, 9999, -719528); /* 719,528 days from 0000-01-01 to 1970-01-01 */
}

/* RFC 3339, section 5.8. Our form has no fraction, no offset and no leap second. */
static void the_examples_of_rfc_3339(void **state) {
    (void)state;
    int64_t seconds;
    check_time(851042397, "1996-12-20T00:39:57Z"); /* "equivalent to 1996-12-20T00:39:57Z in UTC" */
    check_time(482196050, "1985-04-12T23:20:50Z");
    static const char *const refused[] = {"1985-04-12T23:20:50.52Z", "1996-12-19T16:39:57-08:00",
                                          "1990-12-31T23:59:60Z", "1990-12-31T15:59:60-08:00",
                                          "1937-01-01T12:00:27.87+00:20"};
    for (size_t i = 0; i < UNIT_COUNT(refused); i++)
        assert_false(gl_time_parse(gl_span_of(refused[i]), &seconds));
}

static void what_is_no_time_is_refused(void **state) {
    (void)state;
    int64_t seconds = 42;
    static const char *const refused[] = {
        "",
        "2026-11-25",
        "2026-11-25T08:50:59",
        "2026-11-25t08:50:59Z",
        "2026-11-25T08:50:59z",
        "2026-11-25 08:50:59Z",
        "2026-11-25T08:50:59Z ",
        " 2026-11-25T08:50:59Z",
        "2026-11-25T08:50:5Z",
        "2026-1-25T08:50:59Z",
        "2026-00-25T08:50:59Z",
        "2026-13-25T08:50:59Z",
        "2026-11-00T08:50:59Z",
        "2026-11-31T08:50:59Z",
        "2026-02-29T08:50:59Z",
        "1900-02-29T08:50:59Z",
        "2026-11-25T24:00:00Z",
        "2026-11-25T08:60:59Z",
        "2026-11-25T08:50:60Z",
        "+026-11-25T08:50:59Z",
        "-001-11-25T08:50:59Z",
        "2026-11-25T08:50:59Z\n",
        "2026-99-99T99:99:99Z",
    };
    for (size_t i = 0; i < UNIT_COUNT(refused); i++)
        assert_false(gl_time_parse(gl_span_of(refused[i]), &seconds));
    assert_false(gl_time_parse(GL_NO_SPAN, &seconds));
    assert_int_equal(seconds, 42);
    check_time(951782400, "2000-02-29T00:00:00Z"); /* a leap day there is */
}

static void times_beyond_the_range_are_clamped(void **state) {
    (void)state;
    char out[GL_TIME_SIZE];
    gl_time_print(INT64_MIN, out);
    assert_string_equal(out, "0000-01-01T00:00:00Z");
    gl_time_print(INT64_MAX, out);
    assert_string_equal(out, "9999-12-31T23:59:59Z");
    uint16_t date, time;
    gl_time_dos(0, &date, &time);
    assert_int_equal(date, 1 << 5 | 1);
    assert_int_equal(time, 0);
    gl_time_dos(INT64_MAX, &date, &time);
    assert_int_equal(date, 127 << 9 | 12 << 5 | 31);
    assert_int_equal(time, 23 << 11 | 59 << 5 | 29);
}

/* reproducible-builds.org, "SOURCE_DATE_EPOCH specification": a whole number of seconds since 1970. */
static void the_clock_can_be_fixed(void **state) {
    (void)state;
    setenv("SOURCE_DATE_EPOCH", "1164444659", 1);
    assert_int_equal(gl_clock_now(), 1164444659);
    setenv("SOURCE_DATE_EPOCH", "tomorrow", 1);
    assert_true(gl_clock_now() > 1164444659);
    unsetenv("SOURCE_DATE_EPOCH");
    assert_true(gl_clock_now() > 1164444659);
}

/* RFC 9562: 4 (format; nil and max), 5.4 (version 4), appendix A (examples). */
static void a_new_uuid_has_the_form_of_version_4(void **state) {
    (void)state;
    char before[GL_UUID_SIZE] = "";
    for (int i = 0; i < 1000; i++) {
        char uuid[GL_UUID_SIZE];
        assert_true(gl_uuid_new(uuid));
        assert_int_equal(strlen(uuid), 36);
        assert_true(gl_uuid_check(gl_span_of(uuid)));
        assert_int_equal(uuid[14], '4');
        assert_non_null(strchr("89ab", uuid[19]));
        assert_string_not_equal(uuid, before);
        memcpy(before, uuid, sizeof uuid);
    }
}

static void only_the_canonical_form_of_a_uuid_passes(void **state) {
    (void)state;
    static const char *const good[] = {
        "919108f7-52d1-4320-9bac-f847db4148a8", /* RFC 9562, A.3 */
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398f", /* A.6, version 7 */
        "00000000-0000-0000-0000-000000000000", /* 5.9 */
        "ffffffff-ffff-ffff-ffff-ffffffffffff", /* 5.10 */
    };
    static const char *const bad[] = {
        "",
        "919108F7-52D1-4320-9BAC-F847DB4148A8",
        "919108f752d143209bacf847db4148a8",
        "919108f7-52d1-4320-9bac-f847db4148a",
        "919108f7-52d1-4320-9bac-f847db4148a88",
        "919108f7-52d1-4320-9bacf-847db4148a8",
        "919108f7-52d1-4320-9bac-f847db4148ag",
        "919108f7-52d1-4320 9bac-f847db4148a8",
        "{19108f7-52d1-4320-9bac-f847db4148a}",
        "urn:uuid:919108f7-52d1-4320-9bac-f84",
    };
    for (size_t i = 0; i < UNIT_COUNT(good); i++)
        assert_true(gl_uuid_check(gl_span_of(good[i])));
    for (size_t i = 0; i < UNIT_COUNT(bad); i++)
        assert_false(gl_uuid_check(gl_span_of(bad[i])));
    assert_false(gl_uuid_check(GL_NO_SPAN));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_day_from_1970_to_2107),
        cmocka_unit_test(every_day_of_the_years_0000_to_9999),
        cmocka_unit_test(the_examples_of_rfc_3339),
        cmocka_unit_test(what_is_no_time_is_refused),
        cmocka_unit_test(times_beyond_the_range_are_clamped),
        cmocka_unit_test(the_clock_can_be_fixed),
        cmocka_unit_test(a_new_uuid_has_the_form_of_version_4),
        cmocka_unit_test(only_the_canonical_form_of_a_uuid_passes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
