/* Many scans at once: every one is in with its own bytes, twins and known ones once, odd ones deflated; what
 * fails or is stopped leaves the file as it was. */
#include "exchange/gather.h"
#include "exchange/support.h"

enum { FILES = 40, SIZE = 3000 };

static char paths[FILES][256];
static const char *list[FILES];

/* Different bytes for different kinds; `length` says whether others have that length. */
static void write_file(unsigned number, unsigned kind, size_t length, const char *holds) {
    char bytes[2 * SIZE];
    uint32_t state = kind * 2654435761U + 1;
    for (size_t i = 0; i < length; i++) {
        state = state * 1664525U + 1013904223U;
        bytes[i] = holds ? (char)kind : (char)(state >> 24); /* what deflates, where it has to be */
    }
    if (holds)
        memcpy(bytes + 100, holds, 60);
    snprintf(paths[number], sizeof paths[number], "%s", in_folder("scan-%u.bin", number));
    list[number] = paths[number];
    unlink(paths[number]);
    assert_int_equal(gl_file_write_all(paths[number], (gl_span){bytes, length}, true), 0);
}

static void write_files(void) {
    char mark[60] = {0};
    memcpy(mark, "PK\005\006", 4);
    memcpy(mark + 22, "glassine 1.0 edition 1 follows 0", 32);
    for (unsigned i = 0; i < FILES; i++)
        write_file(i, i, SIZE + (i % 2 ? i : 0), i % 13 == 5 ? mark : NULL);
    write_file(30, 4, SIZE, NULL); /* the bytes of number 4 */
    write_file(31, 7, SIZE + 7, NULL);
}

static glassine_bundle *fresh(const char *name, glassine_draft **draft, const glassine_watch *watch) {
    const char *path = in_folder("%s", name);
    const glassine_options options = {.watch = watch};
    glassine_bundle *bundle;
    unlink(path);
    MUST(glassine_bundle_make(path, "Scans", "Keeper", &error));
    MUST(glassine_bundle_open(path, GLASSINE_WRITE, &options, &bundle, &error));
    MUST(glassine_draft_new(bundle, NULL, NULL, draft, &error));
    return bundle;
}

static void attach_all(glassine_draft *draft, const bool *known) {
    const glassine_assignment label = {"label", "H-1", NULL};
    glassine_record *item, *scan;
    bool there;
    MUST(glassine_draft_enter(draft, "item", &label, 1, NULL, &item, &error));
    for (unsigned i = 0; i < FILES; i++)
        if (!known[i])
            MUST(glassine_draft_attach(draft, item, list[i], NULL, 0, &scan, &there, NULL, &error));
}

static int compare(void *context, const char *bytes, size_t length) {
    gl_buf *out = context;
    gl_buf_add_bytes(out, bytes, length);
    return 0;
}

static void assert_holds(glassine_bundle *bundle, const char *path) {
    char hex[65];
    gl_buf here = GL_BUF_EMPTY, there = GL_BUF_EMPTY;
    MUST(glassine_file_digest(path, hex, &error));
    MUST(glassine_scan_read(bundle, hex, compare, &there, &error));
    assert_int_equal(gl_file_read_all(path, 2 * SIZE, &here), 0);
    assert_true(gl_span_equal(gl_buf_span(&here), gl_buf_span(&there)));
    gl_buf_free(&here);
    gl_buf_free(&there);
}

static void all_of_them_are_in(void **state) {
    (void)state;
    bool known[FILES];
    glassine_draft *draft;
    write_files();
    glassine_bundle *bundle = fresh("gather.glassine", &draft, NULL);
    MUST(glassine_draft_gather(draft, list, FILES, known, &error));
    for (unsigned i = 0; i < FILES; i++)
        assert_int_equal(known[i], i == 30 || i == 31);
    attach_all(draft, known);
    assert_int_equal(glassine_draft_scans(draft), FILES - 2);
    MUST(glassine_draft_save(draft, NULL, &error));
    for (unsigned i = 0; i < FILES; i++)
        assert_holds(bundle, list[i]);
    MUST(glassine_draft_gather(draft, list, FILES, known, &error)); /* a second time: nothing is new */
    for (unsigned i = 0; i < FILES; i++)
        assert_true(known[i]);
    assert_int_equal(glassine_draft_scans(draft), 0);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    glassine_report *report = glassine_report_new("audit");
    MUST(glassine_audit(in_folder("gather.glassine"), NULL, report, &error));
    assert_int_equal(glassine_report_findings(report, GLASSINE_WARNING), 0);
    glassine_report_free(report);
}

static void one_that_fails_takes_all_back(void **state) {
    (void)state;
    bool known[FILES];
    glassine_draft *draft;
    write_files();
    glassine_bundle *bundle = fresh("fails.glassine", &draft, NULL);
    uint64_t before = file_length(in_folder("fails.glassine"));
    unlink(list[20]);
    assert_int_equal(glassine_draft_gather(draft, list, FILES, known, &error), GLASSINE_REFUSED);
    assert_non_null(strstr(error.place, "scan-20.bin"));
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    assert_int_equal(file_length(in_folder("fails.glassine")), before);
}

/* A file of a gathering that failed is not taken for one that came after it. */
static void one_that_failed_is_looked_at_anew(void **state) {
    (void)state;
    bool known[FILES] = {false};
    glassine_draft *draft;
    write_files();
    glassine_bundle *bundle = fresh("anew.glassine", &draft, NULL);
    const char *const pair[] = {list[0], in_folder("not-there.bin")};
    assert_int_equal(glassine_draft_gather(draft, pair, 2, known, &error), GLASSINE_REFUSED);
    MUST(glassine_draft_gather(draft, list + 1, 1, known, &error));
    assert_null(gl_draft_gathered(draft, list[0]));
    attach_all(draft, known);
    MUST(glassine_draft_save(draft, NULL, &error));
    for (unsigned i = 0; i < FILES; i++)
        assert_holds(bundle, list[i]);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
}

static bool stop(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    assert_null(unit); /* bytes */
    if (strcmp(doing, "opening") == 0)
        return true;
    *(bool *)context = done <= total;
    return false;
}

static void stopped_it_is_as_it_was(void **state) {
    (void)state;
    bool known[FILES], told = false;
    const glassine_watch watch = {stop, &told};
    glassine_draft *draft;
    write_files();
    glassine_bundle *bundle = fresh("stopped.glassine", &draft, &watch);
    uint64_t before = file_length(in_folder("stopped.glassine"));
    assert_int_equal(glassine_draft_gather(draft, list, FILES, known, &error), GLASSINE_SYSTEM);
    assert_true(told);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    assert_int_equal(file_length(in_folder("stopped.glassine")), before);
}

/* One that is large enough to be on its way to the disk while it is read. */
static void a_large_one_is_in(void **state) {
    (void)state;
    size_t length = (size_t)20 << 20;
    char *bytes = malloc(length);
    glassine_draft *draft;
    glassine_record *item, *scan;
    const glassine_assignment label = {"label", "H-1", NULL};
    const char *path = in_folder("large.bin"), *sha256;
    gl_buf read = GL_BUF_EMPTY;
    bool known;
    assert_non_null(bytes);
    for (size_t i = 0; i < length; i++)
        bytes[i] = (char)(i * 2654435761U >> 13);
    assert_int_equal(gl_file_write_all(path, (gl_span){bytes, length}, true), 0);
    glassine_bundle *bundle = fresh("large.glassine", &draft, NULL);
    MUST(glassine_draft_enter(draft, "item", &label, 1, NULL, &item, &error));
    MUST(glassine_draft_attach(draft, item, path, NULL, 0, &scan, &known, NULL, &error));
    MUST(glassine_draft_save(draft, "a large one", &error));
    sha256 = span_text(glassine_record_text(bundle, scan, "sha256"));
    MUST(glassine_scan_read(bundle, sha256, compare, &read, &error));
    assert_int_equal(read.length, length);
    assert_memory_equal(read.text, bytes, length);
    gl_buf_free(&read);
    free(bytes);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_of_them_are_in),
        cmocka_unit_test(one_that_fails_takes_all_back),
        cmocka_unit_test(one_that_failed_is_looked_at_anew),
        cmocka_unit_test(stopped_it_is_as_it_was),
        cmocka_unit_test(a_large_one_is_in),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
