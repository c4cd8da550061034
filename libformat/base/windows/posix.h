/* What the tree uses of POSIX.1-2008 and Windows lacks, or does in another way. The headers of this folder
 * stand before the compiler's own and add it to them: each function is declared under its name in POSIX, and
 * is called gl_posix_… where it is linked, so that it meets no function of Windows' C library. File names are
 * UTF-8 throughout, '/' and '\' both part folders, and nothing turns line ends. */
#ifndef GL_BASE_WINDOWS_POSIX_H
#define GL_BASE_WINDOWS_POSIX_H

#define GL_POSIX(name) __asm__("gl_posix_" #name)

#endif
