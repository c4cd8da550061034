#include "plating/scope.h"

#include <stdlib.h>

#include "base/error.h"
#include "records/table.h"

/* Fields by which a record bears on what it leads to, and that on the record. */
enum { LEADS_MOST = 4 };
static const struct {
    const char *type, *fields[LEADS_MOST];
} leads[] = {{"stamp", {"item"}},
             {"claim", {"stamp", "basis", "instead_of"}},
             {"match", {"stamps", "basis"}},
             {"conclusion", {"stamp", "basis"}},
             {"observation", {"stamp", "item"}},
             {"join", {"records"}}};

static const char *const wide[] = {"design", "plate", "plate_state", "mark", "join"};

static bool is_of(gl_span id, const char *type) {
    size_t length = strlen(type);
    return id.length > length && id.text[length] == '/' && memcmp(id.text, type, length) == 0;
}

bool gl_scope_is_wide(gl_span id) {
    for (size_t i = 0; i < sizeof wide / sizeof wide[0]; i++)
        if (is_of(id, wide[i]))
            return true;
    return false;
}

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

static bool is_lead(const char *const *fields, gl_span name) {
    for (size_t i = 0; i < LEADS_MOST && fields[i]; i++)
        if (gl_span_is(name, fields[i]))
            return true;
    return false;
}

/* By what a slip says, whether or not it still stands: rather too much than too little. */
static void unite_said(const sets *it, uint32_t subject, gl_span set, const char *const *fields) {
    gl_json_walk members = gl_json_walk_of(set);
    gl_span name, value, item, none;
    while (gl_json_next(&members, &name, &value)) {
        if (!is_lead(fields, name))
            continue;
        if (gl_json_kind_of(value) == GL_JSON_STRING)
            unite(it, subject, value);
        gl_json_walk items = gl_json_walk_of(gl_json_kind_of(value) == GL_JSON_ARRAY ? value : GL_NO_SPAN);
        while (gl_json_next(&items, &none, &item))
            if (gl_json_kind_of(item) == GL_JSON_STRING)
                unite(it, subject, item);
    }
}

static void unite_all(const sets *it, const glassine_bundle *bundle) {
    const char *const *fields_of[UINT8_MAX + 1] = {NULL};
    for (size_t i = 0; i < sizeof leads / sizeof leads[0]; i++)
        if (gl_type_bears(bundle, leads[i].type))
            fields_of[gl_type_place(glassine_type_find(leads[i].type))] = leads[i].fields;
    for (uint32_t slip = 0; slip < gl_store_count(it->store); slip++) {
        uint32_t subject = gl_store_at(it->store, slip)->record;
        const char *const *fields = fields_of[bundle->newest_of[subject]->type];
        if (!fields)
            continue;
        gl_slip_view view;
        gl_slip_look(gl_store_line(it->store, slip), &view);
        unite_said(it, subject, view.set, fields);
    }
}

/* A set of which one is marked is marked at its root, then everywhere. */
static void mark_sets(const sets *it, const glassine_bundle *bundle, bool *marks, uint32_t count) {
    bool is_wide[UINT8_MAX + 1] = {false};
    for (size_t i = 0; i < sizeof wide / sizeof wide[0]; i++)
        is_wide[gl_type_place(glassine_type_find(wide[i]))] = true;
    for (uint32_t i = 0; i < count; i++)
        if (marks[i])
            marks[root_of(it, i)] = true;
    for (uint32_t i = 0; i < count; i++)
        marks[i] = marks[root_of(it, i)];
    for (uint32_t i = 0; i < count; i++)
        marks[i] = marks[i] || is_wide[bundle->newest_of[i]->type];
}

glassine_status gl_scope_spread(const glassine_bundle *bundle, bool *marks, glassine_error *error) {
    uint32_t count = gl_store_records(bundle->store);
    sets it = {bundle->store, malloc((count + (size_t)1) * sizeof *it.parent)};
    if (!it.parent)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < count; i++)
        it.parent[i] = i;
    unite_all(&it, bundle);
    mark_sets(&it, bundle, marks, count);
    free(it.parent);
    return GLASSINE_OK;
}
