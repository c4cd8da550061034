#include_next <stdio.h>
#ifndef GL_BASE_WINDOWS_STDIO_H
#define GL_BASE_WINDOWS_STDIO_H

#include "base/windows/posix.h"

FILE *fopen(const char *path, const char *mode) GL_POSIX(fopen);
int rename(const char *from, const char *to) GL_POSIX(rename);

#endif
