/* A bundle of twenty editions and three scans, with a bit changed at every byte, and cut off at every byte:
 * the audit finds each change, and each cut leaves the last edition that is whole, or none where none is.
 *
 * The file on disk stays as it is; what is read of it is changed on the way. GLASSINE_EVERY_BIT=1 in the
 * environment changes all eight bits of each byte, one after the other. Sanitizers look for other faults than
 * these, and are slow: with them some of the bytes do. */
#include "support.h"

#ifdef __SANITIZE_ADDRESS__
enum { STEP = 41 };
#else
enum { STEP = 1 };
#endif

enum { EDITIONS = 20, SCANS = 3 };

static const char *path;
static uint64_t ends[EDITIONS + 1]; /* length of the file at each edition */

/* What is done to what is read: a bit of one byte changed, the file cut off. */
static struct {
    off_t flipped, length;
    uint8_t bit;
    gl_calls calls;
} harm;

static ssize_t read_harmed(int fd, void *bytes, size_t length, off_t at) {
    if (at >= harm.length)
        return 0;
    if ((off_t)length > harm.length - at)
        length = (size_t)(harm.length - at);
    ssize_t got = gl_calls_system()->pread(fd, bytes, length, at);
    if (harm.flipped >= at && harm.flipped < at + got)
        ((uint8_t *)bytes)[harm.flipped - at] ^= harm.bit;
    return got;
}

static int size_harmed(int fd, struct stat *result) {
    int code = gl_calls_system()->fstat(fd, result);
    result->st_size = harm.length;
    return code;
}

static void enter_item(unsigned number) {
    char label[16];
    snprintf(label, sizeof label, "H-%03u", number);
    const glassine_assignment fields[] = {{"label", label, NULL},
                                          {"note", "Sorrel Islands, Kingfisher", NULL}};
    saying_session session = begin_saying(path, NULL);
    glassine_record *item, *scan;
    bool known;
    MUST(glassine_draft_enter(session.draft, "item", fields, 2, NULL, &item, &error));
    if (number % 6 == 0 && number / 6 <= SCANS) {
        const char *picture = in_folder("%s.txt", label);
        gl_file_write_all(picture, gl_span_of(label), true);
        MUST(glassine_draft_attach(session.draft, item, picture, NULL, 0, &scan, &known, NULL, &error));
    }
    end_saying(&session);
}

static int make_bundle(void **state) {
    if (make_folder(state))
        return -1;
    path = in_folder("sorrel.glassine");
    MUST(glassine_bundle_make(path, "Sorrel Islands", "Wren", &error));
    ends[1] = file_length(path);
    for (unsigned edition = 2; edition <= EDITIONS; edition++) {
        enter_item(edition);
        ends[edition] = file_length(path);
    }
    harm.calls = *gl_calls_now();
    harm.calls.pread = read_harmed;
    harm.calls.fstat = size_harmed;
    harm.length = (off_t)ends[EDITIONS];
    harm.flipped = -1;
    gl_calls_use(&harm.calls);
    return 0;
}

static size_t faults_found(void) {
    glassine_report *report = glassine_report_new("audit");
    glassine_error found = {0};
    assert_non_null(report);
    glassine_status status = glassine_audit(path, NULL, report, &found);
    size_t faults = glassine_report_findings(report, GLASSINE_WARNING);
    glassine_report_free(report);
    assert_int_equal(status, GLASSINE_OK);
    return faults;
}

static void sound_as_it_is(void **state) {
    (void)state;
    assert_int_equal(faults_found(), 0);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    assert_int_equal(glassine_bundle_edition(bundle), EDITIONS);
    glassine_bundle_close(bundle);
}

static void every_changed_bit_is_found(void **state) {
    (void)state;
    unsigned bits = getenv("GLASSINE_EVERY_BIT") ? 8 : 1;
    for (harm.flipped = 0; harm.flipped < harm.length; harm.flipped += STEP)
        for (unsigned i = 0; i < bits; i++) {
            unsigned bit = ((unsigned)harm.flipped * 5 + i) % 8;
            harm.bit = (uint8_t)(1u << bit);
            if (!faults_found())
                fail_msg("bit %u of byte %lld changed, and the audit finds nothing", bit,
                         (long long)harm.flipped);
        }
    harm.flipped = -1;
}

/* Whatever is cut off, the last edition that is whole opens, with all bytes behind it as its tail. */
static void every_cut_leaves_what_is_whole(void **state) {
    (void)state;
    unsigned whole = 0;
    for (uint64_t length = 0; length <= ends[EDITIONS]; length += STEP) {
        glassine_bundle *bundle = NULL;
        harm.length = (off_t)length;
        while (whole < EDITIONS && ends[whole + 1] <= length)
            whole++;
        glassine_status status = glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error);
        if (status != (whole ? GLASSINE_OK : GLASSINE_REFUSED))
            fail_msg("cut off at %llu: %s", (unsigned long long)length, error.message);
        if (!whole)
            continue;
        assert_int_equal(glassine_bundle_edition(bundle), whole);
        assert_int_equal(glassine_bundle_tail(bundle), length - ends[whole]);
        glassine_bundle_close(bundle);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sound_as_it_is),
        cmocka_unit_test(every_changed_bit_is_found),
        cmocka_unit_test(every_cut_leaves_what_is_whole),
    };
    return cmocka_run_group_tests(tests, make_bundle, remove_folder);
}
