#include "plating/scope.h"

#include <stdlib.h>

#include "base/error.h"
#include "plating/bearing.h"

/* Subjects in sets that hang together: each leads to its set's root. */
typedef struct sets {
    const gl_store *store;
    uint32_t *parent;
} sets;

static uint32_t root_of(const sets *it, uint32_t subject) {
    while (it->parent[subject] != subject)
        subject = it->parent[subject] = it->parent[it->parent[subject]];
    return subject;
}

static void unite(const sets *it, uint32_t subject, gl_span id) {
    uint32_t other = gl_store_record_find(it->store, gl_json_raw(id));
    if (other == GL_NONE)
        return;
    uint32_t a = root_of(it, subject), b = root_of(it, other);
    it->parent[a > b ? a : b] = a > b ? b : a;
}

static bool is_lead(const gl_bearing *bearing, gl_span name) {
    for (size_t i = 0; i < GL_LEADS_MOST && bearing->leads[i]; i++)
        if (gl_span_is(name, bearing->leads[i]))
            return true;
    return false;
}

/* By what a slip says, whether or not it still stands: rather too much than too little. */
static void unite_said(const sets *it, uint32_t subject, gl_span set, const gl_bearing *bearing) {
    gl_json_walk members = gl_json_walk_of(set);
    gl_span name, value, item, none;
    while (gl_json_next(&members, &name, &value)) {
        if (!is_lead(bearing, name))
            continue;
        if (gl_json_kind_of(value) == GL_JSON_STRING)
            unite(it, subject, value);
        gl_json_walk items = gl_json_walk_of(gl_json_kind_of(value) == GL_JSON_ARRAY ? value : GL_NO_SPAN);
        while (gl_json_next(&items, &none, &item))
            if (gl_json_kind_of(item) == GL_JSON_STRING)
                unite(it, subject, item);
    }
}

static void unite_all(const sets *it, const glassine_bundle *bundle, const gl_bearings *bearings) {
    for (uint32_t slip = 0; slip < gl_store_count(it->store); slip++) {
        uint32_t subject = gl_store_at(it->store, slip)->record;
        const gl_bearing *bearing = bearings->of[bundle->newest_of[subject]->type];
        if (bearing && bearing->leads[0])
            unite_said(it, subject, gl_slip_set(gl_store_line(it->store, slip)), bearing);
    }
}

/* A set of which one is marked is marked at its root, then everywhere. */
static void mark_sets(const sets *it, const glassine_bundle *bundle, const gl_bearings *bearings, bool *marks,
                      uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        if (marks[i])
            marks[root_of(it, i)] = true;
    for (uint32_t i = 0; i < count; i++)
        marks[i] = marks[root_of(it, i)];
    for (uint32_t i = 0; i < count; i++) {
        const gl_bearing *bearing = bearings->of[bundle->newest_of[i]->type];
        marks[i] = marks[i] || (bearing && bearing->wide);
    }
}

glassine_status gl_scope_spread(const glassine_bundle *bundle, bool *marks, glassine_error *error) {
    uint32_t count = gl_store_records(bundle->store);
    sets it = {bundle->store, malloc((count + (size_t)1) * sizeof *it.parent)};
    if (!it.parent)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < count; i++)
        it.parent[i] = i;
    gl_bearings bearings = gl_bearings_in(bundle);
    unite_all(&it, bundle, &bearings);
    mark_sets(&it, bundle, &bearings, marks, count);
    free(it.parent);
    return GLASSINE_OK;
}

size_t gl_scope_records(const glassine_bundle *bundle, const bool *marks, glassine_record **list) {
    gl_bearings bearings = gl_bearings_in(bundle);
    size_t count = 0;
    for (size_t i = 0; i < bundle->record_count; i++) {
        glassine_record *record = bundle->records[i];
        const gl_bearing *bearing = bearings.of[record->type];
        if (!bearing || !bearing->surveyed || (marks && !marks[record->subject]))
            continue;
        if (list)
            list[count] = record;
        count++;
    }
    return count;
}
