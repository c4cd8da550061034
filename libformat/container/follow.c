#include "container/follow.h"

#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/layout.h"

enum { PIECE = 256 * 1024 };

/* What is told of each piece of two files: false ends the walk. */
typedef bool (*piece_look)(void *context, const char *a, const char *b, size_t length, uint64_t at);

static glassine_status walk_both(int a, int b, uint64_t from, uint64_t to, const char *path, piece_look look,
                                 void *context, glassine_error *error) {
    char *bytes = malloc(2 * (size_t)PIECE);
    if (!bytes)
        return gl_fail_memory(error);
    int code = 0;
    while (from < to && !code) {
        size_t length = to - from < PIECE ? (size_t)(to - from) : PIECE;
        code = gl_file_read_at(a, bytes, length, from);
        if (!code)
            code = gl_file_read_at(b, bytes + PIECE, length, from);
        if (!code && !look(context, bytes, bytes + PIECE, length, from))
            break;
        from += length;
    }
    free(bytes);
    return code ? gl_fault_reading(error, code, path) : GLASSINE_OK;
}

static bool look_equal(void *context, const char *a, const char *b, size_t length, uint64_t at) {
    uint64_t *differs = context;
    if (memcmp(a, b, length) == 0)
        return true;
    size_t i = 0;
    while (a[i] == b[i])
        i++;
    *differs = at + i;
    return false;
}

glassine_status gl_follow_compare(int a, int b, uint64_t from, uint64_t to, const char *path,
                                  uint64_t *differs, glassine_error *error) {
    *differs = UINT64_MAX;
    return walk_both(a, b, from, to, path, look_equal, differs, error);
}

glassine_status gl_follow_begins(const gl_zip *copy, const gl_zip *source, bool full, bool *begins,
                                 uint64_t *differs, glassine_error *error) {
    const gl_footer *footer = gl_zip_footer(copy);
    *begins = footer->end <= gl_zip_footer(source)->end;
    *differs = UINT64_MAX;
    if (!*begins)
        return GLASSINE_OK;
    glassine_status status = gl_follow_compare(gl_zip_fd(copy), gl_zip_fd(source), footer->directory_at,
                                               footer->end, gl_zip_path(copy), differs, error);
    *begins = *differs == UINT64_MAX;
    if (status || !*begins || !full)
        return status;
    return gl_follow_compare(gl_zip_fd(copy), gl_zip_fd(source), 0, footer->end, gl_zip_path(copy), differs,
                             error);
}

/* Zeros stand where a write was asked for and never came to the disk. */
static bool look_own(void *context, const char *copy, const char *source, size_t length, uint64_t at) {
    bool *owns = context;
    (void)at;
    for (size_t i = 0; i < length && *owns; i++)
        *owns = copy[i] == source[i] || copy[i] == 0;
    return *owns;
}

glassine_status gl_follow_owns_tail(const gl_zip *copy, const gl_zip *source, bool *owns,
                                    glassine_error *error) {
    uint64_t from = gl_zip_footer(copy)->end, to = from + gl_zip_tail(copy);
    *owns = to <= gl_zip_footer(source)->end;
    if (!*owns)
        return GLASSINE_OK;
    return walk_both(gl_zip_fd(copy), gl_zip_fd(source), from, to, gl_zip_path(copy), look_own, owns, error);
}

/* ------------------------------------------------------------------------------------------- appending */

typedef struct following {
    const gl_zip *copy, *source;
    gl_footer *footers; /* that the copy lacks, the newest first */
    size_t count, room;
    bool failed;
} following;

static bool add_footer(void *context, const gl_footer *footer) {
    following *it = context;
    if (footer->end <= gl_zip_footer(it->copy)->end)
        return false;
    if (it->count == it->room) {
        gl_footer *grown = gl_grow(it->footers, &it->room, it->count + 1, sizeof *grown);
        it->failed = grown == NULL;
        if (!grown)
            return false;
        it->footers = grown;
    }
    it->footers[it->count++] = *footer;
    return true;
}

static uint64_t end_record_at(const gl_footer *footer) {
    uint8_t record[GL_END_MAX];
    return footer->end - gl_layout_end(footer, record);
}

static int copy_range(const following *it, uint64_t from, uint64_t to) {
    return gl_file_copy_range(gl_zip_fd(it->source), from, gl_zip_fd(it->copy), from, to - from);
}

/* From the oldest to the newest: what lies before each end record. */
static int copy_contents(const following *it) {
    uint64_t from = gl_zip_footer(it->copy)->end;
    int code = 0;
    for (size_t i = it->count; i-- > 0 && !code; from = it->footers[i].end)
        code = copy_range(it, from, end_record_at(&it->footers[i]));
    return code ? code : gl_file_sync_data(gl_zip_fd(it->copy));
}

/* From the oldest to the newest: no edition may be seen before those that it follows. */
static int copy_ends(const following *it) {
    int code = 0;
    for (size_t i = it->count; i-- > 0 && !code;) {
        code = copy_range(it, end_record_at(&it->footers[i]), it->footers[i].end);
        if (!code)
            code = gl_file_sync_data(gl_zip_fd(it->copy));
    }
    return code;
}

static int append(const following *it) {
    uint64_t end = gl_zip_footer(it->copy)->end;
    int code = gl_zip_tail(it->copy) ? gl_file_truncate(gl_zip_fd(it->copy), end) : 0;
    if (!code)
        code = copy_contents(it);
    if (!code)
        code = copy_ends(it);
    if (code && !gl_file_truncate(gl_zip_fd(it->copy), end))
        gl_file_sync_data(gl_zip_fd(it->copy));
    return code;
}

glassine_status gl_follow(const gl_zip *copy, const gl_zip *source, glassine_error *error) {
    following it = {.copy = copy, .source = source};
    glassine_status status = gl_zip_walk(source, add_footer, &it, error);
    if (!status && it.failed)
        status = gl_fail_memory(error);
    int code = status || !it.count ? 0 : append(&it);
    free(it.footers);
    return code ? gl_fault_writing(error, code, gl_zip_path(copy)) : status;
}
