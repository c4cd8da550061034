/* Libraries that few commands need are not linked: each is loaded when the first call of it is to be made, so that
 * no other command waits for it and for all that it needs in its turn. What is wanted of one is named once,
 *
 *     #define TIFF_CALLS(X) X(TIFFClose) X(TIFFIsTiled)
 *     GL_LATE(libtiff, TIFF_CALLS, GLASSINE_LATE_TIFF, "TIFF pictures cannot be read");
 *
 * loaded by gl_late_load(&libtiff_late, …), and from then on called as libtiff.TIFFClose(…). A build that links the
 * library (GLASSINE_LATE is not defined) has it there from the beginning. Converters have their own of this, since
 * they see glassine.h alone: converters/late.h. */
#ifndef GL_BASE_LATE_H
#define GL_BASE_LATE_H

#include "glassine.h"

typedef struct gl_late {
    const char *file;         /* as the system's loader looks for it ("libtiff.so.6") */
    const char *without;      /* what cannot be done without it */
    const char *const *names; /* of the functions that are wanted */
    size_t count;
    void *calls; /* as many pointers to functions, in the same order */
    bool there;  /* all of it; it then stays */
} gl_late;

/* Sees to it that the library is there. Any thread may ask, at any time. Fails with GLASSINE_SYSTEM where the
 * computer has no such library, or one without a function that is wanted; asked again, it looks again. */
glassine_status gl_late_load(gl_late *library, glassine_error *error);

#define GL_LATE_POINTER(name) __typeof__(name) *name;
#define GL_LATE_NAME(name) #name,
#define GL_LATE_ITSELF(name) name,

#ifdef GLASSINE_LATE
#define GL_LATE(library, CALLS, its_file, cannot)                                                            \
    static struct { CALLS(GL_LATE_POINTER) } library;                                                        \
    static const char *const library##_names[] = {CALLS(GL_LATE_NAME)};                                      \
    static gl_late library##_late = {.file = its_file,                                                       \
                                     .without = cannot,                                                      \
                                     .names = library##_names,                                               \
                                     .count = sizeof library##_names / sizeof *library##_names,              \
                                     .calls = &library}
#else
#define GL_LATE(library, CALLS, its_file, cannot)                                                            \
    static const struct { CALLS(GL_LATE_POINTER) } library = {CALLS(GL_LATE_ITSELF)};                        \
    static gl_late library##_late = {.there = true}
#endif

#endif
