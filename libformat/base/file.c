#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>

#include "base/calls.h"
#include "base/platform.h"

/* One call moves at most this much, whatever is asked: well below SSIZE_MAX everywhere. */
#define MOST_AT_ONCE ((size_t)1 << 30)
#define COPY_BUFFER ((size_t)1 << 18)

static int open_with(const char *path, int flags, mode_t mode, int *fd) {
    do
        *fd = gl_calls_now()->open(path, flags | O_CLOEXEC | O_NOCTTY, mode);
    while (*fd < 0 && errno == EINTR);
    return *fd < 0 ? errno : 0;
}

int gl_file_open_read(const char *path, int *fd) {
    return open_with(path, O_RDONLY, 0, fd);
}

int gl_file_open_write(const char *path, bool create, int *fd) {
    return open_with(path, create ? O_RDWR | O_CREAT | O_EXCL : O_RDWR, 0666, fd);
}

int gl_file_open_private(const char *path, int *fd) {
    return open_with(path, O_RDWR | O_CREAT | O_EXCL, 0600, fd);
}

int gl_file_close(int fd) {
    /* On EINTR the descriptor is gone (Linux); closing it again could hit somebody else's. */
    return gl_calls_now()->close(fd) == 0 || errno == EINTR ? 0 : errno;
}

int gl_file_size(int fd, uint64_t *size) {
    struct stat file;
    if (gl_calls_now()->fstat(fd, &file) != 0)
        return errno;
    if (!S_ISREG(file.st_mode))
        return S_ISDIR(file.st_mode) ? EISDIR : ESPIPE;
    *size = (uint64_t)file.st_size;
    return 0;
}

int gl_file_truncate(int fd, uint64_t size) {
    if (size > INT64_MAX)
        return EFBIG;
    while (gl_calls_now()->ftruncate(fd, (off_t)size) != 0)
        if (errno != EINTR)
            return errno;
    return 0;
}

static bool range_fits(uint64_t offset, uint64_t length) {
    return offset <= INT64_MAX && length <= INT64_MAX - offset;
}

int gl_file_read_at(int fd, void *bytes, size_t length, uint64_t offset) {
    if (!range_fits(offset, length))
        return EFBIG;
    char *at = bytes;
    while (length) {
        size_t part = length < MOST_AT_ONCE ? length : MOST_AT_ONCE;
        ssize_t got = gl_calls_now()->pread(fd, at, part, (off_t)offset);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return errno;
        if (got == 0)
            return ENODATA;
        at += got;
        offset += (uint64_t)got;
        length -= (size_t)got;
    }
    return 0;
}

int gl_file_write_at(int fd, const void *bytes, size_t length, uint64_t offset) {
    if (!range_fits(offset, length))
        return EFBIG;
    const char *at = bytes;
    while (length) {
        size_t part = length < MOST_AT_ONCE ? length : MOST_AT_ONCE;
        ssize_t put = gl_calls_now()->pwrite(fd, at, part, (off_t)offset);
        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0)
            return errno;
        if (put == 0)
            return EIO; /* POSIX leaves it open; trying for ever would not help */
        at += put;
        offset += (uint64_t)put;
        length -= (size_t)put;
    }
    return 0;
}

int gl_file_sync_data(int fd) {
    while (gl_calls_now()->fdatasync(fd) != 0)
        if (errno != EINTR)
            return errno;
    return 0;
}

int gl_file_sync(int fd) {
    while (gl_calls_now()->fsync(fd) != 0)
        if (errno != EINTR)
            return errno;
    return 0;
}

void gl_file_start_writing(int fd, uint64_t offset, uint64_t length) {
    if (range_fits(offset, length))
        gl_calls_now()->sync_file_range(fd, (off_t)offset, (off_t)length);
}

int gl_file_rename(const char *from, const char *to) {
    return gl_calls_now()->rename(from, to) == 0 ? 0 : errno;
}

int gl_file_link_new(const char *from, const char *to) {
    const gl_calls *calls = gl_calls_now();
    if (calls->link(from, to) == 0) {
        calls->unlink(from); /* where that fails it is cleared away another time: the file has its name */
        return 0;
    }
    if (errno != EPERM && errno != ENOSYS && errno != EOPNOTSUPP && errno != EMLINK)
        return errno;
    /* Memory cards and sticks come with file systems that have no hard links. */
    return calls->rename_new(from, to) == 0 ? 0 : errno;
}

int gl_file_take_mode(int from, int to) {
    struct stat facts;
    if (gl_calls_now()->fstat(from, &facts) != 0)
        return errno;
    while (gl_calls_now()->fchmod(to, facts.st_mode & 0777) != 0)
        if (errno != EINTR)
            return errno;
    return 0;
}

int gl_file_remove(const char *path) {
    return gl_calls_now()->unlink(path) == 0 ? 0 : errno;
}

int gl_file_make_folder(const char *path) {
    return gl_calls_now()->mkdir(path, 0777) == 0 ? 0 : errno;
}

static int copy_by_buffer(int from, uint64_t from_offset, int to, uint64_t to_offset, uint64_t length) {
    char *buffer = malloc(COPY_BUFFER);
    if (!buffer)
        return ENOMEM;
    int failure = 0;
    while (length && !failure) {
        size_t part = length < COPY_BUFFER ? (size_t)length : COPY_BUFFER;
        failure = gl_file_read_at(from, buffer, part, from_offset);
        if (!failure)
            failure = gl_file_write_at(to, buffer, part, to_offset);
        from_offset += part;
        to_offset += part;
        length -= part;
    }
    free(buffer);
    return failure;
}

int gl_file_copy_range(int from, uint64_t from_offset, int to, uint64_t to_offset, uint64_t length) {
    if (!range_fits(from_offset, length) || !range_fits(to_offset, length))
        return EFBIG;
    while (length) {
        size_t part = length < MOST_AT_ONCE ? (size_t)length : MOST_AT_ONCE;
        ssize_t done = gl_calls_now()->copy_file_range(from, (off_t)from_offset, to, (off_t)to_offset, part);
        if (done < 0 && errno == EINTR)
            continue;
        if (done < 0 && (errno == ENOSPC || errno == EDQUOT || errno == EFBIG || errno == EIO))
            return errno;
        /* Whatever else it refuses (another file system, a kind of file) plain reading and writing may do,
         * and says better what is wrong where it does not. Some file systems give 0 for what they cannot. */
        if (done <= 0)
            return copy_by_buffer(from, from_offset, to, to_offset, length);
        from_offset += (uint64_t)done;
        to_offset += (uint64_t)done;
        length -= (uint64_t)done;
    }
    return 0;
}

int gl_file_lock(int fd, unsigned wait_ms) {
    const unsigned longest = 50;
    unsigned waited = 0, pause = 1;
    for (;;) {
        if (gl_calls_now()->flock(fd) == 0)
            return 0;
        if (errno == EINTR)
            continue;
        if (errno != EWOULDBLOCK || waited >= wait_ms)
            return errno;
        if (pause > wait_ms - waited)
            pause = wait_ms - waited;
        gl_calls_now()->sleep_ms(pause);
        waited += pause;
        pause = pause * 2 < longest ? pause * 2 : longest;
    }
}

bool gl_file_lock_holder(int fd, gl_buf *out) {
    char name[64];
    long process = gl_platform_lock_holder(fd, name, sizeof name);
    if (process == 0)
        return false;
    if (name[0] == '\0')
        gl_buf_printf(out, "process %ld", process);
    else
        gl_buf_printf(out, "process %ld (%s)", process, name);
    return true;
}

int gl_file_is_same(int fd, const char *path, bool *same) {
    struct stat opened, named;
    if (gl_calls_now()->fstat(fd, &opened) != 0)
        return errno;
    *same = false;
    if (gl_calls_now()->stat(path, &named) != 0)
        return errno == ENOENT || errno == ENOTDIR ? 0 : errno;
    *same = opened.st_dev == named.st_dev && opened.st_ino == named.st_ino;
    return 0;
}

gl_span gl_path_name(const char *path) {
    gl_span name = gl_span_of(path);
    while (name.length > 1 && name.text[name.length - 1] == '/')
        name.length--;
    for (size_t i = name.length; i > 1; i--)
        if (name.text[i - 2] == '/')
            return gl_span_part(name, i - 1, name.length);
    return name;
}

gl_span gl_path_folder(const char *path) {
    return (gl_span){path, (size_t)(gl_path_name(path).text - path)};
}
