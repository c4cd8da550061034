/* The bundles, scans, sheets and letters that the operations work on: made once, copied for each run. */
#ifndef TESTS_MEMORY_SCENE_H
#define TESTS_MEMORY_SCENE_H

#include "converters.h"

/* Makes the folder and all that is in it; stops the program where it cannot. */
void scene_make(void);
void scene_remove(void);
/* "FOLDER/NAME", in memory that the next sixteen calls leave alone. */
const char *scene_path(const char *name);
/* Ends the program with the error's line. */
void scene_stop(const char *what, const glassine_error *error);
/* A fresh copy under another name. */
void scene_copy(const char *from, const char *to);
/* Takes a file or a folder away, where it is there. */
void scene_drop(const char *name);
/* Of the design and the stamp that the plating is asked about. */
extern char scene_digest[65]; /* of a scan in base.glassine */

#define MUST(call)                                                                                           \
    do {                                                                                                     \
        glassine_error error_ = {0};                                                                         \
        glassine_error *error = &error_;                                                                     \
        if ((call) != GLASSINE_OK)                                                                           \
            scene_stop(#call, error);                                                                        \
    } while (0)

#endif
