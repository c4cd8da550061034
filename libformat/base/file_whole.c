/* Whole small files, and folders. */
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>

#include "base/calls.h"
#include "base/file.h"
#include "base/platform.h"

#define READ_STEP ((size_t)1 << 16)

/* Takes no memory: what was done before is done, and wants its sync. */
int gl_file_sync_folder_of(const char *path) {
    gl_span folder = gl_path_folder(path);
    char name[PATH_MAX] = ".";
    int fd = -1;
    if (folder.length >= sizeof name)
        return ENAMETOOLONG;
    if (folder.length) {
        memcpy(name, folder.text, folder.length);
        name[folder.length] = '\0';
    }
    int failure = gl_file_open_read(name, &fd);
    if (failure)
        return failure;
    failure = gl_file_sync(fd);
    if (failure == EINVAL || failure == EOPNOTSUPP)
        failure = 0; /* a file system that keeps its folders without being asked, or cannot be asked */
    int closing = gl_file_close(fd);
    return failure ? failure : closing;
}

/* By read, not pread: what is typed or piped in can be read whole as well. */
static int read_to_end(int fd, size_t limit, gl_buf *out) {
    size_t start = out->length;
    for (;;) {
        if (!gl_buf_reserve(out, READ_STEP))
            return ENOMEM;
        ssize_t got = gl_calls_now()->read(fd, out->text + out->length, READ_STEP);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return errno;
        out->length += (size_t)got;
        out->text[out->length] = '\0';
        if (out->length - start > limit)
            return EFBIG;
        if (got == 0)
            return 0;
    }
}

int gl_file_read_all(const char *path, size_t limit, gl_buf *out) {
    int fd;
    int failure = gl_file_open_read(path, &fd);
    if (failure)
        return failure;
    uint64_t size;
    if (gl_file_size(fd, &size) == 0)
        failure = size > limit ? EFBIG : gl_buf_reserve(out, (size_t)size + READ_STEP) ? 0 : ENOMEM;
    if (!failure)
        failure = read_to_end(fd, limit, out);
    gl_file_close(fd);
    return failure;
}

int gl_file_read_head(const char *path, char *out, size_t room, size_t *length) {
    int fd;
    uint64_t size = 0;
    int failure = gl_file_open_read(path, &fd);
    if (failure)
        return failure;
    failure = gl_file_size(fd, &size);
    *length = size < room ? (size_t)size : room;
    if (!failure)
        failure = gl_file_read_at(fd, out, *length, 0);
    gl_file_close(fd);
    return failure;
}

/* Content into a new file, on disk when it returns. */
static int fill_file(int fd, gl_span content) {
    int failure = gl_file_write_at(fd, content.text, content.length, 0);
    return failure ? failure : gl_file_sync(fd);
}

static int write_whole(const char *path, gl_span content, bool fresh, bool private) {
    gl_buf part = GL_BUF_EMPTY;
    int fd;
    int failure = gl_file_part_new(path, private ? GL_PART_PRIVATE : GL_PART_SHARED, &part, &fd);
    if (failure) {
        gl_buf_free(&part);
        return failure;
    }
    failure = fill_file(fd, content);
    if (!failure)
        failure = fresh ? gl_file_link_new(part.text, path) : gl_file_rename(part.text, path);
    if (failure)
        gl_file_remove(part.text);
    else
        failure = gl_file_sync_folder_of(path);
    int closing = gl_file_close(fd);
    gl_buf_free(&part);
    return failure ? failure : closing;
}

int gl_file_write_all(const char *path, gl_span content, bool fresh) {
    return write_whole(path, content, fresh, false);
}

int gl_file_write_private(const char *path, gl_span content) {
    return write_whole(path, content, true, true);
}

int gl_file_open_nameless(int *fd) {
    gl_buf beside = GL_BUF_EMPTY, name = GL_BUF_EMPTY;
    gl_buf_printf(&beside, "%s/glassine", gl_platform_temporary_folder());
    int code = beside.failed ? ENOMEM : gl_file_part_new(beside.text, GL_PART_PRIVATE, &name, fd);
    if (!code)
        gl_file_remove(name.text);
    gl_buf_free(&beside);
    gl_buf_free(&name);
    return code;
}
