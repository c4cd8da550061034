/* A dispatch that is answered with a scan: the reply brings it, once, with what is said of it, and the merge
 * takes both. */
#include "exchange/support.h"

static const char SCAN[] = "\x89PNG\r\n\x1A\n the back, as she scanned it";

static char odile[80]; /* contributor/UUID */

static void enter(glassine_draft *draft, const char *type, const glassine_assignment *fields, size_t count,
                  glassine_record **record) {
    MUST(glassine_draft_enter(draft, type, fields, count, NULL, record, &error));
}

static const char *keepers(void) {
    return in_folder("sorrel.glassine");
}

static const char *hers(void) {
    return in_folder("for-odile.glassine");
}

static int send_it(void **state) {
    if (make_folder(state))
        return -1;
    glassine_record *record;
    MUST(glassine_bundle_make(keepers(), "Sorrel Islands", "Wren Alderby", &error));
    saying_session session = begin_saying(keepers(), NULL);
    enter(session.draft, "contributor", &(glassine_assignment){"name", "Odile Farrow", NULL}, 1, &record);
    snprintf(odile, sizeof odile, "%s", span_text(glassine_record_id(session.bundle, record)));
    enter(session.draft, "item", &(glassine_assignment){"label", "H-1", NULL}, 1, &record);
    end_saying(&session);
    session = begin_saying(keepers(), NULL);
    const glassine_dispatch_options options = {
        .to = "Odile Farrow", .items = (const char *[]){"H-1"}, .item_count = 1};
    MUST(glassine_dispatch(session.draft, &options, hers(), NULL, &error));
    glassine_draft_free(session.draft);
    glassine_bundle_close(session.bundle);
    return 0;
}

static glassine_record *item_of(glassine_bundle *bundle) {
    glassine_record *item;
    MUST(glassine_bundle_find(bundle, "item", "H-1", &item, &error));
    return item;
}

static int add_bytes(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

/* A scan of this digest has these bytes. */
static void check_bytes(glassine_bundle *bundle, const char *sha256) {
    gl_buf bytes = GL_BUF_EMPTY;
    MUST(glassine_scan_read(bundle, sha256, add_bytes, &bytes, &error));
    assert_int_equal(bytes.length, sizeof SCAN - 1);
    assert_memory_equal(bytes.text, SCAN, sizeof SCAN - 1);
    gl_buf_free(&bytes);
}

/* The item has one scan, with what was said of it. */
static void check_scan(const char *path) {
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_record *const *list;
    size_t count;
    MUST(glassine_record_referrers(bundle, item_of(bundle), "scan", false, &list, &count, &error));
    assert_int_equal(count, 1);
    assert_string_equal(span_text(glassine_record_text(bundle, list[0], "caption")), "back");
    check_bytes(bundle, span_text(glassine_record_text(bundle, list[0], "sha256")));
    glassine_bundle_close(bundle);
}

static uint64_t number_in(glassine_report *report, const char *key) {
    gl_buf text = GL_BUF_EMPTY;
    char wanted[40];
    assert_int_equal(glassine_report_json(report, add_bytes, &text), 0);
    snprintf(wanted, sizeof wanted, "\"%s\":", key);
    const char *found = strstr(text.text, wanted);
    assert_non_null(found);
    uint64_t number = strtoull(found + strlen(wanted), NULL, 10);
    gl_buf_free(&text);
    return number;
}

static void a_scan_comes_back(void **state) {
    (void)state;
    const char *reply = in_folder("reply.glassine"), *file = in_folder("back.png");
    assert_int_equal(gl_file_write_all(file, (gl_span){SCAN, sizeof SCAN - 1}, true), 0);
    saying_session session = begin_saying(hers(), NULL); /* a dispatch speaks for the one that it is for */
    glassine_record *scan;
    bool known;
    MUST(glassine_draft_attach(session.draft, item_of(session.bundle), file,
                               &(glassine_assignment){"caption", "back", NULL}, 1, &scan, &known, NULL,
                               &error));
    assert_false(known);
    const char *sha256 = span_text(glassine_record_text(session.bundle, scan, "sha256"));
    end_saying(&session);
    glassine_bundle *answered = opened(hers(), GLASSINE_READ);
    glassine_report *report = glassine_report_new("reply");
    MUST(glassine_reply(answered, odile, NULL, reply, report, &error));
    assert_int_equal(number_in(report, "scans"), 1);
    glassine_report_free(report);
    glassine_bundle_close(answered);
    answered = opened(reply, GLASSINE_READ);
    check_bytes(answered, sha256);
    glassine_bundle_close(answered);
    for (int again = 0; again < 2; again++) { /* the second time there is nothing new */
        uint64_t before = file_length(keepers());
        session = begin_saying(keepers(), NULL);
        report = glassine_report_new("merge");
        MUST(glassine_merge(session.draft, &reply, 1, NULL, report, &error));
        glassine_report_free(report);
        glassine_draft_free(session.draft);
        glassine_bundle_close(session.bundle);
        assert_int_equal(file_length(keepers()) > before, !again);
        check_scan(keepers());
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_scan_comes_back)};
    return cmocka_run_group_tests(tests, send_it, remove_folder);
}
