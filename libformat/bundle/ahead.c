/* Many readings at once: each depends on nothing but the set, so that all processors can make them. */
#include <stdlib.h>

#include "base/error.h"
#include "base/work.h"
#include "bundle/bundle.h"

enum { TOGETHER = 1024 };

typedef struct ahead {
    glassine_bundle *bundle;
    glassine_record *const *records;
    size_t count;
    gl_arena **arenas; /* of each job its own */
    bool *failed;
} ahead;

/* What is worked out when first asked for, and kept, is worked out before: whose slips count. */
static bool prepare(glassine_bundle *bundle, glassine_record *record) {
    if (!gl_record_made(bundle, record))
        return false;
    for (uint32_t slip = gl_record_newest(bundle, record); slip != GL_NONE;
         slip = gl_record_before(bundle, record, slip))
        if (gl_store_counts(bundle->store, slip) < 0)
            return false;
    return true;
}

static bool read_one(const ahead *it, const glassine_record *record, gl_arena *arena) {
    if (record->made->reading)
        return true;
    gl_reading *made = GL_ARENA_NEW(arena, gl_reading);
    if (!made || gl_reading_make(it->bundle->store, record->subject, record->author, arena, made, NULL, NULL))
        return false;
    record->made->reading = made;
    return true;
}

static void read_some(void *context, size_t index) {
    const ahead *it = context;
    size_t end = (index + 1) * TOGETHER < it->count ? (index + 1) * TOGETHER : it->count;
    gl_arena *arena = it->arenas[index] = gl_arena_new();
    bool done = arena;
    for (size_t i = index * TOGETHER; done && i < end; i++)
        done = read_one(it, it->records[i], arena);
    it->failed[index] = !done;
}

glassine_status gl_bundle_read_ahead(glassine_bundle *bundle, glassine_record *const *records, size_t count,
                                     glassine_error *error) {
    size_t jobs = (count + TOGETHER - 1) / TOGETHER;
    ahead it = {bundle, records, count, calloc(jobs + 1, sizeof *it.arenas),
                calloc(jobs + 1, sizeof *it.failed)};
    bool done = it.arenas && it.failed;
    for (size_t i = 0; done && i < count; i++) {
        gl_records_expect(bundle, records, count, i);
        done = prepare(bundle, records[i]);
    }
    if (done)
        gl_work(jobs, read_some, &it);
    for (size_t i = 0; it.arenas && it.failed && i < jobs; i++) {
        gl_arena_take(bundle->arena, it.arenas[i]);
        done = done && !it.failed[i];
    }
    free(it.arenas);
    free(it.failed);
    return done ? GLASSINE_OK : gl_bundle_fail_memory(bundle, error);
}
