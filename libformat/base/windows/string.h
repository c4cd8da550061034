#include_next <string.h>
#ifndef GL_BASE_WINDOWS_STRING_H
#define GL_BASE_WINDOWS_STRING_H

#include "base/windows/posix.h"

int strerror_r(int code, char *out, size_t size) GL_POSIX(strerror_r);
char *strndup(const char *text, size_t length) GL_POSIX(strndup);

#endif
