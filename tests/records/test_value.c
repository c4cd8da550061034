/* Values: what is typed and what becomes of it, what fits a field, what is shown. */
#include "base/unit.h"

#include <stdio.h>

#include "base/error.h"
#include "records/table.h"
#include "records/value.h"

#define UUID "0190c3a2-7b1e-4f00-8a00-000000000001"
#define UUID2 "0190c3a2-7b1e-4f00-8a00-000000000002"
#define HEX64 "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

static const glassine_field_info *field_of(const char *type, const char *field) {
    return glassine_type_field(glassine_type_find(type), field);
}

/* Knows H-014, which is an item, and Plate 1; says "R034" of all else. */
static glassine_status resolve(void *context, const char *const *types, gl_span typed, gl_buf *id,
                               glassine_error *error) {
    (void)context;
    if (types && strcmp(types[0], "item") == 0 && gl_span_is(typed, "H-014, left"))
        gl_buf_add_text(id, "item/" UUID);
    else if (types && strcmp(types[0], "plate") == 0 && gl_span_is(typed, "1"))
        gl_buf_add_text(id, "plate/" UUID2);
    else
        return gl_fail(error, GLASSINE_REFUSED, "R034", "K.glassine", "there is none");
    return GLASSINE_OK;
}

static bool name_of(void *context, gl_span id, gl_buf *out) {
    (void)context;
    if (!gl_span_is(id, "item/" UUID))
        return false;
    gl_buf_add_text(out, "H-014, left");
    return true;
}

static const struct typed {
    const char *type, *field, *typed;
    const char *json;  /* or */
    const char *rule;  /* that refuses it */
    const char *shown; /* NULL: as typed */
} typed[] = {
    {"item", "currency", "eur", "\"EUR\"", .shown = "EUR"},
    {"valuation", "currency", "Sek", "\"SEK\"", .shown = "SEK"},
    {"valuation", "currency", "GBP", "\"GBP\"", NULL, NULL},
    {"valuation", "currency", "thalers", "\"thalers\"", NULL, NULL},
    {"valuation", "currency", "e€", "\"e€\"", NULL, NULL},
    {"item", "note", "eur", "\"eur\"", NULL, NULL},
    /* text */
    {"item", "note", "Kingfisher", "\"Kingfisher\"", NULL, NULL},
    {"item", "note", "  a \"quoted\"\r\nword\r\tand\ta tab \n", "\"a \\\"quoted\\\"\\nword\\n and a tab\"",
     NULL, "a \"quoted\"\nword\n and a tab"},
    {"item", "note", "Cafe\xCC\x81", "\"Caf\xC3\xA9\"", NULL, "Caf\xC3\xA9"}, /* NFC */
    {"item", "note", "a, b", "\"a, b\"", NULL, NULL},
    {"item", "note", "a\x07", NULL, "R027", NULL},
    {"item", "note", "a\xC2\x85", NULL, "R027", NULL}, /* U+0085 */
    {"item", "note", "a\xFF", NULL, "R027", NULL},
    {"item", "note", " \n ", NULL, "R025", NULL},
    {NULL, NULL, "own words", "\"own words\"", NULL, NULL}, /* a field that the table does not know */
    /* integer */
    {"mark", "visibility", "80", "80", NULL, NULL},
    {"mark", "visibility", " 100 ", "100", NULL, "100"},
    {"mark", "visibility", "101", NULL, "R023", NULL},
    {"mark", "visibility", "-1", NULL, "R023", NULL},
    {"mark", "visibility", "80%", NULL, "R023", NULL},
    {"mark", "visibility", "8.5", NULL, "R023", NULL},
    {"mark", "visibility", "9999999999999999999", NULL, "R023", NULL},
    {"mark", "x", "-45", "-45", NULL, NULL},
    {"valuation", "amount_minor", "9007199254740991", "9007199254740991", NULL, NULL},
    {"valuation", "amount_minor", "9007199254740992", NULL, "R023", NULL},
    {"stamp", "gauge_top", "1425", "1425", NULL, "14.25"},
    {"stamp", "gauge_top", "14.25", "1425", NULL, NULL},
    {"stamp", "gauge_top", "14,5", "1450", NULL, "14.50"},
    {"stamp", "gauge_top", "14.0", "1400", NULL, "14.00"},
    {"stamp", "gauge_top", "14", NULL, "R023", NULL}, /* 0.14 of a hole */
    {"stamp", "gauge_top", "14.125", NULL, "R023", NULL},
    {"stamp", "gauge_top", "14.", NULL, "R023", NULL},
    {"stamp", "gauge_top", "14.-5", NULL, "R023", NULL},
    {"stamp", "gauge_top", "14.-0", NULL, "R023", NULL},
    {"stamp", "gauge_top", ".5", NULL, "R023", NULL},
    {"scan", "dpi_x", "-0.50", NULL, "R023", NULL},
    {"scan", "dpi_x", "1200.0", "120000", NULL, "1200.00"},
    {"scan", "dpi_x", "999999999999999999.0", NULL, "R023", NULL},
    /* truth */
    {"claim", "blind", "Yes", "true", NULL, "yes"},
    {"claim", "blind", "false", "false", NULL, "no"},
    {"claim", "blind", "1", "true", NULL, "yes"},
    {"claim", "blind", "-1", NULL, "R020", NULL},
    {"claim", "blind", "perhaps", NULL, "R020", NULL},
    /* date: all forms are tested in the base layer */
    {"marking", "on", "1860-03-14", "\"1860-03-14\"", NULL, NULL},
    {"marking", "on", "14 Mar 1860", "\"1860-03-14\"", NULL, "1860-03-14"},
    {"marking", "on", "about 1860", "\"1860~\"", NULL, "1860~"},
    {"marking", "on", "3/4/1860", NULL, "R022", NULL},
    {"marking", "on", "once", NULL, "R022", NULL},
    /* choice */
    {"claim", "confidence", "probable", "\"probable\"", NULL, NULL},
    {"mark", "cause", "Re-entry", "\"re_entry\"", NULL, "re_entry"},
    {"mark", "appearance", "guide line", "\"guide_line\"", NULL, "guide_line"},
    {"mark", "appearance", "GUIDELINE", "\"guide_line\"", NULL, "guide_line"},
    {"claim", "confidence", "prob", NULL, "R021", NULL},
    /* ref */
    {"stamp", "item", "H-014, left", "\"item/" UUID "\"", NULL, NULL},
    {"claim", "plates", "1", "[\"plate/" UUID2 "\"]", NULL, "plate/" UUID2},
    {"stamp", "item", "H-015", NULL, "R034", NULL},
    /* expression */
    {"claim", "positions", "  row 3-10\n  and  column 4,\t64 ", "\"row 3-10 and column 4, 64\"", NULL,
     "row 3-10 and column 4, 64"},
    {"claim", "positions", "  ", NULL, "R025", NULL},
    /* hex */
    {"event", "digest", HEX64, "\"" HEX64 "\"", NULL, NULL},
    {"event", "digest", "0123456789ABCDEF0123456789abcdef0123456789abcdef0123456789ABCDEF", "\"" HEX64 "\"",
     NULL, HEX64},
    {"event", "digest", "0123", NULL, "R024", NULL},
    /* texts */
    {"stamp", "varieties", "a,b , c", "[\"a\",\"b\",\"c\"]", NULL, "a, b, c"},
    {"stamp", "varieties", "a\\ , b", "[\"a\",\"b\"]", NULL, "a, b"},
    {"stamp", "varieties", "a\\, b, c\\\\d", "[\"a, b\",\"c\\\\d\"]", NULL, "a\\, b, c\\\\d"},
    {"stamp", "varieties", "only", "[\"only\"]", NULL, NULL},
    {"stamp", "varieties", "a,,b", NULL, "R025", NULL},
    {"stamp", "varieties", "a,", NULL, "R025", NULL},
    {"stamp", "varieties", " ", NULL, "R025", NULL},
    /* choices: a set */
    {"stamp", "selvedge", "bottom, left, bottom", "[\"left\",\"bottom\"]", NULL, "left, bottom"},
    {"stamp", "selvedge", "LEFT", "[\"left\"]", NULL, "left"},
    {"stamp", "selvedge", "left, middle", NULL, "R021", NULL},
    {"stamp", "selvedge", "", NULL, "R025", NULL},
    /* refs */
    {"selection", "items", "H-014\\, left, H-014\\, left", "[\"item/" UUID "\",\"item/" UUID "\"]", NULL,
     NULL},
    {"selection", "items", "H-014\\, left, nothing", NULL, "R034", NULL},
    {"selection", "items", "", NULL, "R025", NULL},
    /* region */
    {"marking", "region", "10,20,300,200", "[10,20,300,200]", NULL, "10, 20, 300, 200"},
    {"marking", "region", "0, 0, 1, 1", "[0,0,1,1]", NULL, NULL},
    {"marking", "region", "10,20,300", NULL, "R026", NULL},
    {"marking", "region", "10,20,300,200,5", NULL, "R026", NULL},
    {"marking", "region", "10,20,0,200", NULL, "R026", NULL},
    {"marking", "region", "-1,20,300,200", NULL, "R026", NULL},
    {"marking", "region", "10,20,wide,200", NULL, "R026", NULL},
};

/* Canonical JSON as glassine_value wants it. */
static void check_shown(const glassine_field_info *info, gl_span value, const char *expected) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_value_show(info, value, name_of, NULL, &shown);
    assert_string_equal(shown.text, expected);
    gl_buf_free(&shown);
}

static void check_typed(const struct typed *t) {
    const glassine_field_info *info = t->type ? field_of(t->type, t->field) : NULL;
    gl_buf out = GL_BUF_EMPTY;
    glassine_error error = {0};
    gl_buf_add_text(&out, "before ");
    glassine_status status = gl_value_parse(info, gl_span_of(t->typed), resolve, NULL, &out, &error);
    gl_span made = gl_span_part(gl_buf_span(&out), 7, SIZE_MAX);
    if (t->json) {
        assert_int_equal(status, GLASSINE_OK);
        assert_string_equal(made.text, t->json);
        check_shown(info, made, t->shown ? t->shown : t->typed);
    } else {
        assert_int_equal(status, GLASSINE_REFUSED);
        assert_string_equal(error.rule, t->rule);
        assert_string_equal(out.text, "before ");
        assert_true(gl_span_starts(gl_span_of(error.place), gl_span_of(t->field)));
        assert_true(error.message[0] != '\0');
    }
    gl_buf_free(&out);
}

static void test_typed(void **state) {
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(typed); i++)
        check_typed(&typed[i]);
}

/* The line that people get names the field and what they typed. */
static void test_error_line(void **state) {
    (void)state;
    gl_buf out = GL_BUF_EMPTY;
    glassine_error error = {0};
    char line[1024];
    assert_int_equal(gl_value_parse(field_of("mark", "visibility"), GL_SPAN("131"), NULL, NULL, &out, &error),
                     GLASSINE_REFUSED);
    glassine_error_line(&error, line, sizeof line);
    assert_true(gl_span_starts(gl_span_of(line),
                               GL_SPAN("visibility \"131\": must be from 0 to 100 per cent (R023)")));
    assert_int_equal(gl_value_parse(field_of("item", "kind"), GL_SPAN("envelope"), NULL, NULL, &out, &error),
                     GLASSINE_REFUSED);
    assert_non_null(strstr(error.message, "single, pair, strip"));
    assert_int_equal(gl_value_parse(field_of("mark", "visibility"), GL_SPAN("131"), NULL, NULL, &out, NULL),
                     GLASSINE_REFUSED);
    gl_buf_free(&out);
}

/* What stands in a bundle, whoever wrote it. */
static void test_faults(void **state) {
    static const struct {
        const char *type, *field, *value, *rule; /* rule NULL: it fits */
    } cases[] = {
        {"item", "label", "\"H-014\"", NULL},
        {"item", "label", "\"\"", "R025"},
        {"item", "label", "14", "R020"},
        {"item", "label", "[\"H-014\"]", "R020"},
        {"item", "label", "{\"a\":\"b\"}", "R020"},
        {"item", "kind", "\"cover\"", NULL},
        {"item", "kind", "\"Cover\"", "R021"},
        {"item", "kind", "true", "R020"},
        {"stamp", "row", "1", NULL},
        {"stamp", "row", "0", "R023"},
        {"stamp", "row", "1001", "R023"},
        {"stamp", "row", "\"1\"", "R020"},
        {"stamp", "set_aside", "false", NULL},
        {"stamp", "set_aside", "0", "R020"},
        {"marking", "on", "\"1860-03\"", NULL},
        {"marking", "on", "\"14 Mar 1860\"", "R022"},
        {"marking", "on", "\"1860-02-30\"", "R022"},
        {"marking", "on", "1860", "R020"},
        {"stamp", "item", "\"item/" UUID "\"", NULL},
        {"stamp", "item", "\"stamp/" UUID "\"", "R031"},
        {"stamp", "item", "\"item/" UUID "/" UUID "\"", "R030"},
        {"stamp", "item", "\"item/0190C3A2-7b1e-4f00-8a00-000000000001\"", "R030"},
        {"stamp", "item", "\"H-014\"", "R030"},
        {"stamp", "item", "\"item/\"", "R030"},
        {"claim", "basis", "[\"anything/" UUID "\"]", NULL},
        {"claim", "basis", "[]", "R025"},
        {"claim", "basis", "\"claim/" UUID "\"", "R020"},
        {"claim", "basis", "[1]", "R020"},
        {"match", "stamps", "[\"stamp/" UUID "\",\"stamp/" UUID2 "\"]", NULL},
        {"match", "stamps", "[\"stamp/" UUID "\"]", "R025"},
        {"match", "stamps", "[\"stamp/" UUID "\",\"stamp/" UUID2 "\",\"stamp/" UUID "\"]", "R025"},
        {"join", "records", "[\"plate/" UUID "\"]", "R025"},
        {"join", "records", "[\"plate/" UUID "\",\"plate/" UUID2 "\",\"plate/" UUID "\"]", NULL},
        {"stamp", "selvedge", "[\"left\"]", NULL},
        {"stamp", "selvedge", "[\"inside\"]", "R021"},
        {"stamp", "selvedge", "\"left\"", "R020"},
        {"stamp", "varieties", "[\"a\",\"\"]", "R025"},
        {"scan", "sha256", "\"" HEX64 "\"", NULL},
        {"scan", "sha256", "\"" HEX64 "00\"", "R024"},
        {"marking", "region", "[0,0,1,1]", NULL},
        {"marking", "region", "[0,0,0,1]", "R026"},
        {"marking", "region", "[0,0,1]", "R026"},
        {"marking", "region", "[0,0,1,1,1]", "R026"},
        {"marking", "region", "[0,0,\"1\",1]", "R026"},
        {"marking", "region", "\"0,0,1,1\"", "R026"},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        const char *rule = NULL;
        const char *what =
            gl_value_fault(field_of(cases[i].type, cases[i].field), gl_span_of(cases[i].value), &rule);
        if (cases[i].rule) {
            assert_non_null(what);
            assert_string_equal(rule, cases[i].rule);
        } else {
            assert_null(what);
        }
    }
    assert_null(gl_value_fault(NULL, GL_SPAN("{}"), NULL));
    assert_null(gl_value_fault(field_of("item", "label"), GL_NO_SPAN, NULL));
    assert_non_null(gl_value_fault(field_of("item", "label"), GL_SPAN("1"), NULL));
}

/* Values that do not fit their field are shown as they stand. */
static void test_shown_anyway(void **state) {
    (void)state;
    check_shown(field_of("item", "label"), GL_SPAN("14"), "14");
    check_shown(field_of("stamp", "gauge_top"), GL_SPAN("\"14\\u00bd\""), "14\xC2\xBD");
    check_shown(field_of("stamp", "gauge_top"), GL_SPAN("-5"), "-5");
    check_shown(field_of("stamp", "row"), GL_SPAN("[1,true,\"a,b\"]"), "1, yes, a\\,b");
    check_shown(NULL, GL_SPAN("{\"a\":1}"), "{\"a\":1}");
    check_shown(field_of("stamp", "item"), GL_SPAN("7"), "7");
}

static void test_record_id(void **state) {
    static const struct {
        const char *id;
        bool well_formed;
    } cases[] = {
        {"plate_state/" UUID, true},  {"plate_state/", false},    {"/" UUID, false},       {UUID, false},
        {"Plate/" UUID, false},       {"plate/" UUID " ", false}, {"plate//" UUID, false}, {"", false},
        {"plate-state/" UUID, false},
    };
    gl_span type, uuid;
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++)
        assert_int_equal(gl_record_id_split(gl_span_of(cases[i].id), &type, &uuid), cases[i].well_formed);
    assert_true(gl_record_id_split(gl_span_of(cases[0].id), &type, &uuid));
    assert_true(gl_span_is(type, "plate_state") && gl_span_is(uuid, UUID));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_typed),        cmocka_unit_test(test_error_line), cmocka_unit_test(test_faults),
        cmocka_unit_test(test_shown_anyway), cmocka_unit_test(test_record_id),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
