/* Many scans into the file at once, each in one pass, on all processors: their sizes are known, so each has
 * its place before any is read. */
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/work.h"
#include "container/fault.h"
#include "container/scanning.h"

/* So many are under way together, at most: what one odd among them costs the others is bounded. */
enum { TOGETHER = 256, TOGETHER_BYTES = 128 * 1024 * 1024 };

typedef struct under_way {
    gl_scanning scan;
    glassine_status status;
    glassine_error error;
} under_way;

/* Called on several threads at once. */
static void copy_one(void *context, size_t index) {
    under_way *one = &((under_way *)context)[index];
    gl_scanning *scan = &one->scan;
    int code = gl_file_open_read(scan->path, &scan->fd);
    if (code) {
        one->status = gl_fail_system(&one->error, code, scan->path, "cannot be opened");
        return;
    }
    one->status = gl_scanning_begin(scan);
    if (!one->status)
        one->status = gl_scanning_copy(scan);
    gl_scanning_end(scan);
    gl_file_close(scan->fd);
}

static glassine_status place_all(gl_writer *writer, under_way *list, const gl_scan_in *scans, size_t count,
                                 gl_watch *watch, glassine_error *error) {
    uint64_t at = writer->at;
    for (size_t i = 0; i < count; i++) {
        list[i] = (under_way){.scan = {.writer = writer,
                                       .path = scans[i].path,
                                       .size = scans[i].size,
                                       .extension = scans[i].extension,
                                       .watch = watch}};
        list[i].scan.error = &list[i].error;
        glassine_status status = gl_scanning_place(&list[i].scan, at);
        if (status && error)
            *error = list[i].error;
        if (status)
            return status;
        at = list[i].scan.entry.data_at + list[i].scan.size;
    }
    return GLASSINE_OK;
}

/* It cannot lie where it lies: an end record of ours is in it, or the directory has it already. */
static bool is_odd(const gl_scanning *scan) {
    char inner[GL_SCAN_NAME_SIZE];
    gl_scanning_inner(scan, inner);
    return scan->marker.found || gl_writer_has(scan->writer, gl_span_of(inner));
}

/* By itself, where its bytes have another length or none at all. */
static glassine_status add_odd(gl_writer *writer, gl_scan_in *scan, glassine_error *error) {
    int fd, code = gl_file_open_read(scan->path, &fd);
    if (code)
        return gl_fail_system(error, code, scan->path, "cannot be opened");
    glassine_status status =
        gl_writer_add_scan(writer, fd, scan->path, scan->size, scan->extension, NULL, &scan->digest, error);
    gl_file_close(fd);
    return status;
}

/* Takes over what was copied, in order, up to the first odd one; *done tells how many. */
static glassine_status take_copied(gl_writer *writer, under_way *list, gl_scan_in *scans, size_t count,
                                   size_t *done, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count; i++)
        writer->broken = writer->broken || list[i].scan.unwritten;
    for (*done = 0; *done < count && !status; ++*done) {
        under_way *one = &list[*done];
        scans[*done].digest = one->scan.digest;
        status = one->status;
        if (!status && is_odd(&one->scan)) {
            gl_writer_forget(writer, status);
            status = add_odd(writer, &scans[(*done)++], error);
            break;
        }
        one->scan.error = error;
        if (status && error)
            *error = one->error;
        if (!status)
            status = gl_scanning_seal(&one->scan);
    }
    return status ? gl_writer_forget(writer, status) : GLASSINE_OK;
}

static glassine_status add_together(gl_writer *writer, gl_scan_in *scans, size_t count, gl_watch *watch,
                                    size_t *done, glassine_error *error) {
    under_way *list = calloc(count, sizeof *list);
    if (!list)
        return gl_fail_memory(error);
    glassine_status status = place_all(writer, list, scans, count, watch, error);
    if (!status)
        gl_work_watched(count, copy_one, list, watch);
    if (!status && watch && atomic_load(&watch->stopped))
        status = gl_writer_forget(writer, gl_watch_fail(error));
    if (!status)
        status = take_copied(writer, list, scans, count, done, error);
    free(list);
    return status;
}

glassine_status gl_writer_add_scans(gl_writer *writer, gl_scan_in *scans, size_t count, gl_watch *watch,
                                    glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t from = 0, done = 0; from < count && !status; from += done) {
        uint64_t bytes = 0;
        size_t together = 0;
        while (from + together < count && together < TOGETHER && bytes < TOGETHER_BYTES)
            bytes += scans[from + together++].size;
        status = add_together(writer, scans + from, together, watch, &done, error);
    }
    return status;
}
