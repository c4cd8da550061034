/* What standings can be others than before, once something came: all that follows from a slip, and from whose word
 * counts now and did not, or the reverse. */
#include <stdlib.h>

#include "base/error.h"
#include "exchange/merge.h"
#include "plating/bearing.h"
#include "plating/scope.h"

/* Does it say whose word counts? */
static bool touches_trust(const gl_store *store, uint32_t slip) {
    return gl_trust_touched_by(gl_store_record(store, gl_store_at(store, slip)->record)->id,
                               gl_store_line(store, slip));
}

bool gl_merge_judges_anew(const gl_merging *it) {
    const gl_store *store = it->bundle->store;
    bool anew = it->draft->signatures.length > 0;
    for (uint32_t slip = it->draft->base; slip < gl_store_count(store) && !anew; slip++)
        anew = touches_trust(store, slip);
    return anew;
}

bool gl_merge_bears(const gl_merging *it) {
    gl_bearings bearings = gl_bearings_in(it->bundle);
    bool bears = false;
    for (uint32_t slip = it->first; slip < gl_store_count(it->bundle->store) && !bears; slip++)
        bears = bearings.of[gl_bundle_record_of_slip(it->bundle, slip)->type] != NULL;
    return bears;
}

typedef struct scoping {
    const gl_merging *merging;
    const gl_store *store;
    bool *marks; /* by subject */
    bool *heard; /* by person: their word may count otherwise than before */
    bool any, everybody;
} scoping;

static void mark(const scoping *it, uint32_t slip) {
    it->marks[gl_store_at(it->store, slip)->record] = true;
}

/* A slip that gives, takes back or decides on a key is on the record of the one whose key it is. By the keeper's keys
 * everybody may be vouched for. */
static void hear(scoping *it, uint32_t slip) {
    if (!touches_trust(it->store, slip))
        return;
    gl_span id = gl_store_record(it->store, gl_store_at(it->store, slip)->record)->id;
    uint32_t person = gl_store_person_find(it->store, id);
    it->everybody = it->everybody || gl_span_is(id, it->merging->bundle->about.keeper);
    if (person != GL_NONE)
        it->any = it->heard[person] = true;
}

/* Slips that were here, and are signed only now. */
static void mark_signed(scoping *it, uint32_t before) {
    gl_span rest = gl_buf_span(&it->merging->draft->signatures);
    while (rest.length) {
        const char *end = memchr(rest.text, '\n', rest.length);
        size_t length = end ? (size_t)(end - rest.text) : rest.length;
        gl_signature_view view;
        gl_digest of;
        gl_signature_look(gl_span_part(rest, 0, length), &view);
        uint32_t slip = gl_digest_parse(view.of, &of) ? gl_store_find(it->store, &of) : GL_NONE;
        if (slip < before) {
            mark(it, slip);
            hear(it, slip);
        }
        rest = gl_span_part(rest, length + 1, rest.length);
    }
}

static void mark_all(scoping *it) {
    uint32_t before = it->merging->draft->base, count = gl_store_count(it->store);
    for (uint32_t slip = before; slip < count; slip++) {
        mark(it, slip);
        hear(it, slip);
    }
    mark_signed(it, before);
    for (uint32_t slip = 0; it->any && slip < count; slip++)
        if (it->heard[gl_store_at(it->store, slip)->author])
            mark(it, slip);
}

/* May something that is marked bear on every stamp? */
static bool is_wide(const scoping *it) {
    const glassine_bundle *bundle = it->merging->bundle;
    gl_bearings bearings = gl_bearings_in(bundle);
    for (uint32_t i = 0; i < gl_store_records(it->store); i++) {
        const gl_bearing *bearing = bearings.of[bundle->newest_of[i]->type];
        if (it->marks[i] && bearing && bearing->wide)
            return true;
    }
    return false;
}

glassine_status gl_merge_scope(const gl_merging *merging, bool **scope, glassine_error *error) {
    const gl_store *store = merging->bundle->store;
    scoping it = {.merging = merging,
                  .store = store,
                  .marks = calloc(gl_store_records(store) + (size_t)1, sizeof *it.marks),
                  .heard = calloc(gl_store_people(store) + (size_t)1, sizeof *it.heard)};
    *scope = NULL;
    glassine_status status = it.marks && it.heard ? GLASSINE_OK : gl_fail_memory(error);
    if (!status)
        mark_all(&it);
    bool everywhere = !status && (it.everybody || is_wide(&it));
    if (!status && !everywhere)
        status = gl_scope_spread(merging->bundle, it.marks, error);
    free(it.heard);
    if (status || everywhere)
        free(it.marks);
    else
        *scope = it.marks;
    return status;
}
