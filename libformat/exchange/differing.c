#include "exchange/differing.h"

#include <stdlib.h>

#include "base/error.h"

/* On both sides, where the other one has it. */
static void mark(const gl_store *store, uint32_t slip, bool *own, const gl_store *other, bool *others) {
    uint32_t subject = gl_store_at(store, slip)->record;
    if (own[subject])
        return;
    own[subject] = true;
    uint32_t there = gl_store_record_find(other, gl_store_record(store, subject)->id);
    if (there != GL_NONE)
        others[there] = true;
}

/* Slips of a that b has not, and those that only one of the two counts. */
static bool look_at_a(const gl_store *a, const gl_store *b, gl_differing *differing) {
    uint32_t next = 0;
    for (uint32_t slip = 0; slip < gl_store_count(a); slip++) {
        uint32_t same = gl_store_find_next(b, &gl_store_at(a, slip)->digest, &next);
        int counts = same == GL_NONE ? 0 : gl_store_counts(a, slip),
            there = same == GL_NONE ? 0 : gl_store_counts(b, same);
        if (counts < 0 || there < 0)
            return false;
        differing->only_a += same == GL_NONE;
        if (same == GL_NONE || counts != there)
            mark(a, slip, differing->in_a, b, differing->in_b);
    }
    return true;
}

static void look_at_b(const gl_store *a, const gl_store *b, gl_differing *differing) {
    uint32_t next = 0;
    for (uint32_t slip = 0; slip < gl_store_count(b); slip++)
        if (gl_store_find_next(a, &gl_store_at(b, slip)->digest, &next) == GL_NONE) {
            differing->only_b++;
            mark(b, slip, differing->in_b, a, differing->in_a);
        }
}

glassine_status gl_differing_find(glassine_bundle *a, glassine_bundle *b, gl_differing *differing,
                                  glassine_error *error) {
    size_t in_a = gl_store_records(a->store) + (size_t)1, in_b = gl_store_records(b->store) + (size_t)1;
    *differing = (gl_differing){.in_a = calloc(in_a, sizeof(bool)), .in_b = calloc(in_b, sizeof(bool))};
    if (!differing->in_a || !differing->in_b || !look_at_a(a->store, b->store, differing)) {
        gl_differing_free(differing);
        return gl_fail_memory(error);
    }
    look_at_b(a->store, b->store, differing);
    if (a->limits.record_fields != b->limits.record_fields) { /* they may leave out different fields */
        memset(differing->in_a, true, in_a);
        memset(differing->in_b, true, in_b);
    }
    return GLASSINE_OK;
}

void gl_differing_free(gl_differing *differing) {
    free(differing->in_a);
    free(differing->in_b);
    *differing = (gl_differing){0};
}
