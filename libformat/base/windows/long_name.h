/* Names that are longer than Windows takes them as they are. */
#ifndef GL_BASE_WINDOWS_LONG_NAME_H
#define GL_BASE_WINDOWS_LONG_NAME_H

#include <stddef.h>

enum { GL_LONG_NAME_MORE = 6 }; /* units that gl_windows_long_name adds at most */

/* A whole name (from a drive, a share or a device on) in the form that has no limit, into `out`, which has
 * room for GL_LONG_NAME_MORE units more than the name and its end. */
void gl_windows_long_name(const wchar_t *whole, wchar_t *out);

#endif
