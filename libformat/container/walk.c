/* Every edition that is still in the file, from the newest back to the first. */
#include <inttypes.h>

#include "base/error.h"
#include "container/fault.h"
#include "container/opened.h"

static bool same_entry(const gl_entry *a, const gl_entry *b) {
    return a->header_at == b->header_at && a->packed == b->packed && a->size == b->size && a->crc == b->crc &&
           a->method == b->method && a->date == b->date && a->time == b->time &&
           gl_span_equal(a->name, b->name);
}

/* What a directory lists from below its edition, the one before listed too. Both are sorted by place. */
static glassine_status check_kept(const gl_file *file, const gl_directory *newer, const gl_directory *older,
                                  glassine_error *error) {
    size_t at = 0;
    for (size_t i = 0; i < newer->fresh; i++) {
        const gl_entry *kept = &newer->entries[i];
        while (at < older->count && older->entries[at].header_at < kept->header_at)
            at++;
        if (at == older->count || !same_entry(&older->entries[at], kept))
            return gl_fault_in(error, "C053", file->path, kept->name,
                               "edition %" PRIu32 " keeps it, and the edition before did not list it so",
                               newer->end.footer.edition);
    }
    return GLASSINE_OK;
}

static glassine_status check_step(const gl_file *file, const gl_directory *newer, const gl_directory *older,
                                  glassine_error *error) {
    const gl_footer *late = &newer->end.footer, *early = &older->end.footer;
    if (early->edition + 1 != late->edition)
        return gl_fault_at(error, "C027", file->path, older->end.at,
                           "edition %" PRIu32 " stands before edition %" PRIu32, early->edition,
                           late->edition);
    if (!gl_span_equal(newer->base, older->base))
        return gl_fault_at(error, "C061", file->path, older->end.at,
                           "edition %" PRIu32 " lies in another base folder", early->edition);
    return check_kept(file, newer, older, error);
}

/* Replaces *at, the newer edition's directory, by the one before it. */
static glassine_status step_back(const gl_file *file, gl_directory *at, glassine_error *error) {
    gl_end end;
    gl_directory older;
    glassine_status status = gl_footer_before(file, at->end.footer.start, &end, error);
    if (!status)
        status = gl_directory_read(file, &end, true, &older, error);
    if (status)
        return status;
    status = check_step(file, at, &older, error);
    gl_directory_free(at);
    *at = older;
    return status;
}

static glassine_status walk_from(const gl_file *file, gl_directory *at,
                                 bool (*visit)(void *context, const gl_footer *footer), void *context,
                                 glassine_error *error) {
    for (uint64_t met = 1;; met++) {
        const gl_footer *footer = &at->end.footer;
        if (met > file->limits.editions)
            return gl_fault_at(error, "L024", file->path, at->end.at,
                               "there are more than %" PRIu64 " editions in the file, which is the limit",
                               file->limits.editions);
        if (visit && !visit(context, footer))
            return GLASSINE_OK;
        if (footer->start == 0)
            return GLASSINE_OK;
        glassine_status status = step_back(file, at, error);
        if (status)
            return status;
    }
}

glassine_status gl_zip_walk(const gl_zip *zip, bool (*visit)(void *context, const gl_footer *footer),
                            void *context, glassine_error *error) {
    gl_directory at;
    glassine_status status = gl_directory_read(&zip->file, &zip->found.directory.end, true, &at, error);
    if (status)
        return status;
    status = walk_from(&zip->file, &at, visit, context, error);
    gl_directory_free(&at);
    return status;
}
