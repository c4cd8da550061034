/* The same work on many things, on all processors. */
#ifndef GL_BASE_WORK_H
#define GL_BASE_WORK_H

#include <stddef.h>

/* Calls job(context, index) once for each index below `count`, on as many threads as there are processors,
 * and returns when all are done. In no order: what a job finds out goes where its index says. Where no thread
 * can be had, the caller's does it all. */
void gl_work(size_t count, void (*job)(void *context, size_t index), void *context);

#endif
