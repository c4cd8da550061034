/* Work that the library spreads over threads is done in one here (linked with --wrap): to start threads for each input,
 * under a sanitizer and on a machine at work, takes far longer than what they do. */
#include "base/work.h"

void __wrap_gl_work_watched(size_t count, void (*job)(void *context, size_t index), void *context,
                            gl_watch *watch);
void __wrap_gl_work(size_t count, void (*job)(void *context, size_t index), void *context);

void __wrap_gl_work_watched(size_t count, void (*job)(void *context, size_t index), void *context,
                            gl_watch *watch) {
    for (size_t i = 0; i < count; i++) {
        job(context, i);
        if (watch && !gl_watch_add(watch, 0))
            return;
    }
}

void __wrap_gl_work(size_t count, void (*job)(void *context, size_t index), void *context) {
    __wrap_gl_work_watched(count, job, context, NULL);
}
