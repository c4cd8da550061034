#include "unit.h"

#include "base/json.h"
#include "base/text.h"

/* ------------------------------------------------------------------------------------------------ check */

static const struct {
    const char *text;
    unsigned depth;
} canonical[] = {
    {"{}", 0},
    {"{\"a\":1}", 0},
    {"{\"\":\"\"}", 0},
    {"{\"a\":true,\"b\":false}", 0},
    {"{\"a\":[],\"b\":[1,\"x\",true]}", 0},
    {"{\"a\":0,\"b\":-1,\"c\":9007199254740991,\"d\":-9007199254740991}", 0},
    {"{\"a\":\"line\\nline\",\"b\":\"\\\"\\\\/\"}", 0},
    {"{\"a\":\"\x7f\xc2\x80\"}", 0}, /* RFC 8785 escapes U+0000 to U+001F, and no others */
    {"{\"a\":\"\xf4\x8f\xbf\xbf\xef\xbf\xbf\"}", 0},
    {"{\"a\":{}}", 1},
    {"{\"a\":{\"b\":[1,2]},\"b\":{\"a\":1}}", 1},
    {"{\"set\":{\"x\":{\"y\":[1],\"z\":\"\"}}}", 2},
    {"{\"A\":1,\"a\":1,\"aa\":1,\"b\":1}", 0},
    {"{\"\\n\":1,\"!\":1,\"\\\"\":1,\"[\":1,\"\\\\\":1,\"]\":1}",
     0}, /* 0A 21 22 5B 5C 5D, whatever it is written as */
    {"{\"a\\n\":1,\"a\\\"\":1,\"a\\\\\":1,\"aa\":1}", 0},
};

static void canonical_text_passes(void **state) {
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(canonical); i++) {
        gl_json_fault fault = {0, "no fault"};
        if (!gl_json_check(gl_span_of(canonical[i].text), canonical[i].depth, &fault))
            fail_msg("%s at %zu: %s", canonical[i].text, fault.at, fault.what);
    }
}

#define CONTROL "control character in a string"
#define NEEDLESS "escape of a character that needs none"
#define UNKNOWN "escape that canonical JSON does not have"
#define SPACE "white space outside a string"
#define EARLY "the text ends too early"
#define NO_VALUE "a value is missing"
#define NO_NAME "a member's name is missing"
#define NO_COMMA "a comma or closing bracket is missing"
#define NESTED "an array may not hold arrays or objects"
#define DEEP "an object too deep inside others"
#define BEYOND "integer beyond 2^53-1"
#define FRACTION "number with a fraction or an exponent"
#define FOLLOWS "something follows the object"

static const struct {
    const char *text;
    unsigned depth;
    size_t at;
    const char *what;
} refused[] = {
    /* not one object */
    {"", 0, 0, EARLY},
    {"[]", 0, 0, "no JSON object"},
    {"1", 0, 0, "no JSON object"},
    {"{", 0, 1, EARLY},
    {"{\"a\"", 0, 4, EARLY},
    {"{\"a\":", 0, 5, EARLY},
    {"{\"a\":1", 0, 6, EARLY},
    {"{\"a\":1,", 0, 7, EARLY},
    {"{\"a\":[1", 0, 7, EARLY},
    {"{\"a\":-", 0, 6, EARLY},
    {"{\"a", 0, 3, EARLY},
    {"{\"a\\", 0, 3, EARLY},
    {"{}{}", 0, 2, FOLLOWS},
    {"{}x", 0, 2, FOLLOWS},
    {"\xef\xbb\xbf{}", 0, 0, "no JSON object"},
    /* white space */
    {" {}", 0, 0, SPACE},
    {"{ }", 0, 1, SPACE},
    {"{}\n", 0, 2, SPACE},
    {"{\"a\" :1}", 0, 4, SPACE},
    {"{\"a\": 1}", 0, 5, SPACE},
    {"{\"a\":1 }", 0, 6, SPACE},
    {"{\"a\":[1, 2]}", 0, 8, SPACE},
    {"{\"a\":1,\t\"b\":2}", 0, 7, SPACE},
    /* syntax */
    {"{,}", 0, 1, NO_NAME},
    {"{\"a\":1,}", 0, 7, NO_NAME},
    {"{a:1}", 0, 1, NO_NAME},
    {"{'a':1}", 0, 1, NO_NAME},
    {"{\"a\"1}", 0, 4, "a colon is missing"},
    {"{\"a\":}", 0, 5, NO_VALUE},
    {"{\"a\":x}", 0, 5, NO_VALUE},
    {"{\"a\":True}", 0, 5, NO_VALUE},
    {"{\"a\":tru}", 0, 5, NO_VALUE},
    {"{\"a\":NaN}", 0, 5, NO_VALUE},
    {"{\"a\":[1,]}", 0, 8, NO_VALUE},
    {"{\"a\":[,1]}", 0, 6, NO_VALUE},
    {"{\"a\":1\"b\":2}", 0, 6, NO_COMMA},
    {"{\"a\":[1;2]}", 0, 7, NO_COMMA},
    {"{\"a\":[1}", 0, 7, NO_COMMA},
    {"{\"a\":truex}", 0, 9, NO_COMMA},
    /* members */
    {"{\"b\":1,\"a\":2}", 0, 7, "members out of order"},
    {"{\"a\":1,\"a\":2}", 0, 7, "a member stands twice"},
    {"{\"a\\n\":1,\"a\\n\":2}", 0, 9, "a member stands twice"},
    {"{\"a\":1,\"B\":2}", 0, 7, "members out of order"},
    {"{\"aa\":1,\"a\":2}", 0, 8, "members out of order"},
    {"{\"a\":{\"c\":1,\"b\":2}}", 1, 12, "members out of order"},
    {"{\"[\":1,\"\\n\":2}", 0, 7, "members out of order"},
    /* numbers */
    {"{\"a\":-0}", 0, 5, "minus zero"},
    {"{\"a\":01}", 0, 5, "number with a leading zero"},
    {"{\"a\":-01}", 0, 5, "number with a leading zero"},
    {"{\"a\":00}", 0, 5, "number with a leading zero"},
    {"{\"a\":1.0}", 0, 5, FRACTION},
    {"{\"a\":0.5}", 0, 5, FRACTION},
    {"{\"a\":1e3}", 0, 5, FRACTION},
    {"{\"a\":1E3}", 0, 5, FRACTION},
    {"{\"a\":9007199254740992}", 0, 5, BEYOND},
    {"{\"a\":-9007199254740992}", 0, 5, BEYOND},
    {"{\"a\":99999999999999999999999999999999999999}", 0, 5, BEYOND},
    {"{\"a\":+1}", 0, 5, NO_VALUE},
    {"{\"a\":-x}", 0, 6, NO_VALUE},
    {"{\"a\":0x10}", 0, 6, NO_COMMA},
    /* strings */
    {"{\"a\":\"\\u0041\"}", 0, 6, NEEDLESS},
    {"{\"a\":\"\\u00e9\"}", 0, 6, NEEDLESS},
    {"{\"a\":\"\\u000a\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\u001f\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\u001F\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\u0000\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\ud83d\\ude00\"}", 0, 6, NEEDLESS},
    {"{\"a\":\"\\ud800\"}", 0, 6, NEEDLESS},
    {"{\"a\":\"\\b\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\t\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\f\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\r\"}", 0, 6, CONTROL},
    {"{\"a\":\"\\/\"}", 0, 6, UNKNOWN},
    {"{\"a\":\"\\x41\"}", 0, 6, UNKNOWN},
    {"{\"a\":\"\\N\"}", 0, 6, UNKNOWN},
    {"{\"a\":\"x\ny\"}", 0, 7, CONTROL},
    {"{\"a\":\"\t\"}", 0, 6, CONTROL},
    {"{\"a\tb\":1}", 0, 3, CONTROL},
    {"{\"a\":\"\xff\"}", 0, 6, "not UTF-8"},
    {"{\"a\":\"\xc0\xaf\"}", 0, 6, "not UTF-8"},
    {"{\"a\":\"\xed\xa0\x80\"}", 0, 6, "not UTF-8"}, /* a lone surrogate */
    {"{\"a\":\"\xf4\x90\x80\x80\"}", 0, 6, "not UTF-8"},
    {"{\"a\":\"\xe2\x82", 0, 6, "not UTF-8"},
    /* value set */
    {"{\"a\":null}", 0, 5, "null is no value"},
    {"{\"a\":[null]}", 0, 6, "null is no value"},
    {"{\"a\":[[]]}", 2, 6, NESTED},
    {"{\"a\":[{}]}", 2, 6, NESTED},
    {"{\"a\":{}}", 0, 5, DEEP},
    {"{\"a\":{\"b\":{}}}", 1, 10, DEEP},
    {"{\"set\":{\"x\":{\"y\":{}}}}", 2, 17, DEEP},
    {"{\"set\":{\"x\":{\"y\":[[]]}}}", 2, 18, NESTED},
};

static void whatever_rfc_8785_would_not_write_is_refused(void **state) {
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(refused); i++) {
        gl_json_fault fault = {999, "no fault"};
        bool passed = gl_json_check(gl_span_of(refused[i].text), refused[i].depth, &fault);
        if (passed || fault.at != refused[i].at || strcmp(fault.what, refused[i].what) != 0)
            fail_msg("%s: %s at %zu: %s", refused[i].text, passed ? "passed" : "refused", fault.at,
                     fault.what);
        assert_false(gl_json_check(gl_span_of(refused[i].text), refused[i].depth, NULL));
    }
    assert_false(gl_json_check(GL_NO_SPAN, 0, NULL));
    assert_false(gl_json_check(GL_SPAN("{\"a\":\"\0\"}"), 0, NULL));
    assert_false(gl_json_check(GL_SPAN("{}\0"), 0, NULL));
}

/* --------------------------------------------------------------------------------------------- RFC 8785 */

/* RFC 8785, 3.2.2 (the string of the example: "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/"). */
static void the_string_example_of_rfc_8785(void **state) {
    (void)state;
    const gl_span decoded = GL_SPAN("\xe2\x82\xac$\x0f\nA'B\"\\\\\"/");
    const gl_span written = GL_SPAN("\"\xe2\x82\xac$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"");
    gl_buf buf = GL_BUF_EMPTY;
    gl_json_add_string(&buf, decoded);
    assert_true(gl_span_equal(gl_buf_span(&buf), written));
    gl_buf_clear(&buf);
    gl_json_add_decoded(&buf, written);
    assert_true(gl_span_equal(gl_buf_span(&buf), decoded));
    gl_buf_free(&buf);
}

/* RFC 8785, 3.2.3: the names of the sorting example, in the order that it asks for. */
static void the_sorting_example_of_rfc_8785(void **state) {
    (void)state;
    static const char *const names[] = {
        "\r", "1", "\xc2\x80", "\xc3\xb6", "\xe2\x82\xac", "\xf0\x9f\x98\x80", "\xef\xac\xb3"};
    for (size_t i = 0; i < UNIT_COUNT(names); i++) {
        for (size_t j = 0; j < UNIT_COUNT(names); j++) {
            int order = gl_json_name_order(gl_span_of(names[i]), gl_span_of(names[j]));
            assert_int_equal((order > 0) - (order < 0), (i > j) - (i < j));
        }
    }
    /* The example itself, without the member "\r", which our value set does not have. */
    assert_true(gl_json_check(GL_SPAN("{\"1\":\"One\",\"\xc2\x80\":\"Control\","
                                      "\"\xc3\xb6\":\"Latin Small Letter O With Diaeresis\","
                                      "\"\xe2\x82\xac\":\"Euro Sign\","
                                      "\"\xf0\x9f\x98\x80\":\"Emoji: Grinning Face\","
                                      "\"\xef\xac\xb3\":\"Hebrew Letter Dalet With Dagesh\"}"),
                              0, NULL));
    /* By bytes, as most libraries sort, the last two would change places. */
    assert_false(gl_json_check(GL_SPAN("{\"\xef\xac\xb3\":1,\"\xf0\x9f\x98\x80\":2}"), 0, NULL));
}

/* Any two code points stand in the order of their UTF-16 code units (RFC 2781, 2.1). */
static size_t utf16_of(uint32_t code, uint16_t out[2]) {
    if (code < 0x10000) {
        out[0] = (uint16_t)code;
        return 1;
    }
    out[0] = (uint16_t)(0xD800 + ((code - 0x10000) >> 10));
    out[1] = (uint16_t)(0xDC00 + ((code - 0x10000) & 0x3FF));
    return 2;
}

static int utf16_order(const uint32_t *a, const uint32_t *b, size_t count) {
    uint16_t left[16] = {0}, right[16] = {0};
    size_t m = 0, n = 0;
    for (size_t i = 0; i < count; i++) {
        m += utf16_of(a[i], left + m);
        n += utf16_of(b[i], right + n);
    }
    for (size_t i = 0; i < m && i < n; i++)
        if (left[i] != right[i])
            return left[i] < right[i] ? -1 : 1;
    return (m > n) - (m < n);
}

static void names_are_ordered_by_utf16_code_units(void **state) {
    (void)state;
    static const uint32_t edges[] = {0,      1,       '"',     '\\',    'a',     0x7F,
                                     0x80,   0x7FF,   0x800,   0xD7FF,  0xE000,  0xFFFD,
                                     0xFFFF, 0x10000, 0x103FF, 0x10400, 0xFFFFF, 0x10FFFF};
    unit_random random = {8};
    for (int round = 0; round < 100000; round++) {
        uint32_t a[3], b[3];
        gl_buf left = GL_BUF_EMPTY, right = GL_BUF_EMPTY, raw_left = GL_BUF_EMPTY, raw_right = GL_BUF_EMPTY;
        for (size_t i = 0; i < 3; i++) {
            a[i] = edges[unit_below(&random, UNIT_COUNT(edges))];
            b[i] = unit_below(&random, 3) ? a[i] : edges[unit_below(&random, UNIT_COUNT(edges))];
            gl_utf8_add(&left, a[i]);
            gl_utf8_add(&right, b[i]);
        }
        int expected = utf16_order(a, b, 3);
        assert_int_equal(gl_json_name_order(gl_buf_span(&left), gl_buf_span(&right)), expected);
        gl_json_add_string(&raw_left, gl_buf_span(&left));
        gl_json_add_string(&raw_right, gl_buf_span(&right));
        assert_int_equal(
            gl_json_raw_name_order(gl_json_raw(gl_buf_span(&raw_left)), gl_json_raw(gl_buf_span(&raw_right))),
            expected);
        gl_buf_free(&left);
        gl_buf_free(&right);
        gl_buf_free(&raw_left);
        gl_buf_free(&raw_right);
    }
}

/* ---------------------------------------------------------------------------------------------- writing */

/* RFC 8785, 3.2.2.2, character by character: what is written, and back. */
static void every_character_is_written_by_the_rule(void **state) {
    (void)state;
    static const char *const short_forms[0x20] = {
        [8] = "\\b", [9] = "\\t", [10] = "\\n", [12] = "\\f", [13] = "\\r"};
    gl_buf utf8 = GL_BUF_EMPTY, written = GL_BUF_EMPTY, expected = GL_BUF_EMPTY, back = GL_BUF_EMPTY;
    for (uint32_t code = 0; code <= 0x10FFFF; code += code < 0x3000 ? 1 : 0x101) {
        if (code >= 0xD800 && code <= 0xDFFF)
            continue;
        gl_buf_clear(&utf8);
        gl_buf_clear(&written);
        gl_buf_clear(&expected);
        gl_buf_clear(&back);
        gl_utf8_add(&utf8, code);
        gl_json_add_string(&written, gl_buf_span(&utf8));
        if (code < 0x20 && short_forms[code])
            gl_buf_printf(&expected, "\"%s\"", short_forms[code]);
        else if (code < 0x20)
            gl_buf_printf(&expected, "\"\\u%04x\"", code);
        else if (code == '"' || code == '\\')
            gl_buf_printf(&expected, "\"\\%c\"", (int)code);
        else
            gl_buf_printf(&expected, "\"%s\"", utf8.text);
        assert_string_equal(written.text, expected.text);
        gl_json_add_decoded(&back, gl_buf_span(&written));
        assert_true(gl_span_equal(gl_buf_span(&back), gl_buf_span(&utf8)));
    }
    gl_buf_free(&utf8);
    gl_buf_free(&written);
    gl_buf_free(&expected);
    gl_buf_free(&back);
}

static void bytes_that_are_no_text_become_replacement_characters(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    gl_json_add_string(&buf, GL_SPAN("a\xff\xed\xa0z\xc3"));
    assert_string_equal(buf.text, "\"a\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbdz\xef\xbf\xbd\"");
    gl_buf_clear(&buf);
    gl_json_add_string(&buf, GL_NO_SPAN);
    assert_string_equal(buf.text, "\"\"");
    gl_buf_free(&buf);
}

/* ---------------------------------------------------------------------------------------------- walking */

static const char line[] =
    "{\"after\":[\"a,b\",\"]\"],\"clear\":[],\"n\":-12,\"set\":{\"k\":{\"x\":[1,2]},\"q\":"
    "\"a\\\"},\\\\\"},\"t\":true,\"why\":\"first\\nsecond \xc3\xa9\"}";

static void members_are_walked_in_order(void **state) {
    (void)state;
    static const struct {
        const char *name, *item;
        gl_json_kind kind;
    } expected[] = {
        {"after", "[\"a,b\",\"]\"]", GL_JSON_ARRAY},
        {"clear", "[]", GL_JSON_ARRAY},
        {"n", "-12", GL_JSON_INTEGER},
        {"set", "{\"k\":{\"x\":[1,2]},\"q\":\"a\\\"},\\\\\"}", GL_JSON_OBJECT},
        {"t", "true", GL_JSON_BOOLEAN},
        {"why", "\"first\\nsecond \xc3\xa9\"", GL_JSON_STRING},
    };
    assert_true(gl_json_check(gl_span_of(line), 2, NULL));
    gl_json_walk walk = gl_json_walk_of(gl_span_of(line));
    gl_span name, item;
    size_t count = 0;
    for (; gl_json_next(&walk, &name, &item); count++) {
        assert_true(gl_span_is(name, expected[count].name));
        assert_true(gl_span_is(item, expected[count].item));
        assert_int_equal(gl_json_kind_of(item), expected[count].kind);
        gl_span found = gl_json_member(gl_span_of(line), expected[count].name);
        assert_true(found.text == item.text && found.length == item.length);
    }
    assert_int_equal(count, UNIT_COUNT(expected));
    assert_int_equal(gl_json_count(gl_span_of(line)), count);
    assert_null(gl_json_member(gl_span_of(line), "x").text);
    assert_null(gl_json_member(gl_span_of(line), "a").text);
}

static void elements_are_walked_and_have_no_name(void **state) {
    (void)state;
    gl_json_walk walk = gl_json_walk_of(GL_SPAN("[\"a:b\",\"\",3,false,\"\\\"\"]"));
    static const char *const expected[] = {"\"a:b\"", "\"\"", "3", "false", "\"\\\"\""};
    gl_span name, item;
    size_t count = 0;
    for (; gl_json_next(&walk, &name, &item); count++) {
        assert_null(name.text);
        assert_true(gl_span_is(item, expected[count]));
    }
    assert_int_equal(count, UNIT_COUNT(expected));
    assert_int_equal(gl_json_count(GL_SPAN("[]")), 0);
    assert_int_equal(gl_json_count(GL_SPAN("{}")), 0);
    assert_int_equal(gl_json_count(GL_SPAN("12")), 0);
    assert_int_equal(gl_json_count(GL_NO_SPAN), 0);
    assert_int_equal(gl_json_kind_of(GL_NO_SPAN), GL_JSON_NONE);
    assert_int_equal(gl_json_kind_of(GL_SPAN("null")), GL_JSON_NONE);
}

static void scalars_are_read(void **state) {
    (void)state;
    int64_t value = 1;
    assert_true(gl_json_integer(GL_SPAN("-9007199254740991"), &value));
    assert_int_equal(value, -GL_JSON_INTEGER_MAX);
    assert_false(gl_json_integer(GL_SPAN("\"12\""), &value));
    assert_false(gl_json_integer(GL_NO_SPAN, &value));
    assert_true(gl_json_true(GL_SPAN("true")));
    assert_false(gl_json_true(GL_SPAN("false")));
    assert_false(gl_json_true(GL_NO_SPAN));
    assert_true(gl_span_is(gl_json_raw(GL_SPAN("\"a\\nb\"")), "a\\nb"));
    assert_null(gl_json_raw(GL_SPAN("12")).text);
    gl_buf buf = GL_BUF_EMPTY;
    gl_json_add_integer(&buf, -GL_JSON_INTEGER_MAX);
    gl_json_add_integer(&buf, 0);
    assert_string_equal(buf.text, "-90071992547409910");
    gl_buf_free(&buf);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(canonical_text_passes),
        cmocka_unit_test(whatever_rfc_8785_would_not_write_is_refused),
        cmocka_unit_test(the_string_example_of_rfc_8785),
        cmocka_unit_test(the_sorting_example_of_rfc_8785),
        cmocka_unit_test(names_are_ordered_by_utf16_code_units),
        cmocka_unit_test(every_character_is_written_by_the_rule),
        cmocka_unit_test(bytes_that_are_no_text_become_replacement_characters),
        cmocka_unit_test(members_are_walked_in_order),
        cmocka_unit_test(elements_are_walked_and_have_no_name),
        cmocka_unit_test(scalars_are_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
