#ifndef GL_BASE_WINDOWS_ICONV_H
#define GL_BASE_WINDOWS_ICONV_H

#include <stddef.h>

#include "base/windows/posix.h"

typedef struct gl_posix_iconv *iconv_t;

/* Into UTF-8 only; `from` is UTF-16 or UTF-32 with their two orders, or a code page of Windows'. */
iconv_t iconv_open(const char *to, const char *from) GL_POSIX(iconv_open);
size_t iconv(iconv_t with, char **from, size_t *left, char **to, size_t *room) GL_POSIX(iconv);
int iconv_close(iconv_t with) GL_POSIX(iconv_close);

#endif
