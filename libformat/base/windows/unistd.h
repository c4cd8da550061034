#ifndef GL_BASE_WINDOWS_UNISTD_H
#define GL_BASE_WINDOWS_UNISTD_H

#include <io.h>
#define ftruncate gl_other_ftruncate
#include_next <unistd.h>
#undef ftruncate

#include <stddef.h>
#include <sys/types.h>

#include "base/windows/posix.h"

int access(const char *path, int mode) GL_POSIX(access);
int fdatasync(int fd) GL_POSIX(fsync);
int fsync(int fd) GL_POSIX(fsync);
int ftruncate(int fd, off_t size) GL_POSIX(ftruncate);
short geteuid(void) GL_POSIX(geteuid); /* of the type of st_uid */
char *getcwd(char *out, size_t size) GL_POSIX(getcwd);
int isatty(int fd) GL_POSIX(isatty);
int link(const char *from, const char *to) GL_POSIX(link);
ssize_t pread(int fd, void *bytes, size_t length, off_t offset) GL_POSIX(pread);
ssize_t pwrite(int fd, const void *bytes, size_t length, off_t offset) GL_POSIX(pwrite);
ssize_t read(int fd, void *bytes, size_t length) GL_POSIX(read);
int rmdir(const char *path) GL_POSIX(rmdir);
int unlink(const char *path) GL_POSIX(unlink);
ssize_t write(int fd, const void *bytes, size_t length) GL_POSIX(write);

#endif
