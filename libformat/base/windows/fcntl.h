#ifndef GL_BASE_WINDOWS_FCNTL_H
#define GL_BASE_WINDOWS_FCNTL_H

#include_next <fcntl.h>
#include <io.h>

#include "base/windows/posix.h"

/* Bits that Windows' own flags leave free; a file is never inherited, and a device opens at once. */
#define O_NOFOLLOW 0x01000000
#define O_DIRECTORY 0x02000000
#define O_CLOEXEC 0
#define O_NOCTTY 0
#define O_NONBLOCK 0

int open(const char *path, int flags, ...) GL_POSIX(open);

#endif
