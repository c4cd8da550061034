/* Libraries that are loaded when the first call of one is to be made, as the library has it for itself
 * (libformat/base/late.h, which says more). What is wanted of one is named once, declared where several files call
 * it, and defined in one:
 *
 *     #define ZIP_CALLS(X) X(archive_read_new) X(archive_read_free)
 *     CONV_LATE_DECLARE(libarchive, ZIP_CALLS);
 *     CONV_LATE_DEFINE(libarchive, ZIP_CALLS, GLASSINE_LATE_ARCHIVE, "workbooks cannot be read");
 *
 * After conv_late_load(&libarchive_late, …) it is called as libarchive.archive_read_new(). */
#ifndef CONVERTERS_LATE_H
#define CONVERTERS_LATE_H

#include "glassine.h"

typedef struct conv_late {
    const char *file;         /* as the system's loader looks for it */
    const char *without;      /* what cannot be done without it */
    const char *const *names; /* of the functions that are wanted */
    size_t count;
    void *calls; /* as many pointers to functions, in the same order */
    bool there;  /* all of it; it then stays */
} conv_late;

/* Sees to it that the library is there; any thread may ask. `place` is what cannot be read or written else. */
glassine_status conv_late_load(conv_late *library, const char *place, glassine_error *error);

#define CONV_LATE_POINTER(name) __typeof__(name) *name;
#define CONV_LATE_NAME(name) #name,
#define CONV_LATE_ITSELF(name) name,

#define CONV_LATE_DECLARE(library, CALLS)                                                                    \
    extern struct library##_calls { CALLS(CONV_LATE_POINTER) } library;                                      \
    extern conv_late library##_late

#ifdef GLASSINE_LATE
#define CONV_LATE_DEFINE(library, CALLS, its_file, cannot)                                                   \
    struct library##_calls library;                                                                          \
    static const char *const library##_names[] = {CALLS(CONV_LATE_NAME)};                                    \
    conv_late library##_late = {.file = its_file,                                                            \
                                .without = cannot,                                                           \
                                .names = library##_names,                                                    \
                                .count = sizeof library##_names / sizeof *library##_names,                   \
                                .calls = &library}
#else
#define CONV_LATE_DEFINE(library, CALLS, its_file, cannot)                                                   \
    struct library##_calls library = {CALLS(CONV_LATE_ITSELF)};                                              \
    conv_late library##_late = {.there = true}
#endif

#endif
