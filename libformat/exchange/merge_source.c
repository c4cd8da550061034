/* What a merge is handed, opened: sheets and texts are told apart from bundles, and of these all is checked but scans,
 * which are checked when they are taken. */
#include "base/error.h"
#include "base/file.h"
#include "base/work.h"
#include "container/name.h"
#include "exchange/answers.h"
#include "exchange/merge.h"
#include "exchange/sheet.h"

bool gl_merge_is_scan(const gl_zip *zip, const gl_entry *entry) {
    return gl_span_starts(gl_zip_inner(zip, entry), GL_SPAN("data/scans/"));
}

static void keep_first(void *context, const glassine_error *error) {
    glassine_error *first = context;
    if (!first->status)
        *first = *error;
}

typedef struct ends {
    const glassine_bundle *bundle;
    glassine_error *error;
    glassine_status status;
} ends;

/* Walking back ends at the first that is not as the log says. */
static bool check_end(void *context, const gl_footer *footer) {
    ends *it = context;
    it->status = gl_bundle_check_end(it->bundle, footer, it->error);
    return it->status == GLASSINE_OK;
}

/* Every footer of the file, every header, every file but log and scans, and what the editions brought: what opening it left
 * out. Scans are checked when they are taken. */
static glassine_status check_structure(const glassine_bundle *from, glassine_error *error) {
    glassine_error brought = {0};
    ends met = {.bundle = from, .error = error};
    glassine_status status = gl_zip_walk(from->zip, check_end, &met, error);
    if (!status)
        status = met.status;
    if (!status)
        status = gl_zip_check_locals(from->zip, error);
    for (size_t i = 0; i < gl_zip_count(from->zip) && !status; i++) {
        const gl_entry *entry = gl_zip_at(from->zip, i);
        uint32_t first, last;
        if (!gl_merge_is_scan(from->zip, entry) &&
            !gl_name_is_segment(gl_zip_inner(from->zip, entry), &first, &last))
            status = gl_bag_check(from->zip, entry, from->payload, from->tags, error);
    }
    if (!status)
        status = gl_payload_check(from, keep_first, &brought, error);
    if (!status && brought.status && error)
        *error = brought;
    return status ? status : brought.status;
}

/* ------------------------------------------------------------------------------------------------ opening */

static void tell_apart(gl_merge_opened *it) {
    it->kind = gl_sheet_is_one(it->path)      ? GL_MERGE_SHEET
               : gl_answers_is_text(it->path) ? GL_MERGE_TEXT
                                              : GL_MERGE_BUNDLE;
    it->told_apart = true;
}

/* `beside` NULL: by itself. */
static void open_bundle(gl_merge_opened *it, const glassine_bundle *beside) {
    it->status = gl_bundle_open_beside(it->path, beside, NULL, false, &it->bundle, &it->error);
    if (!it->status)
        it->status = check_structure(it->bundle, &it->error);
    it->opened = true;
}

static bool is_short(const char *path) {
    enum { SHORT = 1024 * 1024 };
    uint64_t size;
    int fd;
    if (gl_file_open_read(path, &fd))
        return false;
    bool is = gl_file_size(fd, &size) == 0 && size <= SHORT;
    gl_file_close(fd);
    return is;
}

static void open_one_ahead(void *context, size_t index) {
    gl_merge_opened *it = (gl_merge_opened *)context + index;
    tell_apart(it);
    if (it->kind == GL_MERGE_BUNDLE && is_short(it->path))
        open_bundle(it, NULL);
}

void gl_merge_open_ahead(gl_merge_opened *list, size_t count) {
    gl_work(count, open_one_ahead, list);
}

glassine_status gl_merge_open(gl_merge_opened *it, const glassine_bundle *beside, glassine_error *error) {
    if (!it->told_apart)
        tell_apart(it);
    if (it->kind != GL_MERGE_BUNDLE)
        return GLASSINE_OK;
    if (!it->opened)
        open_bundle(it, beside);
    if (it->status && error)
        *error = it->error;
    return it->status;
}

void gl_merge_close(gl_merge_opened *it) {
    glassine_bundle_close(it->bundle);
    it->bundle = NULL;
}
