#ifndef GL_BASE_WINDOWS_SYS_STAT_H
#define GL_BASE_WINDOWS_SYS_STAT_H

#include <io.h>
#include_next <sys/stat.h>

#include "base/windows/posix.h"

int fchmod(int fd, mode_t mode) GL_POSIX(fchmod);
int fstat(int fd, struct stat *facts) GL_POSIX(fstat);
int lstat(const char *path, struct stat *facts) GL_POSIX(lstat);
int mkdir(const char *path, mode_t mode) GL_POSIX(mkdir);
int stat(const char *path, struct stat *facts) GL_POSIX(stat);

#endif
