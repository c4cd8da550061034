/* Reports as JSON, read back with an independent reader (jansson). */
#include <errno.h>
#include <locale.h>
#include <math.h>

#include <jansson.h>

#include "base/text.h"
#include "printed.h"

static json_t *read_back(const glassine_report *report) {
    gl_buf out = printed_json(report);
    assert_int_equal(gl_utf8_check(gl_buf_span(&out)), out.length);
    const char *feed = memchr(out.text, '\n', out.length);
    assert_ptr_equal(feed, out.text + out.length - 1); /* the only one, at the end */
    json_error_t error;
    json_t *document = json_loadb(out.text, out.length, JSON_REJECT_DUPLICATES | JSON_ALLOW_NUL, &error);
    if (!document)
        fail_msg("%s: %s", error.text, out.text);
    gl_buf_free(&out);
    return document;
}

static void empty_envelope(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("audit");
    gl_buf out = printed_json(report);
    assert_string_equal(
        out.text, "{\"verb\":\"audit\",\"bundle\":null,\"edition\":null,\"findings\":[],\"result\":{}}\n");
    gl_buf_free(&out);
    glassine_report_free(report);
}

static void whole_envelope(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("audit");
    glassine_report_about(report, "kingfisher.glassine", 7);
    glassine_report_finding(report, GLASSINE_FAULT, "C010", "offset 12", "Run recover", "%d bytes too many",
                            3);
    glassine_report_finding(report, GLASSINE_NOTE, NULL, NULL, NULL, "all else is whole");
    glassine_node_integer(glassine_report_result(report), "entries", NULL, 12);
    gl_buf out = printed_json(report);
    assert_string_equal(
        out.text, "{\"verb\":\"audit\",\"bundle\":\"kingfisher.glassine\",\"edition\":7,\"findings\":["
                  "{\"weight\":\"fault\",\"rule\":\"C010\",\"place\":\"offset 12\",\"message\":\"3 bytes too "
                  "many\",\"remedy\":\"Run recover\"},"
                  "{\"weight\":\"note\",\"rule\":null,\"place\":null,\"message\":\"all else is "
                  "whole\",\"remedy\":null}],\"result\":{\"entries\":12}}\n");
    gl_buf_free(&out);
    glassine_report_free(report);
}

static void error_replaces_an_empty_result(void **state) {
    (void)state;
    glassine_error error = {.status = GLASSINE_REFUSED,
                            .rule = "R201",
                            .place = "reply.json: answer 3",
                            .message = "positions \"131\": plate 1 has 120 positions"};
    glassine_report *report = glassine_report_new("merge");
    glassine_report_error(report, &error);
    json_t *document = read_back(report);
    assert_true(json_is_null(json_object_get(document, "result")));
    json_t *told = json_object_get(document, "error");
    assert_string_equal(json_string_value(json_object_get(told, "status")), "refused");
    assert_string_equal(json_string_value(json_object_get(told, "rule")), "R201");
    assert_string_equal(json_string_value(json_object_get(told, "place")), error.place);
    assert_string_equal(json_string_value(json_object_get(told, "message")), error.message);
    assert_true(json_is_null(json_object_get(told, "remedy")));
    json_decref(document);

    error.status = GLASSINE_SYSTEM;
    glassine_node_integer(glassine_report_result(report), "slips", NULL, 5);
    glassine_report_error(report, &error);
    document = read_back(report);
    assert_int_equal(json_integer_value(json_object_get(json_object_get(document, "result"), "slips")), 5);
    assert_string_equal(json_string_value(json_object_get(json_object_get(document, "error"), "status")),
                        "system");
    json_decref(document);

    glassine_report_drop_result(report);
    document = read_back(report);
    assert_true(json_is_null(json_object_get(document, "result")));
    json_decref(document);
    glassine_report_free(report);
}

/* Every kind of node, what only text shows, and what has no key. */
static void kinds(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("show");
    glassine_node *result = glassine_report_result(report);
    glassine_node_string(result, "text", "Text", "a \"b\" \\ \n");
    glassine_node_string(result, "absent", "Absent", NULL);
    glassine_node_string(result, NULL, "Text only", "x");
    glassine_node_integer(result, "least", NULL, INT64_MIN);
    glassine_node_truth(result, "yes", NULL, true);
    glassine_node_say(result, "said");
    glassine_node_drawing(result, "drawn");
    glassine_node_json(result, "raw", GL_SPAN("{\"a\":[1,\"\x7f\"]}"));
    glassine_node *list = glassine_node_list(result, "list", NULL);
    glassine_node_integer(list, NULL, NULL, 1);
    glassine_node_say(list, "said");
    glassine_node_string(list, "ignored", NULL, "two");
    glassine_node_list(list, NULL, NULL);
    glassine_node *rows = glassine_node_table(result, "rows", "Rows");
    glassine_node_string(glassine_node_object(rows, NULL, NULL), "a", "A", "b");
    json_t *document = read_back(report);
    json_t *expected =
        json_loads("{\"text\":\"a \\\"b\\\" \\\\ \\n\",\"absent\":null,\"least\":-9223372036854775808,"
                   "\"yes\":true,\"raw\":{\"a\":[1,\"\\u007f\"]},\"list\":[1,\"two\",[]],"
                   "\"rows\":[{\"a\":\"b\"}]}",
                   0, NULL);
    assert_non_null(expected);
    assert_true(json_equal(json_object_get(document, "result"), expected));
    json_decref(expected);
    json_decref(document);
    glassine_report_free(report);
}

static void bare_list(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("standing");
    glassine_node *rows = glassine_report_result_list(report, "Stamps", true);
    glassine_node_string(glassine_node_object(rows, NULL, NULL), "stamp", "Stamp", "H-014");
    gl_buf out = printed_json(report);
    assert_non_null(strstr(out.text, "\"result\":[{\"stamp\":\"H-014\"}]}\n"));
    gl_buf_free(&out);
    glassine_report_free(report);
}

static void reals_have_their_digits(void **state) {
    (void)state;
    static const struct {
        double value;
        int digits;
        const char *json;
    } cases[] = {
        {0.923611, 4, "0.9236"},
        {518.7377, 1, "518.7"},
        {-0.0001, 2, "0.00"},
        {-1.5, 1, "-1.5"},
        {2, 0, "2"},
        {1e15, -4, "1000000000000000"},
        {NAN, 2, "null"},
        {-INFINITY, 2, "null"},
        {1.0 / 3, 99, "0.33333333333333331"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        glassine_report *report = glassine_report_new("locate");
        glassine_node_real(glassine_report_result(report), "r", "R", cases[i].value, cases[i].digits);
        gl_buf out = printed_json(report);
        if (cases[i].json) {
            char wanted[64];
            snprintf(wanted, sizeof wanted, "{\"r\":%s}}\n", cases[i].json);
            assert_non_null(strstr(out.text, wanted));
        }
        json_decref(read_back(report));
        gl_buf_free(&out);
        glassine_report_free(report);
    }
}

/* A program around the library may have set a locale; its decimal comma must not get into JSON. */
static void reals_ignore_the_locale(void **state) {
    (void)state;
    if (!setlocale(LC_NUMERIC, "de_DE.UTF-8") && !setlocale(LC_NUMERIC, "fr_FR.UTF-8"))
        skip();
    glassine_report *report = glassine_report_new("chart");
    glassine_node_real(glassine_report_result(report), "r", "R", 518.74, 2);
    gl_buf out = printed_json(report);
    assert_non_null(strstr(out.text, "{\"r\":518.74}"));
    setlocale(LC_NUMERIC, "C");
    gl_buf_free(&out);
    glassine_report_free(report);
}

/* Whatever bytes come in: valid JSON, nothing in it that acts on a terminal, and sound text comes out equal.
 */
static void hostile_text(void **state) {
    (void)state;
    static const gl_span cases[] = {
        GL_SPAN("\x1b[31mred\x1b]0;title\x07"),
        GL_SPAN("nul \0 inside"),
        GL_SPAN("\xc2\x9b"
                "31m"), /* U+009B, a control sequence in one byte of Latin-1 */
        GL_SPAN("H-014\xe2\x80\xae"
                "gpj"),                                     /* U+202E */
        GL_SPAN("\xe2\x80\xa8\xe2\x80\xa9\xef\xbb\xbf"),    /* U+2028, U+2029, U+FEFF */
        GL_SPAN("\xff\xfe\xc0\xaf\xed\xa0\x80\xf5"),        /* no UTF-8 at all */
        GL_SPAN("cut off \xf0\x9f\x90"),                    /* the beginning of a character */
        GL_SPAN("\xf0\x9f\x90\xa6 \xe9\xb3\xa5 e\xcc\x81"), /* a bird, a bird, a combining accent */
        GL_SPAN("</script><!--"),
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        glassine_report *report = glassine_report_new("show");
        glassine_node_text(glassine_report_result(report), "t", "T", cases[i]);
        glassine_report_finding(report, GLASSINE_NOTE, NULL, "p", NULL, "%s", cases[i].text);
        gl_buf out = printed_json(report);
        for (size_t at = 0; at + 1 < out.length; at++) {
            uint32_t code = (unsigned char)out.text[at];
            assert_true(code >= 0x20 && code != 0x7f);
            if (code == 0xc2)
                assert_true((unsigned char)out.text[at + 1] >= 0xa0);
        }
        assert_null(strstr(out.text, "\xe2\x80\xae"));
        json_t *document = read_back(report);
        json_t *told = json_object_get(json_object_get(document, "result"), "t");
        if (gl_utf8_check(cases[i]) == cases[i].length) {
            assert_int_equal(json_string_length(told), cases[i].length);
            assert_memory_equal(json_string_value(told), cases[i].text, cases[i].length);
        } else {
            assert_non_null(strstr(json_string_value(told), "\xef\xbf\xbd"));
        }
        json_decref(document);
        gl_buf_free(&out);
        glassine_report_free(report);
    }
}

/* Each single byte, and each pair of a lead byte with anything, as a value and as a key. */
static void every_pair_of_bytes(void **state) {
    (void)state;
    for (unsigned lead = 0; lead < 256; lead += 5) {
        glassine_report *report = glassine_report_new("show");
        glassine_node *list = glassine_report_result_list(report, "Bytes", false);
        for (unsigned second = 0; second < 256; second++) {
            char pair[2] = {(char)lead, (char)second};
            glassine_node_text(list, NULL, NULL, (gl_span){pair, 2});
            char key[4] = {'k', (char)(lead ? lead : 1), (char)(second ? second : 1), 0};
            glassine_node_integer(glassine_node_object(list, NULL, NULL), key, NULL, 1);
        }
        json_decref(read_back(report));
        glassine_report_free(report);
    }
}

typedef struct counted {
    size_t calls, bytes, fail_at;
} counted;

static int count_calls(void *context, const char *bytes, size_t length) {
    counted *c = context;
    (void)bytes;
    c->bytes += length;
    return ++c->calls == c->fail_at ? ENOSPC : 0;
}

/* A large table is handed on in pieces, and a disk that fills up ends the printing. */
static void large_tables_stream(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("list");
    glassine_node *rows = glassine_report_result_list(report, "Stamps", true);
    for (int64_t i = 0; i < 100000; i++) {
        glassine_node *row = glassine_node_object(rows, NULL, NULL);
        glassine_node_format(row, "stamp", "Stamp", "H-%05d", (int)i);
        glassine_node_integer(row, "position", "Position", i % 120 + 1);
        glassine_node_string(row, "standing", "Standing", "placed");
    }
    assert_false(glassine_report_failed(report));
    counted all = {0};
    assert_int_equal(glassine_report_json(report, count_calls, &all), 0);
    assert_true(all.calls > 10 && all.bytes / all.calls >= 60000);
    counted full = {.fail_at = 3};
    assert_int_equal(glassine_report_json(report, count_calls, &full), ENOSPC);
    assert_int_equal(full.calls, 3);
    json_t *document = read_back(report);
    assert_int_equal(json_array_size(json_object_get(document, "result")), 100000);
    json_decref(document);
    glassine_report_free(report);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(empty_envelope),
        cmocka_unit_test(whole_envelope),
        cmocka_unit_test(error_replaces_an_empty_result),
        cmocka_unit_test(kinds),
        cmocka_unit_test(bare_list),
        cmocka_unit_test(reals_have_their_digits),
        cmocka_unit_test(reals_ignore_the_locale),
        cmocka_unit_test(hostile_text),
        cmocka_unit_test(every_pair_of_bytes),
        cmocka_unit_test(large_tables_stream),
    };
    return cmocka_run_group_tests_name("report/json", tests, NULL, NULL);
}
