#include "base/watch.h"

#include "base/error.h"

bool gl_watch_add(gl_watch *watch, uint64_t more) {
    atomic_fetch_add_explicit(&watch->done, more, memory_order_relaxed);
    return !atomic_load_explicit(&watch->stopped, memory_order_relaxed);
}

bool gl_watch_tell(gl_watch *watch) {
    if (!atomic_load(&watch->stopped) && watch->by && watch->by->tell &&
        !watch->by->tell(watch->by->context, watch->doing, watch->unit, atomic_load(&watch->done),
                         watch->total))
        atomic_store(&watch->stopped, true);
    return !atomic_load(&watch->stopped);
}

glassine_status gl_watch_fail(glassine_error *error) {
    return gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "stopped; nothing was changed");
}
