/* Long work, watched: how much is done, told on the caller's thread, and stopped where the caller wants that.
 * The work itself may lie on several threads. */
#ifndef GL_BASE_WATCH_H
#define GL_BASE_WATCH_H

#include <stdatomic.h>

#include "base/span.h"

typedef struct gl_watch {
    const glassine_watch *by; /* NULL: nobody */
    const char *doing, *unit; /* NULL unit: bytes */
    uint64_t total;
    atomic_uint_fast64_t done;
    atomic_bool stopped;
} gl_watch;

/* On any thread: `more` was done. False: stop here. */
bool gl_watch_add(gl_watch *watch, uint64_t more);
/* On the caller's thread: tells, and asks whether to go on. False: stopped, now or before. */
bool gl_watch_tell(gl_watch *watch);
/* The error of what was stopped. */
glassine_status gl_watch_fail(glassine_error *error);

#endif
