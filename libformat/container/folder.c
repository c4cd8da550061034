/* The files below a folder. No link is followed, neither to a file nor to a folder. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/arena.h"
#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/foreign.h"

enum { DEPTH_MOST = 32 }; /* a name of 512 bytes could be deeper; no bundle is */

typedef struct folder {
    const char *path;
    const glassine_limits *limits;
    gl_arena *arena;
    gl_span *names; /* sorted, so that nothing depends on the order in which the system gives them */
    size_t count, room, at;
    int fd; /* of the file at hand, -1 */
    uint64_t done;
} folder;

static glassine_status add_name(folder *it, gl_span name, glassine_error *error) {
    if (it->count >= it->limits->entries)
        return gl_fail(error, GLASSINE_REFUSED, "L001", it->path, "it holds more than %" PRIu64 " files",
                       it->limits->entries);
    void *grown = gl_grow(it->names, &it->room, it->count + 1, sizeof *it->names);
    if (!grown)
        return gl_fail_memory(error);
    it->names = grown;
    it->names[it->count] = gl_arena_copy(it->arena, name);
    return it->names[it->count++].text ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status list(folder *it, gl_span below, unsigned depth, glassine_error *error);

static glassine_status list_one(folder *it, gl_span name, unsigned depth, glassine_error *error) {
    struct stat file;
    gl_buf path = GL_BUF_EMPTY;
    gl_buf_printf(&path, "%s/%.*s", it->path, GL_SPAN_ARGS(name));
    int code = path.failed ? ENOMEM : lstat(path.text, &file) != 0 ? errno : 0;
    gl_buf_free(&path);
    if (code)
        return gl_fail_system(error, code, it->path, "cannot be looked through");
    if (S_ISREG(file.st_mode))
        return add_name(it, name, error);
    if (!S_ISDIR(file.st_mode))
        return gl_fault_in(error, "C036", it->path, name, "it is neither a plain file nor a folder");
    if (depth == DEPTH_MOST)
        return gl_fault_in(error, "C062", it->path, name, "it lies too deep");
    return list(it, name, depth + 1, error);
}

/* The contents of the folder `below` (empty: the whole), with those of the folders in it. */
static glassine_status list(folder *it, gl_span below, unsigned depth, glassine_error *error) {
    gl_buf path = GL_BUF_EMPTY, name = GL_BUF_EMPTY;
    gl_buf_printf(&path, "%s/%.*s", it->path, GL_SPAN_ARGS(below));
    DIR *entries = path.failed ? NULL : opendir(path.text);
    glassine_status status =
        entries ? GLASSINE_OK : gl_fail_system(error, errno, it->path, "cannot be looked through");
    while (!status) {
        errno = 0;
        struct dirent *entry = readdir(entries);
        if (!entry)
            break;
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        gl_buf_clear(&name);
        gl_buf_printf(&name, "%.*s%s%s", GL_SPAN_ARGS(below), below.length ? "/" : "", entry->d_name);
        status = name.failed ? gl_fail_memory(error) : list_one(it, gl_buf_span(&name), depth, error);
    }
    if (!status && errno)
        status = gl_fail_system(error, errno, it->path, "cannot be looked through");
    if (entries)
        closedir(entries);
    gl_buf_free(&path);
    gl_buf_free(&name);
    return status;
}

static int by_bytes(const void *a, const void *b) {
    return gl_span_compare(*(const gl_span *)a, *(const gl_span *)b);
}

static void close_file(folder *it) {
    if (it->fd >= 0)
        gl_file_close(it->fd);
    it->fd = -1;
    it->done = 0;
}

static glassine_status folder_next(void *source, gl_span *name, bool *end, glassine_error *error) {
    folder *it = source;
    close_file(it);
    *end = it->at == it->count;
    if (*end)
        return GLASSINE_OK;
    *name = it->names[it->at++];
    gl_buf path = GL_BUF_EMPTY;
    gl_buf_printf(&path, "%s/%.*s", it->path, GL_SPAN_ARGS(*name));
    struct stat file = {0};
    it->fd = path.failed ? -1 : open(path.text, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    int code = path.failed ? ENOMEM : it->fd < 0 || fstat(it->fd, &file) != 0 ? errno : 0;
    gl_buf_free(&path);
    if (!code && !S_ISREG(file.st_mode))
        code = ESPIPE;
    if (code == ENOMEM)
        return gl_fail_memory(error);
    return code ? gl_fault_in(error, NULL, it->path, *name, "it cannot be opened") : GLASSINE_OK;
}

static glassine_status folder_read(void *source, char *bytes, size_t room, size_t *got,
                                   glassine_error *error) {
    folder *it = source;
    uint64_t size;
    int code = gl_file_size(it->fd, &size);
    *got = code || it->done >= size ? 0 : size - it->done < room ? (size_t)(size - it->done) : room;
    if (!code && *got)
        code = gl_file_read_at(it->fd, bytes, *got, it->done);
    it->done += *got;
    return code ? gl_fault_reading(error, code, it->path) : GLASSINE_OK;
}

static void folder_close(void *source) {
    folder *it = source;
    close_file(it);
    gl_arena_free(it->arena);
    free(it->names);
    free(it);
}

static const gl_foreign_kind folder_kind = {folder_next, folder_read, folder_close};

glassine_status gl_folder_open(const char *path, const glassine_limits *limits, gl_foreign *foreign,
                               glassine_error *error) {
    folder *it = calloc(1, sizeof *it);
    if (!it)
        return gl_fail_memory(error);
    *it = (folder){.path = path, .limits = limits, .arena = gl_arena_new(), .fd = -1};
    *foreign = (gl_foreign){&folder_kind, it};
    glassine_status status = it->arena ? list(it, GL_SPAN(""), 0, error) : gl_fail_memory(error);
    if (status)
        gl_foreign_close(foreign);
    else if (it->count)
        qsort(it->names, it->count, sizeof *it->names, by_bytes);
    return status;
}
