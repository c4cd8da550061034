/* The same work on many things, on all processors. */
#ifndef GL_BASE_WORK_H
#define GL_BASE_WORK_H

#include "base/watch.h"

/* Calls job(context, index) once for each index below `count`, on as many threads as there are processors,
 * and returns when all are done. In no order: what a job finds out goes where its index says. Where no thread
 * can be had, the caller's does it all. */
void gl_work(size_t count, void (*job)(void *context, size_t index), void *context);
/* The same, watched (NULL: by nobody): the caller's thread tells at the beginning and ten times a second
 * how far it is, and in the end. Once stopped, no further job begins. */
void gl_work_watched(size_t count, void (*job)(void *context, size_t index), void *context, gl_watch *watch);

/* The same on `bytes` bytes in all: where they are few the caller's thread does it alone, which is sooner done than another
 * has begun. Where somebody looks on, threads do it in any case. */
void gl_work_on(uint64_t bytes, size_t count, void (*job)(void *context, size_t index), void *context,
                gl_watch *watch);

/* Memory of which much is touched for the first time is filled by all processors: most of that time goes into the system's
 * handing it out. The first only asks for it, so that whoever fills it need not wait. */
void gl_work_hand_out(void *memory, size_t size);
void gl_work_copy(void *to, const void *from, size_t size);

/* One job on a thread of its own, while the caller does something else. NULL: it was not begun, since no thread can be
 * had, or there is one processor. */
typedef struct gl_beside gl_beside;
gl_beside *gl_beside_begin(void (*job)(void *context), void *context);
/* Waits until it is done; NULL: nothing. */
void gl_beside_end(gl_beside *beside);

#endif
