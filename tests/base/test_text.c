#include "unit.h"

#include <stdlib.h>

#include "base/text.h"

/* ------------------------------------------------------------------------------------------------ UTF-8 */

/* The syntax of RFC 3629, section 4, as ranges: lead byte, then the second byte; the others are 80–BF. */
static const struct {
    unsigned char first_low, first_high, second_low, second_high;
    size_t length;
} syntax[] = {
    {0x00, 0x7F, 0x00, 0x00, 1}, {0xC2, 0xDF, 0x80, 0xBF, 2}, {0xE0, 0xE0, 0xA0, 0xBF, 3},
    {0xE1, 0xEC, 0x80, 0xBF, 3}, {0xED, 0xED, 0x80, 0x9F, 3}, {0xEE, 0xEF, 0x80, 0xBF, 3},
    {0xF0, 0xF0, 0x90, 0xBF, 4}, {0xF1, 0xF3, 0x80, 0xBF, 4}, {0xF4, 0xF4, 0x80, 0x8F, 4},
};

static bool is_between(unsigned char c, unsigned low, unsigned high) {
    return c >= low && c <= high;
}

/* Length of the character at bytes[0] by the table; 0 where none begins there. */
static size_t length_by_syntax(const unsigned char *bytes, size_t left) {
    for (size_t i = 0; i < UNIT_COUNT(syntax); i++) {
        if (!is_between(bytes[0], syntax[i].first_low, syntax[i].first_high))
            continue;
        if (syntax[i].length > left)
            return 0;
        if (syntax[i].length > 1 && !is_between(bytes[1], syntax[i].second_low, syntax[i].second_high))
            return 0;
        for (size_t j = 2; j < syntax[i].length; j++)
            if (!is_between(bytes[j], 0x80, 0xBF))
                return 0;
        return syntax[i].length;
    }
    return 0;
}

static size_t first_fault_by_syntax(const unsigned char *bytes, size_t length) {
    size_t at = 0;
    while (at < length) {
        size_t one = length_by_syntax(bytes + at, length - at);
        if (one == 0)
            return at;
        at += one;
    }
    return length;
}

/* All sequences of up to three bytes, and of four those whose bytes stand at the ends of the table's ranges.
 */
static void utf8_is_judged_by_the_table_of_rfc_3629(void **state) {
    (void)state;
    for (uint32_t all = 0; all < 1u << 24; all++) {
        unsigned char b[3] = {(unsigned char)(all >> 16), (unsigned char)(all >> 8), (unsigned char)all};
        if (gl_utf8_check((gl_span){(const char *)b, 3}) != first_fault_by_syntax(b, 3))
            fail_msg("%02x %02x %02x", b[0], b[1], b[2]);
    }
    static const unsigned char edges[] = {0x00, 0x41, 0x7F, 0x80, 0x81, 0x8F, 0x90, 0x9F, 0xA0,
                                          0xBF, 0xC0, 0xC1, 0xC2, 0xDF, 0xE0, 0xE1, 0xED, 0xEE,
                                          0xEF, 0xF0, 0xF1, 0xF3, 0xF4, 0xF5, 0xFF};
    const size_t n = UNIT_COUNT(edges);
    for (size_t all = 0; all < n * n * n * n * n; all++) {
        unsigned char b[5] = {edges[all % n], edges[all / n % n], edges[all / n / n % n],
                              edges[all / n / n / n % n], edges[all / n / n / n / n]};
        if (gl_utf8_check((gl_span){(const char *)b, 5}) != first_fault_by_syntax(b, 5))
            fail_msg("%02x %02x %02x %02x %02x", b[0], b[1], b[2], b[3], b[4]);
    }
}

/* A fault at every place of texts of every length: the words of eight bytes must not hide one. */
static void a_fault_is_found_wherever_it_is(void **state) {
    (void)state;
    for (size_t length = 1; length < 40; length++) {
        char *text = malloc(length); /* its own block, so that reading past it shows */
        assert_non_null(text);
        for (size_t at = 0; at < length; at++) {
            memset(text, 'a', length);
            text[at] = (char)0xFF;
            assert_int_equal(gl_utf8_check((gl_span){text, length}), at);
        }
        free(text);
    }
    assert_int_equal(gl_utf8_check(GL_NO_SPAN), 0);
}

static void every_code_point_goes_there_and_back(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    for (uint32_t code = 0; code <= 0x110010; code++) {
        uint32_t back;
        bool exists = code <= 0x10FFFF && (code < 0xD800 || code > 0xDFFF);
        gl_buf_clear(&buf);
        gl_utf8_add(&buf, code);
        assert_int_equal(gl_utf8_next(gl_buf_span(&buf), &back), buf.length);
        assert_int_equal(back, exists ? code : 0xFFFD);
        assert_int_equal(buf.length, length_by_syntax((const unsigned char *)buf.text, buf.length));
    }
    gl_buf_free(&buf);
    uint32_t code;
    assert_int_equal(gl_utf8_next(GL_SPAN("\x80z"), &code), 1);
    assert_int_equal(code, 0xFFFD);
    assert_int_equal(gl_utf8_next(GL_NO_SPAN, &code), 0);
}

/* ---------------------------------------------------------------------------------------------- showing */

static void check_shown(gl_span text, bool lines, const char *expected) {
    gl_buf buf = GL_BUF_EMPTY;
    gl_text_add_shown(&buf, text, lines);
    assert_string_equal(gl_buf_span(&buf).text, expected);
    gl_buf_free(&buf);
}

static void what_a_terminal_must_not_get_is_escaped(void **state) {
    (void)state;
    check_shown(GL_SPAN("plain, \xc3\xa9, \xe2\x82\xac, \xf0\x9f\x90\xa6"), false,
                "plain, \xc3\xa9, \xe2\x82\xac, \xf0\x9f\x90\xa6");
    check_shown(GL_SPAN("a\nb\tc\rd\x1b[31m\x7f\0"), false, "a\\nb\\tc\\u{d}d\\u{1b}[31m\\u{7f}\\u{0}");
    check_shown(GL_SPAN("a\nb\tc"), true, "a\nb\\tc");
    check_shown(GL_SPAN("\xc2\x9b"
                        "2J"),
                false, "\\u{9b}2J"); /* the one-byte form of ESC [ */
    check_shown(GL_SPAN("a\xe2\x80\xae"
                        "b\xe2\x81\xa6"),
                false, "a\\u{202e}b\\u{2066}"); /* UAX #9 */
    check_shown(GL_SPAN("\xff\xc3(\xed\xa0\x80"), false, "\\x{ff}\\x{c3}(\\x{ed}\\x{a0}\\x{80}");
    check_shown(GL_NO_SPAN, false, "");
}

/* Whatever comes in: what goes out is UTF-8 without controls; and showing it again changes nothing. */
static void shown_text_is_always_fit(void **state) {
    (void)state;
    unit_random random = {6};
    for (int round = 0; round < 20000; round++) {
        char bytes[24];
        size_t length = unit_below(&random, sizeof bytes);
        for (size_t i = 0; i < length; i++)
            bytes[i] = (char)unit_next(&random);
        gl_buf once = GL_BUF_EMPTY, twice = GL_BUF_EMPTY;
        gl_text_add_shown(&once, (gl_span){bytes, length}, false);
        gl_text_add_shown(&twice, gl_buf_span(&once), false);
        assert_true(gl_span_equal(gl_buf_span(&once), gl_buf_span(&twice)));
        assert_int_equal(gl_utf8_check(gl_buf_span(&once)), once.length);
        for (size_t i = 0; i < once.length; i++)
            assert_true((unsigned char)once.text[i] >= 0x20 && once.text[i] != 0x7F);
        gl_buf_free(&once);
        gl_buf_free(&twice);
    }
}

/* UAX #11 (East Asian Width): W and F take two columns; combining marks none. */
static void width_counts_columns(void **state) {
    (void)state;
    assert_int_equal(gl_text_width(GL_SPAN("R6/3")), 4);
    assert_int_equal(gl_text_width(GL_SPAN("\xc3\xa9")), 1);
    assert_int_equal(gl_text_width(GL_SPAN("e\xcc\x81")), 1);
    assert_int_equal(gl_text_width(GL_SPAN("\xe5\x88\x87\xe6\x89\x8b")), 4);
    assert_int_equal(gl_text_width(GL_SPAN("a\n\x7f")), 1);
    assert_int_equal(gl_text_width(GL_NO_SPAN), 0);
}

/* ----------------------------------------------------------------------------------------------- orders */

static void people_count_the_way_they_count(void **state) {
    (void)state;
    static const char *const sorted[] = {"",
                                         "2",
                                         "007",
                                         "7",
                                         "7a",
                                         "10",
                                         "H-2",
                                         "H-014",
                                         "H-14",
                                         "H-014.2",
                                         "H-014.10",
                                         "H-100",
                                         "H-100a",
                                         "H-101",
                                         "H-18446744073709551616",
                                         "H-18446744073709551617",
                                         "Ha",
                                         "a1b2",
                                         "a1b10"};
    for (size_t i = 0; i < UNIT_COUNT(sorted); i++) {
        for (size_t j = 0; j < UNIT_COUNT(sorted); j++) {
            int order = gl_text_natural(gl_span_of(sorted[i]), gl_span_of(sorted[j]));
            int expected = (i > j) - (i < j);
            if ((order > 0) - (order < 0) != expected)
                fail_msg("\"%s\" and \"%s\": %d", sorted[i], sorted[j], order);
        }
    }
}

static int sign(int value) {
    return (value > 0) - (value < 0);
}

/* Total: antisymmetric, transitive, equal only for equal bytes; on short texts of the letters that matter. */
static void the_natural_order_is_total(void **state) {
    (void)state;
    static const char letters[] = "019-a\xff";
    unit_random random = {7};
    char t[3][6];
    for (int round = 0; round < 300000; round++) {
        gl_span s[3];
        for (size_t i = 0; i < 3; i++) {
            size_t length = unit_below(&random, sizeof t[i]);
            for (size_t j = 0; j < length; j++)
                t[i][j] = letters[unit_below(&random, sizeof letters - 1)];
            s[i] = (gl_span){t[i], length};
        }
        int ab = sign(gl_text_natural(s[0], s[1])), bc = sign(gl_text_natural(s[1], s[2]));
        assert_int_equal(ab, -sign(gl_text_natural(s[1], s[0])));
        assert_int_equal(ab == 0, gl_span_equal(s[0], s[1]));
        if (ab <= 0 && bc <= 0)
            assert_true(gl_text_natural(s[0], s[2]) <= 0);
    }
}

/* ------------------------------------------------------------------------------------------------- rest */

static void check_trimmed(gl_span text, const char *expected) {
    gl_span trimmed = gl_text_trim(text);
    assert_true(gl_span_is(trimmed, expected));
}

static void white_space_goes_from_both_ends(void **state) {
    (void)state;
    check_trimmed(GL_SPAN("  a b \r\n"), "a b");
    check_trimmed(GL_SPAN("\xc2\xa0\xe3\x80\x80x\xe2\x80\x83\xc2\x85"),
                  "x"); /* U+00A0 U+3000 x U+2003 U+0085 */
    check_trimmed(GL_SPAN(" \t "), "");
    check_trimmed(GL_SPAN(""), "");
    check_trimmed(GL_NO_SPAN, "");
    check_trimmed(GL_SPAN(" \xa0 "), "\xa0"); /* no character, so no white space */
    check_trimmed(GL_SPAN("\x80\x80\x80\x80\x80"), "\x80\x80\x80\x80\x80");
}

static void integers_are_whole_and_fit(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bool good;
        int64_t value;
    } cases[] = {
        {"0", true, 0},
        {"-0", true, 0},
        {"007", true, 7},
        {"-12", true, -12},
        {"9223372036854775807", true, INT64_MAX},
        {"-9223372036854775808", true, INT64_MIN},
        {"9223372036854775808", false, 0},
        {"-9223372036854775809", false, 0},
        {"99999999999999999999999", false, 0},
        {"", false, 0},
        {"-", false, 0},
        {"+1", false, 0},
        {"--1", false, 0},
        {" 1", false, 0},
        {"1 ", false, 0},
        {"1.0", false, 0},
        {"0x10", false, 0},
        {"1e3", false, 0},
    };
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        int64_t value = 0;
        assert_int_equal(gl_text_integer(gl_span_of(cases[i].text), &value), cases[i].good);
        assert_int_equal(value, cases[i].value);
    }
}

static void versions_are_two_numbers_of_four_digits_at_most(void **state) {
    (void)state;
    static const struct {
        const char *text;
        size_t length;
        uint32_t major, minor;
    } cases[] = {
        {"1.0", 3, 1, 0},
        {"9999.9999", 9, 9999, 9999},
        {"1.0 edition", 3, 1, 0},
        {"1.10000", 6, 1, 1000},
    };
    static const char *const refused[] = {"10000.0", "0.1", "01.0", "1.00", "1.01", "1",
                                          "1.",      ".1",  "",     "1 .0", "-1.0", "1,0"};
    uint32_t major, minor;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        assert_int_equal(gl_text_version(gl_span_of(cases[i].text), &major, &minor), cases[i].length);
        assert_true(major == cases[i].major && minor == cases[i].minor);
    }
    for (size_t i = 0; i < UNIT_COUNT(refused); i++)
        assert_int_equal(gl_text_version(gl_span_of(refused[i]), &major, &minor), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(utf8_is_judged_by_the_table_of_rfc_3629),
        cmocka_unit_test(a_fault_is_found_wherever_it_is),
        cmocka_unit_test(every_code_point_goes_there_and_back),
        cmocka_unit_test(what_a_terminal_must_not_get_is_escaped),
        cmocka_unit_test(shown_text_is_always_fit),
        cmocka_unit_test(width_counts_columns),
        cmocka_unit_test(people_count_the_way_they_count),
        cmocka_unit_test(the_natural_order_is_total),
        cmocka_unit_test(white_space_goes_from_both_ends),
        cmocka_unit_test(integers_are_whole_and_fit),
        cmocka_unit_test(versions_are_two_numbers_of_four_digits_at_most),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
