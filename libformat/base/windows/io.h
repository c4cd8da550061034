/* Windows declares some of POSIX's functions with other arguments: those declarations go out of the way. */
#ifndef GL_BASE_WINDOWS_IO_H
#define GL_BASE_WINDOWS_IO_H

#define access gl_other_access
#define getcwd gl_other_getcwd
#define mkdir gl_other_mkdir
#define read gl_other_read
#define tell gl_other_tell
#define write gl_other_write
#include_next <io.h>
#undef access
#undef getcwd
#undef mkdir
#undef read
#undef tell
#undef write

#endif
