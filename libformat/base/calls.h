/* The system calls on files as a table, so that a test can put its own in place of each. */
#ifndef GL_BASE_CALLS_H
#define GL_BASE_CALLS_H

#include <sys/stat.h>
#include <sys/types.h>

#include "base/file.h"

/* Each returns as its namesake in POSIX does: -1 with errno set where it fails. */
struct gl_calls {
    int (*open)(const char *path, int flags, mode_t mode);
    int (*close)(int fd);
    ssize_t (*read)(int fd, void *bytes, size_t length);
    ssize_t (*pread)(int fd, void *bytes, size_t length, off_t offset);
    ssize_t (*pwrite)(int fd, const void *bytes, size_t length, off_t offset);
    int (*fstat)(int fd, struct stat *result);
    int (*stat)(const char *path, struct stat *result);
    int (*ftruncate)(int fd, off_t size);
    int (*fchmod)(int fd, mode_t mode);
    int (*fdatasync)(int fd);
    int (*fsync)(int fd);
    int (*rename)(const char *from, const char *to);
    int (*link)(const char *from, const char *to);
    int (*unlink)(const char *path);
    int (*mkdir)(const char *path, mode_t mode);
    /* Beyond POSIX: see base/platform.h. */
    ssize_t (*copy_file_range)(int from, off_t from_offset, int to, off_t to_offset, size_t length);
    int (*sync_file_range)(int fd, off_t offset, off_t length);
    int (*rename_new)(const char *from, const char *to);
    int (*flock)(int fd); /* exclusive, without waiting */
    void (*sleep_ms)(unsigned milliseconds);
};

/* The real ones: a test copies them and changes what it wants. */
const gl_calls *gl_calls_system(void);
/* Tests only: from now on these are used; NULL goes back to the real ones. */
void gl_calls_use(const gl_calls *calls);
/* Those in use. */
const gl_calls *gl_calls_now(void);

#endif
