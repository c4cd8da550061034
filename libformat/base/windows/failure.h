/* What platform.c and posix.c share. */
#ifndef GL_BASE_WINDOWS_FAILURE_H
#define GL_BASE_WINDOWS_FAILURE_H

#include <stddef.h>

/* Sets errno by GetLastError; returns -1. */
int gl_windows_failed(void);
/* The name in UTF-16, to be freed; one that is too long for Windows' old limit in the form without it. NULL
 * with errno set. */
wchar_t *gl_windows_path(const char *utf8);

#endif
