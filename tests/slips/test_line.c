#include "slips/made.h"

#include <jansson.h>

#include "slips/members.h"

#define UUID "00000000-0000-4000-8000-000000000001"
#define D1 "1111111111111111111111111111111111111111111111111111111111111111"
#define D2 "2222222222222222222222222222222222222222222222222222222222222222"
#define AT "\"at\":\"2026-03-01T10:00:00Z\""
#define BY "\"by\":\"contributor/" UUID "\""
#define REACH "\"reach\":\"shared\""
#define RECORD "\"record\":\"item/" UUID "\""
#define HEAD "{\"after\":[]," AT "," BY ","
#define BODY REACH "," RECORD ","
#define EDITION(brings, rest) "{" AT ",\"brings\":" brings "," BY "," rest "}"

/* testvectors/lines/lines.jsonl: each line an object with a `line` of a log and the `kind` that it is of, or
 * the `rule` that it breaks. Calls `check` with each. */
static size_t each_vector(void (*check)(json_t *vector, gl_span line)) {
    FILE *file = fopen(TESTVECTORS "/lines/lines.jsonl", "rb");
    assert_non_null(file);
    size_t count = 0;
    json_t *vector;
    while ((vector = json_loadf(file, JSON_DISABLE_EOF_CHECK, NULL))) {
        json_t *line = json_object_get(vector, "line");
        check(vector, (gl_span){json_string_value(line), json_string_length(line)});
        json_decref(vector);
        count++;
    }
    fclose(file);
    return count;
}

static void check_vector(json_t *vector, gl_span line) {
    static const char *const kinds[] = {"slip", "signature", "edition", "other"};
    const char *rule = json_string_value(json_object_get(vector, "rule"));
    glassine_error error = {0};
    gl_line_kind kind;
    glassine_status status = gl_line_check(line, NULL, "line 7", &kind, &error);
    if (rule) {
        if (status != GLASSINE_REFUSED || strcmp(error.rule, rule) != 0)
            fail_msg("%.*s: wanted %s, got %s %s", GL_SPAN_ARGS(line), rule, error.rule, error.message);
        assert_string_equal(error.place, "line 7");
    } else {
        if (status != GLASSINE_OK)
            fail_msg("%.*s: %s %s", GL_SPAN_ARGS(line), error.rule, error.message);
        assert_string_equal(kinds[kind], json_string_value(json_object_get(vector, "kind")));
    }
}

static void each_line_is_refused_with_its_code(void **state) {
    (void)state;
    assert_true(each_vector(check_vector) >= 90);
}

static void a_line_that_is_no_utf8_is_refused(void **state) {
    (void)state;
    glassine_error error = {0};
    gl_line_kind kind;
    assert_int_equal(gl_line_check(GL_SPAN("{\"a\":\"\xff\"}"), NULL, "", &kind, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "S010");
}

static void a_greater_version_is_named_with_ours(void **state) {
    (void)state;
    glassine_error error = {0};
    gl_line_kind kind;
    assert_int_equal(gl_line_check(GL_SPAN("{\"format\":\"2.7\",\"log\":1}"), NULL, "", &kind, &error),
                     GLASSINE_REFUSED);
    assert_non_null(strstr(error.message, "2.7"));
    assert_non_null(strstr(error.message, "1.0"));
    assert_non_null(strstr(error.remedy, "newer"));
    assert_int_equal(
        gl_line_check(GL_SPAN(EDITION("[]", "\"edition\":1,\"format\":\"1.12\",\"log\":\"" D1
                                            "\",\"more\":true,\"note\":\"\",\"slips\":0,\"tool\":\"t\"")),
                      NULL, "", &kind, &error),
        GLASSINE_OK);
}

static void limits_are_the_callers(void **state) {
    (void)state;
    static const struct {
        const char *rule, *line;
    } cases[] = {
        {"L020", HEAD BODY "\"set\":{\"text\":\"x\"},\"why\":\"0123456789012345678901234567890123456789\"}"},
        {"L022", "{\"after\":[\"" D1 "\",\"" D2 "\"]," AT "," BY "," BODY "\"set\":{}}"},
        {"L023", HEAD "\"clear\":[\"a\"]," BODY "\"set\":{\"b\":1,\"c\":1}}"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        glassine_limits limits = {.after = 1, .fields = 2};
        glassine_error error = {0};
        gl_line_kind kind;
        gl_span line = gl_span_of(cases[i].line);
        if (i == 0)
            limits.line_bytes = line.length - 1;
        assert_int_equal(gl_line_check(line, &limits, "", &kind, &error), GLASSINE_REFUSED);
        assert_string_equal(error.rule, cases[i].rule);
        limits = (glassine_limits){.after = 2, .fields = 3, .line_bytes = line.length};
        assert_int_equal(gl_line_check(line, &limits, "", &kind, &error), GLASSINE_OK);
    }
}

static void members_are_found_between_unknown_ones(void **state) {
    (void)state;
    gl_span line =
        GL_SPAN("{\"\\\"\":0,\"aa\":{\"by\":1},\"after\":[\"" D1 "\",\"" D2 "\"]," AT
                ",\"b\":[\"]\",\"}\",\"\\\\\"]," BY ",\"clear\":[\"a\"],\"q\":-12," BODY
                "\"set\":{\"b\":{\"c\":\"\\\"}\"}},\"t\":true,\"via\":\"" ADA "\",\"why\":\"a\\\\\"}");
    gl_line_kind kind;
    gl_slip_view view;
    assert_int_equal(gl_line_check(line, NULL, "", &kind, NULL), GLASSINE_OK);
    gl_slip_look(line, &view);
    assert_true(gl_span_is(view.at, "\"2026-03-01T10:00:00Z\""));
    assert_true(gl_span_is(view.by, "\"contributor/" UUID "\""));
    assert_true(gl_span_is(view.clear, "[\"a\"]"));
    assert_true(gl_span_is(view.record, "\"item/" UUID "\""));
    assert_true(gl_span_is(view.set, "{\"b\":{\"c\":\"\\\"}\"}}"));
    assert_true(gl_span_is(view.via, "\"" ADA "\""));
    assert_true(gl_span_is(view.why, "\"a\\\\\""));
    assert_true(gl_span_is(view.reach, "\"shared\""));
    gl_digest digest;
    size_t at = 0;
    assert_true(gl_slip_after_next(&view, &at, &digest));
    assert_int_equal(digest.bytes[0], 0x11);
    assert_true(gl_slip_after_next(&view, &at, &digest));
    assert_int_equal(digest.bytes[31], 0x22);
    assert_false(gl_slip_after_next(&view, &at, &digest));
}

static void a_written_slip_is_sound_and_says_the_same(void **state) {
    (void)state;
    gl_digest after[2] = {{{1}}, {{2}}};
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        for (unsigned parts_there = 0; parts_there < 16; parts_there++) {
            gl_slip_parts parts = {.after = after,
                                   .after_count = parts_there & 1 ? 2 : 0,
                                   .at = GL_SPAN("2026-03-01T10:00:00Z"),
                                   .by = GL_SPAN(BEN),
                                   .record = GL_SPAN(ITEM),
                                   .reach = (glassine_reach)reach,
                                   .set = GL_SPAN("{\"a\":\"\"}")};
            if (parts_there & 2)
                parts.via = GL_SPAN(ADA);
            if (parts_there & 4)
                parts.why = GL_SPAN("\"quoted\"\nand \xc3\xa9");
            if (parts_there & 8)
                parts.clear = GL_SPAN("[\"b\"]");
            gl_buf out = GL_BUF_EMPTY;
            gl_slip_write(&parts, &out);
            gl_line_kind kind;
            assert_int_equal(gl_line_check(gl_buf_span(&out), NULL, "", &kind, NULL), GLASSINE_OK);
            gl_slip_view view;
            gl_slip_look(gl_buf_span(&out), &view);
            glassine_reach read;
            assert_true(gl_reach_parse(view.reach, &read));
            assert_int_equal(read, reach);
            assert_int_equal(gl_json_count(view.after), parts.after_count);
            assert_int_equal(view.via.text != NULL, parts.via.text != NULL);
            assert_int_equal(view.clear.text != NULL, parts.clear.text != NULL);
            if (parts.why.text)
                assert_true(gl_span_is(view.why, "\"\\\"quoted\\\"\\nand \xc3\xa9\""));
            gl_buf_free(&out);
        }
    }
}

/* Whatever one byte of a sound line is turned into, the check answers, and what it lets pass can be looked
 * at. */
static void damage(json_t *vector, gl_span sound) {
    if (json_object_get(vector, "rule"))
        return;
    char *line = malloc(sound.length);
    for (size_t at = 0; at < sound.length; at++) {
        for (unsigned byte = 0; byte < 256; byte++) {
            memcpy(line, sound.text, sound.length);
            line[at] = (char)byte;
            gl_line_kind kind;
            gl_slip_view view;
            gl_edition_view edition;
            gl_signature_view signature;
            gl_span span = {line, sound.length};
            if (gl_line_check(span, NULL, NULL, &kind, NULL))
                continue;
            gl_slip_look(span, &view);
            gl_edition_look(span, &edition);
            gl_signature_look(span, &signature);
            assert_true(kind != GL_LINE_SLIP || (view.record.text && view.set.text));
        }
    }
    free(line);
}

static void damaged_lines_do_no_harm(void **state) {
    (void)state;
    each_vector(damage);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_line_is_refused_with_its_code),
        cmocka_unit_test(a_line_that_is_no_utf8_is_refused),
        cmocka_unit_test(a_greater_version_is_named_with_ours),
        cmocka_unit_test(limits_are_the_callers),
        cmocka_unit_test(members_are_found_between_unknown_ones),
        cmocka_unit_test(a_written_slip_is_sound_and_says_the_same),
        cmocka_unit_test(damaged_lines_do_no_harm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
