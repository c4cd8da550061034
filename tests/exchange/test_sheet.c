/* Reply sheets (spec/reply-sheet.md): what each version becomes, that taking one in twice or an earlier one
 * later changes nothing, and every reason for which one is refused whole. */
#include "exchange/support.h"

#include "exchange/derived.h"

#define UUID(n) "00000000-0000-4000-8000-0000000000" n
#define KEEPER "contributor/" UUID("0a")
#define SPECIALIST "contributor/" UUID("0b")
#define EVENT "event/" UUID("e1")
#define BUNDLE UUID("52")
#define SHEET UUID("51")

static void enter(glassine_draft *draft, const char *id, const glassine_assignment *fields, size_t count) {
    glassine_record *record;
    MUST(gl_draft_enter_as(draft, id, fields, count, &record, &error));
}

#define ENTER(id, ...)                                                                                       \
    do {                                                                                                     \
        const glassine_assignment fields_[] = {__VA_ARGS__};                                                 \
        enter(make.draft, id, fields_, COUNT(fields_));                                                      \
    } while (0)

/* Three stamps, two of which were asked about; two plates with a state each. */
static const char *make_bundle(void) {
    static char path[256];
    snprintf(path, sizeof path, "%s", in_folder("asked.glassine"));
    gl_make make;
    gl_about about = {.keeper = (char *)KEEPER, .title = (char *)"Sorrel Islands"};
    unlink(path);
    setenv("SOURCE_DATE_EPOCH", "1772359200", 1);
    MUST(gl_make_new(&make, path, &about, &error));
    ENTER(KEEPER, {"name", "Wren Alderby", NULL});
    ENTER(SPECIALIST, {"name", "Odile Farrow", NULL});
    ENTER("design/" UUID("d1"), {"label", "KF", NULL});
    ENTER("plate/" UUID("f1"), {"label", "1", NULL}, {"design", "KF", NULL}, {"rows", "12", NULL},
          {"columns", "10", NULL});
    ENTER("plate/" UUID("f2"), {"label", "2", NULL}, {"design", "KF", NULL}, {"rows", "2", NULL},
          {"columns", "2", NULL});
    ENTER("plate_state/" UUID("a1"), {"plate", "1", NULL}, {"name", "early", NULL}, {"order", "1", NULL});
    ENTER("plate_state/" UUID("a2"), {"plate", "2", NULL}, {"name", "late", NULL}, {"order", "1", NULL});
    ENTER("item/" UUID("21"), {"label", "H-001", NULL});
    ENTER("stamp/" UUID("31"), {"item", "H-001", NULL}, {"design", "KF", NULL});
    ENTER("stamp/" UUID("32"), {"item", "H-001", NULL}, {"design", "KF", NULL});
    ENTER("stamp/" UUID("33"), {"item", "H-001", NULL}, {"design", "KF", NULL});
    ENTER(EVENT, {"kind", "sent", NULL}, {"items", "H-001", NULL},
          {"stamps", "stamp/" UUID("31") ",stamp/" UUID("32"), NULL}, {"contributor", SPECIALIST, NULL},
          {"on", "2026-03-01", NULL});
    ENTER("event/" UUID("e2"), {"kind", "exhibited", NULL}, {"items", "H-001", NULL});
    MUST(glassine_draft_save(make.draft, "asked", &error));
    MUST(gl_make_publish(&make, false, &error));
    gl_make_free(&make);
    return path;
}

/* What the last merge told, as JSON. */
static gl_buf told_last = GL_BUF_EMPTY;

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

static glassine_status merge(const char *path, const char *text, glassine_error *told) {
    const char *source = in_folder("sheet.json");
    *told = (glassine_error){0};
    unlink(source);
    assert_int_equal(gl_file_write_all(source, gl_span_of(text), true), 0);
    saying_session session = {.bundle = opened(path, GLASSINE_WRITE)};
    MUST(glassine_draft_new(session.bundle, KEEPER, NULL, &session.draft, &error));
    glassine_report *report = glassine_report_new("merge");
    const glassine_merge_options options = {0};
    glassine_status status = glassine_merge(session.draft, &source, 1, &options, report, told);
    gl_buf_free(&told_last);
    assert_int_equal(glassine_report_json(report, gather, &told_last), 0);
    glassine_report_free(report);
    glassine_draft_free(session.draft);
    glassine_bundle_close(session.bundle);
    return status;
}

#define HEAD_OF(answers)                                                                                     \
    "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" SHEET "\",\"bundle\":\"" BUNDLE "\"," answers    \
    "\"by\":\"" SPECIALIST "\",\"via\":\"" KEEPER "\",\"made\":\"2026-03-05T10:00:00Z\",\"given\":["
#define HEAD HEAD_OF("\"answers\":\"" EVENT "\",")
#define ANSWER(number, record, stamp, versions)                                                              \
    "{\"number\":" number ",\"record\":\"" record                                                            \
    "\",\"stamp\":\"stamp/" UUID(stamp) "\",\"versions\":[" versions "]}"
#define AT "\"at\":\"2026-03-05T10:00:00Z\""
#define LATER "\"at\":\"2026-03-06T10:00:00Z\""
#define GOOD_CLAIM                                                                                           \
    ANSWER("1", "claim", "31",                                                                               \
           "{" AT                                                                                            \
           ",\"plates\":[\"plate/" UUID("f1") "\"],\"positions\":\"64\",\"state\":\"plate_state/" UUID(      \
               "a1") "\",\"confidence\":\"certain\",\"remark\":\"e\xcc\x81\"}")
#define GOOD_REST                                                                                            \
    ANSWER("2", "opinion", "32", "{" AT ",\"about\":\"cannot tell\",\"text\":\"too heavily cancelled\"}")    \
    "," ANSWER("4", "observation", "31",                                                                     \
               "{" AT ",\"appearance\":\"dot\",\"x\":20,\"y\":500,\"seen\":\"present\",\"text\":\"a dot\"}")
#define GOOD HEAD GOOD_CLAIM "," GOOD_REST "]}"

static glassine_record *record_of(glassine_bundle *bundle, const char *number, const char *type) {
    char name[128], id[GL_DERIVED_SIZE];
    snprintf(name, sizeof name, "sheet\n" SHEET "\n%s\n%s", number, type);
    assert_true(gl_derived_id(type, gl_span_of(name), id));
    glassine_record *record = glassine_bundle_record(bundle, gl_span_of(id), gl_span_of(SPECIALIST));
    assert_non_null(record);
    return record;
}

static void says(glassine_bundle *bundle, glassine_record *record, const char *field, const char *value) {
    assert_string_equal(span_text(glassine_record_text(bundle, record, field)), value);
}

static void test_what_it_becomes(void **state) {
    (void)state;
    const char *path = make_bundle();
    MUST(merge(path, GOOD, &error));
    uint64_t length = file_length(path);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_record *claim = record_of(bundle, "1", "claim");
    says(bundle, claim, "positions", "64");
    says(bundle, claim, "confidence", "certain");
    says(bundle, claim, "remark", "\xc3\xa9"); /* NFC */
    says(bundle, record_of(bundle, "2", "opinion"), "about", "cannot tell");
    glassine_record *seen = record_of(bundle, "4", "observation");
    says(bundle, seen, "appearance", "dot");
    says(bundle, seen, "text", "a dot");
    glassine_bundle_close(bundle);
    MUST(merge(path, GOOD, &error));
    assert_int_equal(file_length(path), length);
    MUST(merge(path, "\xef\xbb\xbf\n " GOOD, &error)); /* with a byte order mark */
    assert_int_equal(file_length(path), length);
}

/* The same sheet saved again: an answer corrected, one taken back, a field that is said no more. */
#define CORRECTED                                                                                            \
    HEAD ANSWER(                                                                                             \
        "1", "claim", "31",                                                                                  \
        "{" AT ",\"plates\":[\"plate/" UUID("f1") "\"],\"positions\":\"64\",\"state\":\"plate_state/" UUID(  \
            "a1") "\",\"confidence\":\"certain\",\"remark\":\"e\xcc\x81\"},{" LATER                          \
                  ",\"positions\":\"65\",\"blind\":true}") "," ANSWER("2", "opinion", "32",                  \
                                                                      "{" AT ",\"about\":\"cannot "          \
                                                                      "tell\",\"text\":\"too "               \
                                                                      "heavily cancelled\"},"                \
                                                                      "{" LATER ",\"about\":\"cannot "       \
                                                                      "tell\",\"text\":\"too "               \
                                                                      "heavily "                             \
                                                                      "cancelled\",\"withdrawn\":"           \
                                                                      "true}") "," ANSWER("4",               \
                                                                                          "observati"        \
                                                                                          "on",              \
                                                                                          "31",              \
                                                                                          "{" AT ",\"appear" \
                                                                                          "ance\":"          \
                                                                                          "\"dot\","         \
                                                                                          "\"x\":20,"        \
                                                                                          "\"y\":"           \
                                                                                          "500,"             \
                                                                                          "\"seen\":"        \
                                                                                          "\"present"        \
                                                                                          "\","              \
                                                                                          "\"text\":"        \
                                                                                          "\"a "             \
                                                                                          "dot\"},"          \
                                                                                          "{" LATER          \
                                                                                          ",\"appear"        \
                                                                                          "ance\":"          \
                                                                                          "\"dot\","         \
                                                                                          "\"withdra"        \
                                                                                          "wn\":"            \
                                                                                          "true}") "]}"

static void test_saved_again(void **state) {
    (void)state;
    char digests[2][GL_HEX_SIZE];
    for (int order = 0; order < 2; order++) {
        const char *path = make_bundle();
        MUST(merge(path, order ? CORRECTED : GOOD, &error));
        uint64_t length = file_length(path);
        MUST(merge(path, order ? GOOD : CORRECTED, &error));
        if (order)
            assert_int_equal(file_length(path), length); /* the earlier one after the later one */
        glassine_bundle *bundle = opened(path, GLASSINE_READ);
        glassine_record *claim = record_of(bundle, "1", "claim");
        says(bundle, claim, "positions", "65");
        says(bundle, claim, "confidence", "");
        says(bundle, claim, "remark", "");
        glassine_bundle_digest(bundle, digests[order]);
        glassine_bundle_close(bundle);
    }
    assert_string_equal(digests[0], digests[1]);
}

/* Two browsers make two sheets: both stand, in either order, and where they differ it is told. */
#define OTHER_SHEET                                                                                          \
    "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" UUID(                                            \
        "5a") "\",\"bundle\":\"" BUNDLE "\",\"answers\":\"" EVENT "\",\"by\":\"" SPECIALIST                  \
              "\",\"via\":\"" KEEPER "\",\"made\":\"2026-03-06T10:00:00Z\",\"given\":["

static void test_two_sheets(void **state) {
    static const char *const differing =
        "says two things of it, and both stand: first \\\"plate 1: 64, early, "
        "certain; \xc3\xa9\\\", then \\\"cannot tell: in two minds\\\"";
    static const char other[] =
        OTHER_SHEET ANSWER("1", "opinion", "31",
                           "{" LATER ",\"about\":\"cannot tell\",\"text\":\"in two "
                           "minds\"}") "," ANSWER("2", "opinion", "32",
                                                  "{" LATER ",\"about\":\"cannot tell\","
                                                  "\"text\":\"too heavily cancelled\"}") "]}";
    (void)state;
    char digests[2][GL_HEX_SIZE];
    for (int order = 0; order < 2; order++) {
        const char *path = make_bundle();
        MUST(merge(path, order ? other : GOOD, &error));
        assert_null(strstr(told_last.text, "two things"));
        MUST(merge(path, order ? GOOD : other, &error));
        char *found = strstr(told_last.text, differing);
        assert_non_null(found);
        assert_null(strstr(found + strlen(differing),
                           "two things")); /* not of the stamp of which both say the same */
        glassine_bundle *bundle = opened(path, GLASSINE_READ);
        glassine_bundle_digest(bundle, digests[order]);
        glassine_bundle_close(bundle);
        MUST(merge(path, other, &error));
        assert_null(strstr(told_last.text, "two things"));
    }
    assert_string_equal(digests[0], digests[1]);
    gl_buf_free(&told_last);
}

/* No event: the page of the bundle itself; and nothing given, which says nothing. */
static void test_own_page(void **state) {
    (void)state;
    const char *path = make_bundle();
    char text[2048];
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    snprintf(text, sizeof text, "%s",
             HEAD_OF("") ANSWER("1", "claim", "33", "{" AT ",\"positions\":\"1\"}") "]}");
    memcpy(strstr(text, BUNDLE), bundle->about.uuid, strlen(BUNDLE));
    glassine_bundle_close(bundle);
    MUST(merge(path, text, &error));
    uint64_t length = file_length(path);
    MUST(merge(path, HEAD "]}", &error));
    assert_int_equal(file_length(path), length);
}

#define ONE(record, stamp, version) HEAD ANSWER("1", record, stamp, "{" AT version "}") "]}"

static const struct {
    const char *what, *rule, *word, *text;
} REFUSED[] = {
    {"no document", "", "no whole JSON document", "{\"format\":"},
    {"a member twice", "", "no whole JSON document", "{\"format\":\"a\",\"format\":\"b\"}"},
    {"another format", "", "does not say that it is", "{\"format\":\"a shopping list\"}"},
    {"no bundle", "", "which sheet it is",
     "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" SHEET "\"}"},
    {"another bundle's page", "", "another bundle", HEAD_OF("") "]}"},
    {"an event that is not there", "", "not sent out of this bundle",
     HEAD_OF("\"answers\":\"event/" UUID("ee") "\",") "]}"},
    {"an event of another kind", "", "not sent out of this bundle",
     HEAD_OF("\"answers\":\"event/" UUID("e2") "\",") "]}"},
    {"no author", "R030", "names no contributor",
     "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" SHEET "\",\"bundle\":\"" BUNDLE
     "\",\"answers\":\"" EVENT "\"}"},
    {"an author who is not here", "R032", "not in this bundle",
     "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" SHEET "\",\"bundle\":\"" BUNDLE
     "\",\"answers\":\"" EVENT "\",\"by\":\"contributor/" UUID("0c") "\"}"},
    {"through nobody", "R030", "\"via\" names no contributor",
     "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" SHEET "\",\"bundle\":\"" BUNDLE
     "\",\"answers\":\"" EVENT "\",\"by\":\"" SPECIALIST "\",\"via\":\"item/" UUID("21") "\"}"},
    {"no time", "", "when it was made",
     "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" SHEET "\",\"bundle\":\"" BUNDLE
     "\",\"answers\":\"" EVENT "\",\"by\":\"" SPECIALIST "\",\"made\":\"yesterday\"}"},
    {"no answers", "", "no list of answers",
     "{\"format\":\"glassine reply sheet 1.0\",\"sheet\":\"" SHEET "\",\"bundle\":\"" BUNDLE
     "\",\"answers\":\"" EVENT "\",\"by\":\"" SPECIALIST
     "\",\"made\":\"2026-03-05T10:00:00Z\",\"given\":{}}"},
    {"numbers out of order", "", "out of order",
     HEAD ANSWER("2", "opinion", "31", "{" AT ",\"text\":\"a\"}") "," ANSWER("2", "opinion", "31",
                                                                             "{" AT ",\"text\":\"b\"}") "]}"},
    {"no number", "", "out of order", HEAD "{\"record\":\"claim\"}]}"},
    {"a number too large", "", "has no number",
     HEAD ANSWER("9007199254740992", "claim", "31", "{" AT "}") "]}"},
    {"another type", "R010", "no claim, opinion or observation", ONE("item", "31", "")},
    {"a stamp that is not there", "R032", "a stamp that is not in this bundle", ONE("claim", "39", "")},
    {"no stamp", "R032", "a stamp that is not in this bundle",
     HEAD "{\"number\":1,\"record\":\"claim\",\"stamp\":\"item/" UUID("21") "\"}]}"},
    {"a stamp that was not asked about", "", "was not asked about", ONE("claim", "33", "")},
    {"no versions", "", "says nothing", HEAD ANSWER("1", "claim", "31", "") "]}"},
    {"versions that are none", "", "no list of what it says", HEAD ANSWER("1", "claim", "31", "7") "]}"},
    {"a version without time", "", "when it was given",
     HEAD ANSWER("1", "claim", "31", "{\"positions\":\"1\"}") "]}"},
    {"versions out of order", "", "out of order",
     HEAD ANSWER("1", "claim", "31", "{" LATER ",\"positions\":\"1\"},{" AT ",\"positions\":\"2\"}") "]}"},
    {"a field of another type", "R011", "nothing that it can say", ONE("claim", "31", ",\"text\":\"x\"")},
    {"a field that programs write", "R011", "nothing that it can say",
     ONE("claim", "31", ",\"set_aside\":true")},
    {"taken back by a word", "R011", "nothing that it can say", ONE("claim", "31", ",\"withdrawn\":\"yes\"")},
    {"a plate that is not there", "R032", "a plate that is not in this bundle",
     ONE("claim", "31", ",\"plates\":[\"plate/" UUID("f9") "\"]")},
    {"a stamp for a plate", "R032", "a plate that is not in this bundle",
     ONE("claim", "31", ",\"plates\":[\"stamp/" UUID("31") "\"]")},
    {"a number for a plate", "R032", "a plate that is not in this bundle",
     ONE("claim", "31", ",\"plates\":[1]")},
    {"positions that are none", "R200", "positions",
     ONE("claim", "31", ",\"plates\":[\"plate/" UUID("f1") "\"],\"positions\":\"here\"")},
    {"positions of a larger plate", "R2", "positions",
     ONE("claim", "31", ",\"plates\":[\"plate/" UUID("f2") "\"],\"positions\":\"64\"")},
    {"a state of another plate", "R212", "a state of another plate",
     ONE("claim", "31", ",\"plates\":[\"plate/" UUID("f1") "\"],\"state\":\"plate_state/" UUID("a2") "\"")},
    {"a state that is not there", "R032", "names what is not in this bundle",
     ONE("claim", "31", ",\"state\":\"plate_state/" UUID("a9") "\"")},
    {"a scan that is not there", "R032", "names what is not in this bundle",
     ONE("observation", "31", ",\"scan\":\"scan/" UUID("c9") "\"")},
    {"a choice that is none", "R02", "confidence", ONE("claim", "31", ",\"confidence\":\"quite\"")},
    {"a fraction", "R027", "no value of this format", ONE("observation", "31", ",\"x\":1.5")},
    {"a number too large for a value", "R027", "no value of this format",
     ONE("observation", "31", ",\"x\":9007199254740992")},
    {"an object for a value", "R027", "no value of this format", ONE("opinion", "31", ",\"text\":{\"a\":1}")},
    {"lists in a list", "R027", "no value of this format", ONE("claim", "31", ",\"remark\":[[1]]")},
    {"a control character", "R027", "no value of this format",
     ONE("opinion", "31", ",\"text\":\"a\\u0007\"")},
    {"a text for a truth", "R02", "blind", ONE("claim", "31", ",\"blind\":\"no\"")},
};

static void test_refused(void **state) {
    (void)state;
    const char *path = make_bundle();
    uint64_t length = file_length(path);
    for (size_t i = 0; i < COUNT(REFUSED); i++) {
        glassine_error told;
        glassine_status status = merge(path, REFUSED[i].text, &told);
        if (status != GLASSINE_REFUSED || strncmp(told.rule, REFUSED[i].rule, strlen(REFUSED[i].rule)) != 0 ||
            (!REFUSED[i].rule[0] && told.rule[0]) || !strstr(told.message, REFUSED[i].word) ||
            !told.remedy[0])
            fail_msg("%s: %d, (%s) %s: %s. %s", REFUSED[i].what, status, told.rule, told.place, told.message,
                     told.remedy);
        assert_int_equal(file_length(path), length);
    }
}

/* An answer too many, a version too many, a member too many: the numbers of the page. */
static void test_limits(void **state) {
    (void)state;
    const char *path = make_bundle();
    static const struct {
        size_t most;
        const char *before, *each, *behind, *word;
    } limits[] = {
        {20000, HEAD "0", ",0", "]}", "too long a one"},
        {1000,
         HEAD "{\"number\":1,\"record\":\"claim\",\"stamp\":\"stamp/" UUID("31") "\",\"versions\":[{" AT "}",
         ",{" AT "}", "]}]}", "says nothing"},
    };
    for (size_t i = 0; i < COUNT(limits); i++) {
        glassine_error told;
        gl_buf text = GL_BUF_EMPTY;
        gl_buf_add_text(&text, limits[i].before);
        for (size_t k = 0; k < limits[i].most; k++)
            gl_buf_add_text(&text, limits[i].each);
        gl_buf_add_text(&text, limits[i].behind);
        assert_int_equal(merge(path, text.text, &told), GLASSINE_REFUSED);
        if (!strstr(told.message, limits[i].word))
            fail_msg("%s", told.message);
        gl_buf_free(&text);
    }
    char members[1024] = "";
    for (int i = 0; i < 32; i++)
        snprintf(members + strlen(members), sizeof members - strlen(members), ",\"m%d\":1", i);
    char text[2048];
    glassine_error told;
    snprintf(text, sizeof text,
             HEAD "{\"number\":1,\"record\":\"claim\",\"stamp\":\"stamp/" UUID("31") "\",\"versions\":[{" AT
                                                                                     "%s}]}]}",
             members);
    assert_int_equal(merge(path, text, &told), GLASSINE_REFUSED);
    assert_non_null(strstr(told.message, "no list of what it says"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_it_becomes), cmocka_unit_test(test_saved_again),
        cmocka_unit_test(test_two_sheets),      cmocka_unit_test(test_own_page),
        cmocka_unit_test(test_refused),         cmocka_unit_test(test_limits),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
