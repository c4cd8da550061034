/* A backup that something happens to: the source grows, is tidied, rolled back, exchanged; the disk is full,
 * taken out, loses power; the program is killed at any call. The backup opens each time, at an edition that
 * it had or gets. */
#include "exchange/disk.h"

enum { SAVES = 4 };

static char source[DISK_PATH], copy[DISK_PATH];
static uint64_t old_directory; /* a place in the directory of edition 1, which nothing reads any more */

static void save(const char *path, const char *label) {
    saying_session session = begin_saying(path, NULL);
    glassine_record *record;
    MUST(glassine_draft_enter(session.draft, "item", (glassine_assignment[]){{"label", label, NULL}}, 1, NULL,
                              &record, &error));
    end_saying(&session);
}

static glassine_status back_up(const char *from, const glassine_backup_options *options) {
    glassine_bundle *bundle;
    error = (glassine_error){0};
    glassine_status status = glassine_bundle_open(from, GLASSINE_READ, NULL, &bundle, &error);
    if (status)
        return status;
    status = glassine_backup(bundle, copy, options, NULL, &error);
    glassine_bundle_close(bundle);
    return status;
}

static bool same_bytes(const char *a, const char *b) {
    gl_buf x = GL_BUF_EMPTY, y = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(a, (size_t)1 << 28, &x), 0);
    assert_int_equal(gl_file_read_all(b, (size_t)1 << 28, &y), 0);
    bool same = gl_span_equal(gl_buf_span(&x), gl_buf_span(&y));
    gl_buf_free(&x);
    gl_buf_free(&y);
    return same;
}

/* A bundle of SAVES editions more than one, and a backup of its first two. */
static int set_scene(void **state) {
    if (!folder[0] && make_folder(state) != 0)
        return -1;
    assert_int_equal(empty_folder(), 0);
    snprintf(source, sizeof source, "%s", in_folder("source.glassine"));
    snprintf(copy, sizeof copy, "%s", in_folder("copy.glassine"));
    MUST(glassine_bundle_make(source, "Sorrel Islands", "Keeper", &error));
    old_directory = file_length(source) - 300;
    save(source, "H-1");
    MUST(back_up(source, NULL));
    for (int i = 2; i <= SAVES; i++)
        save(source, (char[]){'H', '-', (char)('0' + i), '\0'});
    return 0;
}

static uint32_t edition_of(const char *path) {
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    uint32_t edition = glassine_bundle_edition(bundle);
    glassine_bundle_close(bundle);
    return edition;
}

static void refused(const glassine_backup_options *options, const char *words) {
    gl_buf before = GL_BUF_EMPTY, after = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(copy, (size_t)1 << 28, &before), 0);
    assert_int_equal(back_up(source, options), GLASSINE_REFUSED);
    if (!strstr(error.message, words))
        fail_msg("\"%s\" does not say \"%s\"", error.message, words);
    assert_true(error.remedy[0]);
    assert_int_equal(gl_file_read_all(copy, (size_t)1 << 28, &after), 0);
    assert_true(gl_span_equal(gl_buf_span(&before), gl_buf_span(&after)));
    gl_buf_free(&before);
    gl_buf_free(&after);
}

/* ------------------------------------------------------------------------------------------- histories */

static void grows(void **state) {
    (void)state;
    uint64_t before = file_length(copy);
    MUST(back_up(source, NULL));
    assert_true(same_bytes(source, copy));
    assert_true(before < file_length(copy));
    MUST(back_up(source, &(glassine_backup_options){.full = true}));
}

static void is_tidied(void **state) {
    (void)state;
    MUST(glassine_tidy(source, NULL, NULL, NULL, &error));
    MUST(back_up(source, NULL));
    assert_true(same_bytes(source, copy));
    save(source, "H-9");
    MUST(back_up(source, NULL));
    assert_true(same_bytes(source, copy));
    MUST(glassine_tidy(copy, NULL, NULL, NULL, &error)); /* the other way round */
    MUST(back_up(source, NULL));
    assert_true(same_bytes(source, copy));
}

static void is_rolled_back(void **state) {
    (void)state;
    char old[DISK_PATH];
    snprintf(old, sizeof old, "%s", in_folder("old.glassine"));
    copy_file(source, old);
    save(source, "H-9");
    MUST(back_up(source, NULL));
    copy_file(old, source);
    refused(NULL, "the backup is the newer one");
    save(source, "H-10");
    refused(NULL, "edition 6 is not that of");
    save(source, "H-11");
    refused(NULL, "edition 6 is not that of");
    MUST(back_up(source, &(glassine_backup_options){.replace = true}));
    assert_true(same_bytes(source, copy));
}

static void is_exchanged(void **state) {
    (void)state;
    unlink(source);
    MUST(glassine_bundle_make(source, "Another", "Keeper", &error));
    refused(NULL, "it is another bundle");
    refused(&(glassine_backup_options){.replace = true}, "it is another bundle");
}

static void flip(const char *path, uint64_t at) {
    FILE *file = fopen(path, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, (long)at, SEEK_SET), 0);
    int byte = fgetc(file);
    assert_int_equal(fseek(file, (long)at, SEEK_SET), 0);
    fputc(byte ^ 1, file);
    fclose(file);
}

/* A byte that went bad in the first edition: the history does not show it, every byte does. */
static void is_damaged(void **state) {
    (void)state;
    flip(copy, old_directory);
    MUST(back_up(source, NULL));
    refused(&(glassine_backup_options){.full = true}, "is not what it is in");
    MUST(back_up(source, &(glassine_backup_options){.full = true, .replace = true}));
    assert_true(same_bytes(source, copy));
}

static void add_bytes(const char *path, const char *bytes) {
    FILE *file = fopen(path, "ab");
    assert_non_null(file);
    fputs(bytes, file);
    fclose(file);
}

static void has_a_tail(void **state) {
    (void)state;
    add_bytes(copy, "somebody's words");
    refused(NULL, "16 bytes behind its last edition are not of");
    MUST(back_up(source, &(glassine_backup_options){.replace = true}));
    assert_true(same_bytes(source, copy));
}

static void cannot_be_one(void **state) {
    (void)state;
    glassine_bundle *bundle = opened(source, GLASSINE_READ);
    assert_int_equal(glassine_backup(bundle, source, NULL, NULL, &error), GLASSINE_REFUSED);
    assert_string_equal(error.message, "it is the bundle itself, not a second file");
    assert_int_equal(glassine_backup(bundle, in_folder("nowhere/x"), NULL, NULL, &error), GLASSINE_SYSTEM);
    glassine_bundle_close(bundle);
    assert_int_equal(back_up(in_folder("source.glassine#2"), NULL), GLASSINE_REFUSED);
    unlink(copy);
    add_bytes(copy, "no bundle");
    refused(&(glassine_backup_options){.replace = true}, "this is not a bundle");
}

/* --------------------------------------------------------------------------------------------- mishaps */

typedef struct mishap {
    const char *name;
    int failure;
    disk_end then;
    unsigned times; /* with other luck */
} mishap;

static const mishap MISHAPS[] = {
    {"one call fails", EIO, DISK_RUNS, 1},
    {"full", ENOSPC, DISK_FULL, 1},
    {"taken out, or killed", EIO, DISK_KILLED, 1},
    {"no power", EIO, DISK_NO_POWER, 3},
};

/* What the backup must be after a mishap: as it was, or as it was to be. */
static void check_copy(const mishap *what, uint64_t call, glassine_status status, uint32_t before,
                       uint32_t most) {
    glassine_bundle *bundle;
    error = (glassine_error){0};
    if (glassine_bundle_open(copy, GLASSINE_READ, NULL, &bundle, &error))
        fail_msg("%s, call %llu: the backup does not open: %s", what->name, (unsigned long long)call,
                 error.message);
    uint32_t edition = glassine_bundle_edition(bundle);
    glassine_bundle_close(bundle);
    if (edition < before || edition > most || (status == GLASSINE_OK && edition != most))
        fail_msg("%s, call %llu: status %d, edition %u", what->name, (unsigned long long)call, (int)status,
                 edition);
    glassine_report *report = glassine_report_new("audit");
    MUST(glassine_audit(copy, NULL, report, &error));
    if (glassine_report_findings(report, GLASSINE_FAULT))
        fail_msg("%s, call %llu: the audit finds faults", what->name, (unsigned long long)call);
    glassine_report_free(report);
    MUST(back_up(source, NULL)); /* and the next one goes through, whatever is left of this one */
    assert_true(same_bytes(source, copy));
}

/* Every call of a backup that `prepare` makes necessary, in turn. */
static void try_all(void **state, void (*prepare)(void)) {
    for (size_t i = 0; i < COUNT(MISHAPS); i++) {
        uint64_t calls = 1;
        for (uint64_t call = 1; call <= calls * MISHAPS[i].times; call++) {
            set_scene(state);
            if (prepare)
                prepare();
            uint32_t before = edition_of(copy), most = edition_of(source);
            disk_begin(call, 1 + (call - 1) / MISHAPS[i].times, MISHAPS[i].failure, MISHAPS[i].then);
            glassine_status status = back_up(source, NULL);
            if (the_disk.calls >= the_disk.last)
                calls = the_disk.last + 1;
            disk_finish();
            check_copy(&MISHAPS[i], call, status, before, most);
        }
        print_message("%s: %llu calls\n", MISHAPS[i].name, (unsigned long long)calls - 1);
    }
}

static void mishaps_of_appending(void **state) {
    try_all(state, NULL);
}

static void tidy_source(void) {
    MUST(glassine_tidy(source, NULL, NULL, NULL, &error));
}

static void mishaps_of_replacing(void **state) {
    try_all(state, tidy_source);
}

int main(void) {
    setenv("SOURCE_DATE_EPOCH", "1764061200", 1);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(grows, set_scene),
        cmocka_unit_test_setup(is_tidied, set_scene),
        cmocka_unit_test_setup(is_rolled_back, set_scene),
        cmocka_unit_test_setup(is_exchanged, set_scene),
        cmocka_unit_test_setup(is_damaged, set_scene),
        cmocka_unit_test_setup(has_a_tail, set_scene),
        cmocka_unit_test_setup(cannot_be_one, set_scene),
        cmocka_unit_test(mishaps_of_appending),
        cmocka_unit_test(mishaps_of_replacing),
    };
    return cmocka_run_group_tests(tests, NULL, remove_folder);
}
