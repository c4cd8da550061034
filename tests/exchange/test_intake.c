/* Bundles that another program packed: folders and archives are read as their file is, and hostile ones are
 * not. */
#include "exchange/support.h"

#include <archive.h>
#include <archive_entry.h>
#include <dirent.h>

static char digest[65]; /* of the bundle that all of them hold */

/* ------------------------------------------------------------------------------------- what is packed */

typedef struct packed_file {
    char name[512]; /* below the folder that was unpacked into: "glassine-sorrel/bagit.txt" */
    char *bytes;
    size_t length;
} packed_file;

static packed_file files[64];
static size_t file_count;

static void load(const char *below) {
    DIR *entries = opendir(in_folder("unpacked/%s", below));
    assert_non_null(entries);
    for (struct dirent *entry; (entry = readdir(entries));) {
        struct stat facts;
        char name[512];
        if (entry->d_name[0] == '.')
            continue;
        snprintf(name, sizeof name, "%s%s%s", below, *below ? "/" : "", entry->d_name);
        assert_int_equal(stat(in_folder("unpacked/%s", name), &facts), 0);
        if (S_ISDIR(facts.st_mode)) {
            load(name);
            continue;
        }
        gl_buf content = GL_BUF_EMPTY;
        assert_int_equal(gl_file_read_all(in_folder("unpacked/%s", name), 1 << 24, &content), 0);
        packed_file *file = &files[file_count++];
        snprintf(file->name, sizeof file->name, "%s", name);
        file->bytes = content.text;
        file->length = content.length;
    }
    closedir(entries);
}

/* Two editions, a scan of bytes that deflate would not shrink much, unpacked. */
static int make_original(void **state) {
    if (make_folder(state))
        return -1;
    const char *path = in_folder("sorrel.glassine"), *scan = in_folder("scan.bin");
    char noise[5000];
    uint64_t luck = 7;
    for (size_t i = 0; i < sizeof noise; i++)
        noise[i] = (char)random_below(&luck, 256);
    assert_int_equal(gl_file_write_all(scan, (gl_span){noise, sizeof noise}, true), 0);
    MUST(glassine_bundle_make(path, "Sorrel Islands", "Wren Alderby", &error));
    saying_session on = begin_saying(path, NULL);
    glassine_record *item, *record;
    bool known;
    glassine_assignment label = {"label", "H-001", NULL};
    MUST(glassine_draft_enter(on.draft, "item", &label, 1, NULL, &item, &error));
    MUST(glassine_draft_attach(on.draft, item, scan, NULL, 0, &record, &known, NULL, &error));
    end_saying(&on);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_bundle_digest(bundle, digest);
    glassine_bundle_close(bundle);
    MUST(glassine_unpack(path, in_folder("unpacked"), NULL, NULL, &error));
    load("");
    return 0;
}

static int remove_original(void **state) {
    while (file_count)
        free(files[--file_count].bytes);
    return remove_folder(state);
}

/* --------------------------------------------------------------------------------------------- archives */

typedef struct packing {
    struct archive *archive;
    const char *path;
} packing;

static packing pack(const char *path, const char *form) {
    packing it = {archive_write_new(), path};
    unlink(path);
    if (strcmp(form, "tar.gz") == 0)
        archive_write_add_filter_gzip(it.archive);
    if (strcmp(form, "zip") == 0)
        archive_write_set_format_zip(it.archive);
    else if (strcmp(form, "7z") == 0)
        archive_write_set_format_7zip(it.archive);
    else
        archive_write_set_format_pax_restricted(it.archive);
    assert_int_equal(archive_write_open_filename(it.archive, path), ARCHIVE_OK);
    return it;
}

static void put_as(packing *it, const char *name, const char *bytes, size_t length, unsigned kind,
                   const char *link) {
    struct archive_entry *entry = archive_entry_new();
    archive_entry_set_pathname(entry, name);
    archive_entry_set_filetype(entry, kind);
    archive_entry_set_perm(entry, 0644);
    archive_entry_set_size(entry, kind == AE_IFREG && !link ? (la_int64_t)length : 0);
    if (link && kind == AE_IFLNK)
        archive_entry_set_symlink(entry, link);
    else if (link)
        archive_entry_set_hardlink(entry, link);
    assert_int_equal(archive_write_header(it->archive, entry), ARCHIVE_OK);
    if (kind == AE_IFREG && !link && length)
        assert_int_equal(archive_write_data(it->archive, bytes, length), (la_ssize_t)length);
    archive_entry_free(entry);
}

static void put(packing *it, const char *name, const char *bytes, size_t length) {
    put_as(it, name, bytes, length, AE_IFREG, NULL);
}

/* All files with `before` before their names, but those whose name holds `without`. */
static void put_all(packing *it, const char *before, const char *without) {
    for (size_t i = 0; i < file_count; i++) {
        char name[640];
        assert_true((size_t)snprintf(name, sizeof name, "%s%s", before, files[i].name) < sizeof name);
        if (!without || !strstr(name, without))
            put(it, name, files[i].bytes, files[i].length);
    }
}

static void done(packing *it) {
    assert_int_equal(archive_write_close(it->archive), ARCHIVE_OK);
    archive_write_free(it->archive);
}

static void reads_as_the_original(const char *path) {
    char found[65];
    uint64_t bytes;
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_bundle_digest(bundle, found);
    assert_string_equal(found, digest);
    assert_int_equal(glassine_bundle_edition(bundle), 2);
    assert_string_equal(glassine_bundle_base(bundle), "glassine-sorrel");
    for (size_t i = 0; i < file_count; i++) {
        const char *scan = strstr(files[i].name, "data/scans/");
        char hex[65] = "";
        if (scan) {
            memcpy(hex, scan + 11, 64);
            assert_true(glassine_scan_has(bundle, hex, &bytes));
            assert_int_equal(bytes, files[i].length);
        }
    }
    glassine_bundle_close(bundle);
}

static void is_refused(const char *path, const char *rule) {
    glassine_bundle *bundle = NULL;
    error = (glassine_error){0};
    assert_int_equal(glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error), GLASSINE_REFUSED);
    if (strcmp(error.rule, rule) != 0)
        fail_msg("%s wanted, %s: %s: %s", rule, error.rule, error.place, error.message);
    assert_non_null(strstr(error.place, path));
}

/* ------------------------------------------------------------------------------------------------ tests */

static void archives_of_all_forms_are_read(void **state) {
    static const char *const forms[] = {"tar", "tar.gz", "zip", "7z"};
    static const char *const before[] = {"", "./", "my stamps/2026/"};
    (void)state;
    for (size_t f = 0; f < COUNT(forms); f++)
        for (size_t b = 0; b < COUNT(before); b++) {
            const char *path = in_folder("packed-%zu.%s", b, forms[f]);
            packing it = pack(path, forms[f]);
            put_all(&it, before[b], NULL);
            done(&it);
            reads_as_the_original(path);
        }
}

static void folders_are_read(void **state) {
    (void)state;
    reads_as_the_original(in_folder("unpacked"));
    reads_as_the_original(in_folder("unpacked/glassine-sorrel"));
    char command[400];
    snprintf(command, sizeof command, "cp -r '%s' '%s'", in_folder("unpacked/glassine-sorrel"),
             in_folder("renamed"));
    assert_int_equal(system(command), 0);
    reads_as_the_original(in_folder("renamed"));
}

static void an_old_edition_can_be_read(void **state) {
    (void)state;
    glassine_bundle *bundle = opened(in_folder("unpacked#1"), GLASSINE_READ);
    assert_int_equal(glassine_bundle_edition(bundle), 1);
    glassine_bundle_close(bundle);
}

/* A file of its own again, with the same editions and the same log. */
static void intake_makes_a_bundle_of_it(void **state) {
    (void)state;
    const char *out = in_folder("again.glassine");
    MUST(glassine_extract(in_folder("unpacked"), out, NULL, NULL, &error));
    reads_as_the_original(out);
    glassine_report *report = glassine_report_new("audit");
    MUST(glassine_audit(out, NULL, report, &error));
    assert_int_equal(glassine_report_findings(report, GLASSINE_WARNING), 0);
    glassine_report_free(report);
    glassine_bundle *one = opened(in_folder("sorrel.glassine"), GLASSINE_READ),
                    *other = opened(out, GLASSINE_WRITE);
    for (uint32_t i = 1; i <= 2; i++)
        assert_true(
            gl_span_equal(glassine_bundle_edition_at(one, i).log, glassine_bundle_edition_at(other, i).log));
    glassine_bundle_close(one);
    glassine_bundle_close(other);
}

/* A slip of more fields than the usual limits allow; whoever raises these may unpack an earlier edition, too.
 */
static void an_earlier_edition_keeps_to_the_limits_given(void **state) {
    enum { FIELDS = 1100 };
    (void)state;
    static char names[FIELDS][16];
    glassine_statement said[FIELDS];
    const glassine_options raised = {.limits = &(glassine_limits){.fields = 2 * FIELDS}};
    const char *path = in_folder("wide.glassine");
    glassine_bundle *bundle;
    glassine_draft *draft;
    glassine_record *record;
    bool changed;
    for (size_t i = 0; i < FIELDS; i++) {
        snprintf(names[i], sizeof names[i], "own_%04zu", i);
        said[i] = (glassine_statement){.field = names[i], .value = GL_SPAN("1")};
    }
    said[0] = (glassine_statement){.field = "label", .typed = "H-001"};
    MUST(glassine_bundle_make(path, "Sorrel Islands", "Wren Alderby", &error));
    MUST(glassine_bundle_open(path, GLASSINE_WRITE, &raised, &bundle, &error));
    MUST(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    for (int edition = 2; edition <= 3; edition++) {
        MUST(glassine_draft_state(draft, "item", said, FIELDS, NULL, 0, NULL, &record, &changed, &error));
        MUST(glassine_draft_save(draft, NULL, &error));
    }
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    path = in_folder("wide.glassine#2");
    assert_int_equal(glassine_unpack(path, in_folder("wide"), NULL, NULL, &error), GLASSINE_REFUSED);
    MUST(glassine_unpack(path, in_folder("wide"), &raised, NULL, &error));
}

static void nothing_is_written_into_a_folder(void **state) {
    (void)state;
    glassine_bundle *bundle = NULL;
    assert_int_not_equal(glassine_bundle_open(in_folder("unpacked"), GLASSINE_WRITE, NULL, &bundle, &error),
                         GLASSINE_OK);
}

static void hostile_entries_are_refused(void **state) {
    static const struct {
        const char *name, *rule, *link;
        unsigned kind;
    } cases[] = {
        {"glassine-sorrel/link", "C036", "/etc/passwd", AE_IFLNK},
        {"glassine-sorrel/data", "C036", "/tmp", AE_IFLNK},
        {"glassine-sorrel/hard", "C036", "glassine-sorrel/bagit.txt", AE_IFREG},
        {"glassine-sorrel/pipe", "C036", NULL, AE_IFIFO},
        {"glassine-sorrel/device", "C036", NULL, AE_IFCHR},
        {"glassine-sorrel/../../up.txt", "C062", NULL, AE_IFREG},
        {"../up.txt", "C061", NULL, AE_IFREG},
        {"/etc/up.txt", "C061", NULL, AE_IFREG},
        {"glassine-sorrel/.hidden", "C062", NULL, AE_IFREG},
        {"glassine-sorrel/aux.txt", "C063", NULL, AE_IFREG},
        {"glassine-sorrel/a\nb", "C062", NULL, AE_IFREG},
        {"glassine-sorrel/back\\slash", "C062", NULL, AE_IFREG},
        {"glassine-sorrel/bagit.txt", "C064", NULL, AE_IFREG},
        {"glassine-sorrel/BAGIT.TXT", "C064", NULL, AE_IFREG},
        {"glassine-other/bagit.txt", "C061", NULL, AE_IFREG},
        {"beside.txt", "C061", NULL, AE_IFREG},
        {"glassine-sorrel/unlisted.txt", "B032", NULL, AE_IFREG},
        {"glassine-sorrel/data/unlisted.txt", "B022", NULL, AE_IFREG},
        {"glassine-sorrel/fetch.txt", "B041", NULL, AE_IFREG},
        {"glassine-sorrel/slips/00000003-00000003.jsonl", "B032", NULL, AE_IFREG},
    };
    (void)state;
    for (size_t i = 0; i < COUNT(cases); i++) {
        const char *path = in_folder("hostile-%zu.tar", i);
        packing it = pack(path, "tar");
        put_all(&it, "", NULL);
        put_as(&it, cases[i].name, "x\n", 2, cases[i].kind, cases[i].link);
        done(&it);
        is_refused(path, cases[i].rule);
    }
}

static void changed_content_is_refused(void **state) {
    static const struct {
        const char *file, *rule;
    } cases[] = {
        {"data/scans/", "B024"}, {"data/about.json", "B024"}, {"slips/", "B034"}, {"bagit.txt", "B034"}};
    (void)state;
    for (size_t c = 0; c < COUNT(cases); c++) {
        const char *path = in_folder("changed-%zu.zip", c);
        packing it = pack(path, "zip");
        put_all(&it, "", cases[c].file);
        for (size_t i = 0; i < file_count; i++)
            if (strstr(files[i].name, cases[c].file) && !strstr(files[i].name, "manifest")) {
                files[i].bytes[files[i].length / 2] ^= 1;
                put(&it, files[i].name, files[i].bytes, files[i].length);
                files[i].bytes[files[i].length / 2] ^= 1;
            }
        done(&it);
        is_refused(path, cases[c].rule);
    }
}

static void missing_files_are_refused(void **state) {
    static const struct {
        const char *file, *rule;
    } cases[] = {{"data/scans/", "B023"},
                 {"data/about.json", "B050"},
                 {"bagit.txt", "C010"},
                 {"tagmanifest-sha256.txt", "B030"},
                 {"slips/", "C010"}};
    (void)state;
    for (size_t c = 0; c < COUNT(cases); c++) {
        const char *path = in_folder("missing-%zu.tar", c);
        packing it = pack(path, "tar");
        put_all(&it, "", cases[c].file);
        done(&it);
        is_refused(path, cases[c].rule);
    }
}

/* 64 MiB of zeros in a file of a few KiB. */
static void what_would_fill_the_disk_is_refused(void **state) {
    (void)state;
    static const char *const forms[] = {"tar.gz", "zip", "7z"};
    size_t length = (size_t)64 << 20;
    char *zeros = calloc(1, length);
    for (size_t f = 0; f < COUNT(forms); f++) {
        const char *path = in_folder("bomb.%s", forms[f]);
        packing it = pack(path, forms[f]);
        put_all(&it, "", NULL);
        put(&it,
            "glassine-sorrel/data/scans/0000000000000000000000000000000000000000000000000000000000000000.png",
            zeros, length);
        done(&it);
        is_refused(path, "L006");
    }
    free(zeros);
}

static void limits_hold(void **state) {
    (void)state;
    static const struct {
        const char *rule;
        glassine_limits limits;
    } cases[] = {{"L001", {.entries = 3}},
                 {"L003", {.small_file_bytes = 10}},
                 {"L004", {.segment_bytes = 10}},
                 {"L005", {.log_bytes = 10}}};
    static const char *const names[] = {"unpacked", "limited.tar", "limited.7z"};
    for (size_t n = 0; n < COUNT(names); n++) {
        const char *path = in_folder("%s", names[n]), *form = strchr(names[n], '.');
        if (form) {
            packing it = pack(path, form + 1);
            put_all(&it, "", NULL);
            done(&it);
        }
        for (size_t c = 0; c < COUNT(cases); c++) {
            glassine_bundle *bundle = NULL;
            error = (glassine_error){0};
            assert_int_equal(glassine_bundle_open(in_folder("%s", names[n]), GLASSINE_READ,
                                                  &(glassine_options){.limits = &cases[c].limits}, &bundle,
                                                  &error),
                             GLASSINE_REFUSED);
            if (strcmp(error.rule, cases[c].rule) != 0)
                fail_msg("%s: %s wanted, %s: %s", names[n], cases[c].rule, error.rule, error.message);
        }
    }
}

static void folders_without_end_are_refused(void **state) {
    (void)state;
    char command[400];
    snprintf(command, sizeof command,
             "cp -r '%s' '%s' && cd '%s' && for i in $(seq 40); do mkdir d && cd d; done",
             in_folder("unpacked/glassine-sorrel"), in_folder("deep"), in_folder("deep"));
    assert_int_equal(system(command), 0);
    is_refused(in_folder("deep"), "C062");
}

/* An archive whose content wants a password (PKWARE's APPNOTE.TXT 6.3.10, 6.1). */
static void encrypted_archives_are_refused(void **state) {
    (void)state;
    const char *path = in_folder("encrypted.zip");
    packing it = {archive_write_new(), path};
    archive_write_set_format_zip(it.archive);
    assert_int_equal(archive_write_set_options(it.archive, "zip:encryption=traditional"), ARCHIVE_OK);
    assert_int_equal(archive_write_set_passphrase(it.archive, "kingfisher"), ARCHIVE_OK);
    assert_int_equal(archive_write_open_filename(it.archive, path), ARCHIVE_OK);
    put_all(&it, "", NULL);
    done(&it);
    is_refused(path, "C033");
}

static void links_in_a_folder_are_refused(void **state) {
    (void)state;
    const char *path = in_folder("linked");
    char command[400];
    snprintf(command, sizeof command, "cp -r '%s' '%s' && ln -s bagit.txt '%s/link'",
             in_folder("unpacked/glassine-sorrel"), path, path);
    assert_int_equal(system(command), 0);
    is_refused(path, "C036");
    snprintf(command, sizeof command, "rm '%s/link' && mkfifo '%s/pipe'", path, path);
    assert_int_equal(system(command), 0);
    is_refused(path, "C036");
    snprintf(command, sizeof command,
             "rm '%s/pipe' && mv '%s/slips' '%s.slips' && ln -s '%s.slips' '%s/slips'", path, path, path,
             path, path);
    assert_int_equal(system(command), 0);
    is_refused(path, "C036");
}

/* What is no archive either is said to be no bundle; an own file that is damaged is not read by another way
 * in. */
static void other_files_stay_what_they_are(void **state) {
    (void)state;
    assert_int_equal(gl_file_write_all(in_folder("text.txt"), GL_SPAN("1: 64, early\n"), true), 0);
    is_refused(in_folder("text.txt"), "C010");
    gl_buf content = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(in_folder("sorrel.glassine"), 1 << 24, &content), 0);
    content.text[content.length - 200] ^= 1; /* in the second edition's directory */
    assert_int_equal(gl_file_write_all(in_folder("damaged.glassine"), gl_buf_span(&content), true), 0);
    glassine_bundle *bundle = opened(in_folder("damaged.glassine"), GLASSINE_READ);
    assert_int_equal(glassine_bundle_edition(bundle), 1);
    glassine_bundle_close(bundle);
    gl_buf_free(&content);
}

/* An archive without anything in it, cut archives at many places: refused, and nothing worse. */
static void cut_archives_are_refused(void **state) {
    static const char *const forms[] = {"tar", "tar.gz", "zip", "7z"};
    (void)state;
    for (size_t f = 0; f < COUNT(forms); f++) {
        const char *path = in_folder("packed-0.%s", forms[f]), *cut = in_folder("cut.%s", forms[f]);
        gl_buf content = GL_BUF_EMPTY;
        assert_int_equal(gl_file_read_all(path, 1 << 24, &content), 0);
        for (size_t length = 0; length < content.length * 9 / 10; length += 1 + content.length / 97) {
            glassine_bundle *bundle = NULL;
            assert_int_equal(gl_file_write_all(cut, (gl_span){content.text, length}, false), 0);
            assert_int_equal(glassine_bundle_open(cut, GLASSINE_READ, NULL, &bundle, &error),
                             GLASSINE_REFUSED);
        }
        gl_buf_free(&content);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(archives_of_all_forms_are_read),
        cmocka_unit_test(folders_are_read),
        cmocka_unit_test(an_old_edition_can_be_read),
        cmocka_unit_test(intake_makes_a_bundle_of_it),
        cmocka_unit_test(an_earlier_edition_keeps_to_the_limits_given),
        cmocka_unit_test(nothing_is_written_into_a_folder),
        cmocka_unit_test(hostile_entries_are_refused),
        cmocka_unit_test(changed_content_is_refused),
        cmocka_unit_test(missing_files_are_refused),
        cmocka_unit_test(what_would_fill_the_disk_is_refused),
        cmocka_unit_test(limits_hold),
        cmocka_unit_test(folders_without_end_are_refused),
        cmocka_unit_test(encrypted_archives_are_refused),
        cmocka_unit_test(links_in_a_folder_are_refused),
        cmocka_unit_test(other_files_stay_what_they_are),
        cmocka_unit_test(cut_archives_are_refused),
    };
    return cmocka_run_group_tests(tests, make_original, remove_original);
}
