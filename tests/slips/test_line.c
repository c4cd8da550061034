#include "slips/made.h"

#include "base/error.h"

#define UUID "00000000-0000-4000-8000-000000000001"
#define D1 "1111111111111111111111111111111111111111111111111111111111111111"
#define D2 "2222222222222222222222222222222222222222222222222222222222222222"
#define AT "\"at\":\"2026-03-01T10:00:00Z\""
#define BY "\"by\":\"contributor/" UUID "\""
#define REACH "\"reach\":\"shared\""
#define RECORD "\"record\":\"item/" UUID "\""
#define HEAD "{\"after\":[]," AT "," BY ","
#define BODY REACH "," RECORD ","
#define SIGNATURE(key, of, sig) "{\"key\":\"" key "\",\"of\":\"" of "\",\"sig\":\"" sig "\"}"
#define EDITION(brings, rest) "{" AT ",\"brings\":" brings "," BY "," rest "}"
#define REST "\"edition\":1,\"format\":\"1.0\",\"log\":\"" D1 "\",\"note\":\"\",\"slips\":0,\"tool\":\"t\""

typedef struct row {
    const char *rule; /* NULL: sound */
    gl_line_kind kind;
    const char *line;
} row;

static const row rows[] = {
    /* sound */
    {NULL, GL_LINE_SLIP, HEAD BODY "\"set\":{}}"},
    {NULL, GL_LINE_SLIP,
     HEAD BODY "\"set\":{\"kind\":\"cover\"},\"via\":\"contributor/" UUID "\",\"why\":\"\"}"},
    {NULL, GL_LINE_SLIP, HEAD "\"clear\":[\"a\",\"c\"]," BODY "\"set\":{\"b\":1,\"d\":{\"x\":[true]}}}"},
    {NULL, GL_LINE_SLIP, "{\"after\":[\"" D1 "\",\"" D2 "\"]," AT "," BY "," BODY "\"set\":{}}"},
    {NULL, GL_LINE_SLIP,
     "{\"!\":1,\"aaa\":{\"sig\":1},\"after\":[]," AT "," BY ",\"d\":[]," BODY
     "\"set\":{},\"zoo\":\"\",\"\xc3\xa9\":true}"},
    {NULL, GL_LINE_SLIP, "{\"\":1,\"\\\"\":1,\"\\\\\":2,\"after\":[]," AT "," BY "," BODY "\"set\":{}}"},
    {NULL, GL_LINE_SLIP,
     HEAD "\"reach\":\"telling\",\"record\":\"new_type9/" UUID "\",\"set\":{\"field_9\":\"\"}}"},
    {NULL, GL_LINE_SIGNATURE, SIGNATURE(D1, D2, D1 D2)},
    {NULL, GL_LINE_EDITION, EDITION("[]", REST)},
    {NULL, GL_LINE_EDITION, EDITION("[\"" D1 "  data/a b\",\"" D2 "  data/a\"]", REST)},
    {NULL, GL_LINE_OTHER, "{}"},
    {NULL, GL_LINE_OTHER, "{\"Log\":1,\"logs\":2}"},
    /* lines */
    {"S010", GL_LINE_OTHER, ""},
    {"S010", GL_LINE_OTHER, "[]"},
    {"S010", GL_LINE_OTHER, "{} "},
    {"S010", GL_LINE_OTHER, "{}{}"},
    {"S010", GL_LINE_OTHER, "{\"a\":null}"},
    {"S010", GL_LINE_OTHER, "{\"a\":1.5}"},
    {"S010", GL_LINE_OTHER, "{\"b\":1,\"a\":1}"},
    {"S010", GL_LINE_OTHER, "{\"a\":\"\xff\"}"},
    {"S010", GL_LINE_SLIP, HEAD BODY "\"set\":{},\"set\":{}}"},
    {"S010", GL_LINE_SLIP, HEAD BODY "\"set\":{\"a\":{\"b\":{}}}}"},
    {"S010", GL_LINE_SLIP, HEAD BODY "\"set\":{\"a\":[[]]}}"},
    {"S010", GL_LINE_SLIP, HEAD BODY "\"set\":{\"a\":\"\\t\"}}"},
    {"S012", GL_LINE_OTHER, "{\"after\":[],\"sig\":\"\"}"},
    {"S012", GL_LINE_OTHER, "{\"after\":1,\"log\":1}"},
    {"S012", GL_LINE_OTHER, "{\"log\":1,\"sig\":1}"},
    /* slips */
    {"S020", GL_LINE_SLIP, "{\"after\":[]}"},
    {"S020", GL_LINE_SLIP, "{\"after\":[]," BY "," BODY "\"set\":{}}"},
    {"S020", GL_LINE_SLIP, "{\"after\":[]," AT "," BODY "\"set\":{}}"},
    {"S020", GL_LINE_SLIP, HEAD RECORD ",\"set\":{}}"},
    {"S020", GL_LINE_SLIP, HEAD REACH ",\"set\":{}}"},
    {"S020", GL_LINE_SLIP, HEAD REACH "," RECORD "}"},
    {"S021", GL_LINE_SLIP, "{\"after\":\"\"," AT "," BY "," BODY "\"set\":{}}"},
    {"S021", GL_LINE_SLIP, "{\"after\":{}," AT "," BY "," BODY "\"set\":{}}"},
    {"S021", GL_LINE_SLIP, "{\"after\":[1]," AT "," BY "," BODY "\"set\":{}}"},
    {"S021", GL_LINE_SLIP, "{\"after\":[\"" D1 "1\"]," AT "," BY "," BODY "\"set\":{}}"},
    {"S021", GL_LINE_SLIP,
     "{\"after\":[\"A"
     "111111111111111111111111111111111111111111111111111111111111111"
     "\"]," AT "," BY "," BODY "\"set\":{}}"},
    {"S022", GL_LINE_SLIP, "{\"after\":[\"" D2 "\",\"" D1 "\"]," AT "," BY "," BODY "\"set\":{}}"},
    {"S022", GL_LINE_SLIP, "{\"after\":[\"" D1 "\",\"" D1 "\"]," AT "," BY "," BODY "\"set\":{}}"},
    {"S023", GL_LINE_SLIP, "{\"after\":[],\"at\":1," BY "," BODY "\"set\":{}}"},
    {"S023", GL_LINE_SLIP, "{\"after\":[],\"at\":\"2026-02-29T10:00:00Z\"," BY "," BODY "\"set\":{}}"},
    {"S023", GL_LINE_SLIP, "{\"after\":[],\"at\":\"2026-03-01T10:00:00+00:00\"," BY "," BODY "\"set\":{}}"},
    {"S023", GL_LINE_SLIP, "{\"after\":[],\"at\":\"2026-03-01T10:00:00.5Z\"," BY "," BODY "\"set\":{}}"},
    {"S023", GL_LINE_SLIP, "{\"after\":[],\"at\":\"2026-03-01T10:00:60Z\"," BY "," BODY "\"set\":{}}"},
    {"S024", GL_LINE_SLIP, "{\"after\":[]," AT ",\"by\":\"item/" UUID "\"," BODY "\"set\":{}}"},
    {"S024", GL_LINE_SLIP, "{\"after\":[]," AT ",\"by\":\"contributor/0\"," BODY "\"set\":{}}"},
    {"S024", GL_LINE_SLIP, "{\"after\":[]," AT ",\"by\":[]," BODY "\"set\":{}}"},
    {"S025", GL_LINE_SLIP, HEAD BODY "\"set\":{},\"via\":\"\"}"},
    {"S025", GL_LINE_SLIP, HEAD BODY "\"set\":{},\"via\":true}"},
    {"S026", GL_LINE_SLIP, HEAD "\"reach\":\"secret\"," RECORD ",\"set\":{}}"},
    {"S026", GL_LINE_SLIP, HEAD "\"reach\":\"Shared\"," RECORD ",\"set\":{}}"},
    {"S026", GL_LINE_SLIP, HEAD "\"reach\":0," RECORD ",\"set\":{}}"},
    {"S027", GL_LINE_SLIP, HEAD REACH ",\"record\":\"item\",\"set\":{}}"},
    {"S027", GL_LINE_SLIP, HEAD REACH ",\"record\":\"/" UUID "\",\"set\":{}}"},
    {"S027", GL_LINE_SLIP, HEAD REACH ",\"record\":\"Item/" UUID "\",\"set\":{}}"},
    {"S027", GL_LINE_SLIP, HEAD REACH ",\"record\":\"9item/" UUID "\",\"set\":{}}"},
    {"S027", GL_LINE_SLIP, HEAD REACH ",\"record\":\"item/" UUID "/x\",\"set\":{}}"},
    {"S027", GL_LINE_SLIP,
     HEAD REACH ",\"record\":\"item/0000000A-0000-4000-8000-000000000001\",\"set\":{}}"},
    {"S027", GL_LINE_SLIP,
     HEAD REACH ",\"record\":\"a23456789012345678901234567890123/" UUID "\",\"set\":{}}"},
    {"S028", GL_LINE_SLIP, HEAD BODY "\"set\":[]}"},
    {"S028", GL_LINE_SLIP, HEAD BODY "\"set\":\"\"}"},
    {"S029", GL_LINE_SLIP, HEAD BODY "\"set\":{\"\":1}}"},
    {"S029", GL_LINE_SLIP, HEAD BODY "\"set\":{\"A\":1}}"},
    {"S029", GL_LINE_SLIP, HEAD BODY "\"set\":{\"_a\":1}}"},
    {"S029", GL_LINE_SLIP, HEAD BODY "\"set\":{\"a b\":1}}"},
    {"S029", GL_LINE_SLIP, HEAD BODY "\"set\":{\"\xc3\xa9\":1}}"},
    {"S029", GL_LINE_SLIP,
     HEAD BODY "\"set\":{\"a23456789_123456789_123456789_123456789_123456789_123456789_12345\":1}}"},
    {"S029", GL_LINE_SLIP, HEAD "\"clear\":[\"A\"]," BODY "\"set\":{}}"},
    {"S029", GL_LINE_SLIP, HEAD "\"clear\":[1]," BODY "\"set\":{}}"},
    {"S030", GL_LINE_SLIP, HEAD "\"clear\":[]," BODY "\"set\":{}}"},
    {"S030", GL_LINE_SLIP, HEAD "\"clear\":\"a\"," BODY "\"set\":{}}"},
    {"S030", GL_LINE_SLIP, HEAD "\"clear\":[\"b\",\"a\"]," BODY "\"set\":{}}"},
    {"S030", GL_LINE_SLIP, HEAD "\"clear\":[\"a\",\"a\"]," BODY "\"set\":{}}"},
    {"S031", GL_LINE_SLIP, HEAD "\"clear\":[\"b\"]," BODY "\"set\":{\"a\":1,\"b\":1,\"c\":1}}"},
    {"S031", GL_LINE_SLIP, HEAD "\"clear\":[\"a\",\"c\"]," BODY "\"set\":{\"b\":1,\"c\":1}}"},
    {"S032", GL_LINE_SLIP, HEAD BODY "\"set\":{},\"why\":7}"},
    /* signatures */
    {"K010", GL_LINE_SIGNATURE, "{\"sig\":1}"},
    {"K010", GL_LINE_SIGNATURE, SIGNATURE("11", D2, D1 D2)},
    {"K011", GL_LINE_SIGNATURE, SIGNATURE(D1, "22", D1 D2)},
    {"K012", GL_LINE_SIGNATURE, SIGNATURE(D1, D2, D1)},
    /* editions */
    {"E010", GL_LINE_EDITION, "{\"format\":\"1.0\",\"log\":1}"},
    {"E010", GL_LINE_EDITION,
     EDITION("[]",
             "\"edition\":0,\"format\":\"1.0\",\"log\":\"" D1 "\",\"note\":\"\",\"slips\":0,\"tool\":\"t\"")},
    {"E010", GL_LINE_EDITION,
     EDITION("[]",
             "\"edition\":1,\"format\":\"1.0\",\"log\":\"1\",\"note\":\"\",\"slips\":0,\"tool\":\"t\"")},
    {"E010", GL_LINE_EDITION,
     EDITION("[]", "\"edition\":1,\"format\":\"1.0\",\"log\":\"" D1 "\",\"slips\":0,\"tool\":\"t\"")},
    {"E010", GL_LINE_EDITION,
     EDITION("[]", "\"edition\":1,\"format\":\"1.0\",\"log\":\"" D1
                   "\",\"note\":\"\",\"slips\":-1,\"tool\":\"t\"")},
    {"E010", GL_LINE_EDITION,
     EDITION("[]",
             "\"edition\":1,\"format\":\"1.0\",\"log\":\"" D1 "\",\"note\":\"\",\"slips\":0,\"tool\":1")},
    {"E014", GL_LINE_EDITION, "{\"log\":1}"},
    {"E014", GL_LINE_EDITION, EDITION("[]", "\"edition\":1,\"format\":\"1\",\"log\":1")},
    {"E014", GL_LINE_EDITION, EDITION("[]", "\"edition\":1,\"format\":\"1.\",\"log\":1")},
    {"E014", GL_LINE_EDITION, EDITION("[]", "\"edition\":1,\"format\":\"01.0\",\"log\":1")},
    {"E014", GL_LINE_EDITION, EDITION("[]", "\"edition\":1,\"format\":\"0.9\",\"log\":1")},
    {"E014", GL_LINE_EDITION, EDITION("[]", "\"edition\":1,\"format\":\"1.0.0\",\"log\":1")},
    {"E015", GL_LINE_EDITION, "{\"format\":\"2.7\",\"log\":1}"},
    {"E016", GL_LINE_EDITION, EDITION("{}", REST)},
    {"E016", GL_LINE_EDITION, EDITION("[1]", REST)},
    {"E016", GL_LINE_EDITION, EDITION("[\"" D1 " data/a\"]", REST)},
    {"E016", GL_LINE_EDITION, EDITION("[\"" D1 "  data/\"]", REST)},
    {"E016", GL_LINE_EDITION, EDITION("[\"" D1 "  slips/a\"]", REST)},
    {"E017", GL_LINE_EDITION, EDITION("[\"" D2 "  data/a\",\"" D1 "  data/b\"]", REST)},
    {"E017", GL_LINE_EDITION, EDITION("[\"" D1 "  data/a\",\"" D1 "  data/a\"]", REST)},
};

static void each_line_is_refused_with_its_code(void **state) {
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        glassine_error error = {0};
        gl_line_kind kind;
        glassine_status status = gl_line_check(gl_span_of(rows[i].line), NULL, "line 7", &kind, &error);
        if (rows[i].rule) {
            if (status != GLASSINE_REFUSED || strcmp(error.rule, rows[i].rule) != 0)
                fail_msg("%s: wanted %s, got %s %s", rows[i].line, rows[i].rule, error.rule, error.message);
            assert_string_equal(error.place, "line 7");
        } else {
            if (status != GLASSINE_OK)
                fail_msg("%s: %s %s", rows[i].line, error.rule, error.message);
            assert_int_equal(kind, rows[i].kind);
        }
    }
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
    assert_int_equal(gl_slip_reach(&view), GLASSINE_SHARED);
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
            assert_int_equal(gl_slip_reach(&view), reach);
            assert_int_equal(gl_json_count(view.after), parts.after_count);
            assert_int_equal(view.via.text != NULL, parts.via.text != NULL);
            assert_int_equal(view.clear.text != NULL, parts.clear.text != NULL);
            if (parts.why.text)
                assert_true(gl_span_is(view.why, "\"\\\"quoted\\\"\\nand \xc3\xa9\""));
            gl_buf_free(&out);
        }
    }
}

/* Whatever one byte is turned into, the check answers, and what it lets pass can be looked at. */
static void damaged_lines_do_no_harm(void **state) {
    (void)state;
    for (size_t i = 0; rows[i].rule == NULL; i++) {
        gl_span sound = gl_span_of(rows[i].line);
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
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_line_is_refused_with_its_code),
        cmocka_unit_test(a_greater_version_is_named_with_ours),
        cmocka_unit_test(limits_are_the_callers),
        cmocka_unit_test(members_are_found_between_unknown_ones),
        cmocka_unit_test(a_written_slip_is_sound_and_says_the_same),
        cmocka_unit_test(damaged_lines_do_no_harm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
