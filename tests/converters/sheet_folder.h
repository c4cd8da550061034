/* Sheets in a folder of the test's own: written, changed as a person would, taken in again. */
#ifndef TESTS_CONVERTERS_SHEET_FOLDER_H
#define TESTS_CONVERTERS_SHEET_FOLDER_H

#include <dirent.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "converters.h"
#include "exchange/draft.h"
#include "made.h"

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, new_folder, old_folder)

static char folder[128];

static inline int new_folder(void **state) {
    (void)state;
    snprintf(folder, sizeof folder, "%s/glassine-sheets-XXXXXX",
             access("/dev/shm", W_OK) ? "/tmp" : "/dev/shm");
    return mkdtemp(folder) ? 0 : -1;
}

/* Lives until the eighth call after it. */
static inline const char *in_folder(const char *name) {
    static char paths[8][256];
    static unsigned next;
    char *path = paths[next++ % 8];
    if (snprintf(path, sizeof paths[0], "%s/%s", folder, name) >= (int)sizeof paths[0])
        abort();
    return path;
}

static inline int old_folder(void **state) {
    (void)state;
    DIR *entries = opendir(folder);
    for (struct dirent *entry; entries && (entry = readdir(entries));)
        if (entry->d_name[0] != '.')
            unlink(in_folder(entry->d_name));
    closedir(entries);
    return rmdir(folder);
}

static inline void write_sheets(glassine_bundle *bundle, glassine_csv_options options) {
    glassine_error error = {0};
    old_folder(NULL);
    mkdir(folder, 0700);
    if (glassine_to_csv(bundle, folder, &options, NULL, &error))
        fail_msg("%s: %s", error.place, error.message);
}

static inline gl_buf file_text(const char *path) {
    gl_buf out = GL_BUF_EMPTY;
    char bytes[4096];
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    for (size_t got; (got = fread(bytes, 1, sizeof bytes, file)) > 0;)
        gl_buf_add_bytes(&out, bytes, got);
    fclose(file);
    gl_buf_add_text(&out, "");
    return out;
}

static inline void write_file(const char *name, gl_span text) {
    FILE *file = fopen(in_folder(name), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text.text, 1, text.length, file), text.length);
    fclose(file);
}

/* The first `from` in the file, which must be there, becomes `to`. */
static inline void replace_in(const char *name, const char *from, const char *to) {
    gl_buf text = file_text(in_folder(name)), out = GL_BUF_EMPTY;
    char *at = strstr(text.text, from);
    if (!at)
        fail_msg("%s holds no %s:\n%s", name, from, text.text);
    gl_buf_add_bytes(&out, text.text, (size_t)(at - text.text));
    gl_buf_add_text(&out, to);
    gl_buf_add_text(&out, at + strlen(from));
    write_file(name, gl_buf_span(&out));
    gl_buf_free(&text);
    gl_buf_free(&out);
}

/* What came of taking a file in; `draft` holds it. */
typedef struct taken {
    glassine_draft *draft;
    glassine_status status;
    glassine_error error;
    gl_buf findings, result; /* as text, as JSON */
    bool attention;
} taken;

static inline void read_report(taken *it, glassine_report *report) {
    it->attention = glassine_report_wants_attention(report);
    glassine_report_findings_text(report, (glassine_text_style){.width = 4000}, into_buf, &it->findings);
    glassine_report_json(report, into_buf, &it->result);
    gl_buf_add_text(&it->findings, "");
    assert_false(glassine_report_failed(report));
}

static inline taken take_as(glassine_bundle *bundle, const char *by, const char *name,
                            glassine_sheets_options options) {
    taken it = {.findings = GL_BUF_EMPTY, .result = GL_BUF_EMPTY};
    const char *path = in_folder(name);
    glassine_report *report = glassine_report_new("from-csv");
    assert_int_equal(glassine_draft_new(bundle, by, NULL, &it.draft, NULL), 0);
    it.status = glassine_from_csv(bundle, it.draft, &path, 1, &options, report, &it.error);
    read_report(&it, report);
    glassine_report_free(report);
    return it;
}

static inline taken take(glassine_bundle *bundle, const char *name) {
    return take_as(bundle, KEEPER, name, (glassine_sheets_options){0});
}

static inline void drop(taken *it) {
    glassine_draft_free(it->draft);
    gl_buf_free(&it->findings);
    gl_buf_free(&it->result);
}

/* Nothing was taken, and the line and the reason were told. */
static inline void expect_refused(taken it, const char *place, const char *reason) {
    assert_int_equal(it.status, GLASSINE_REFUSED);
    assert_int_equal(glassine_draft_slips(it.draft), 0);
    gl_buf all = GL_BUF_EMPTY;
    gl_buf_printf(&all, "%s: %s\n%s", it.error.place, it.error.message, it.findings.text);
    if (!strstr(all.text, place) || !strstr(all.text, reason))
        fail_msg("no \"%s\" and \"%s\" in:\n%s", place, reason, all.text);
    gl_buf_free(&all);
    drop(&it);
}

static inline void expect_slips(const taken *it, size_t slips) {
    if (it->status || glassine_draft_slips(it->draft) != slips)
        fail_msg("%zu slips, not %zu\n%s: %s\n%s", glassine_draft_slips(it->draft), slips, it->error.place,
                 it->error.message, it->findings.text);
}

#endif
