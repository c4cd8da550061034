/* References are followed from items and stamps to designs and plates, and not back. */
#include "exchange/closure.h"

#include <stdlib.h>

#include "base/error.h"

bool gl_closure_has(const gl_closure *closure, glassine_record *record) {
    gl_span key = glassine_record_key(closure->bundle, record);
    return gl_map_find(closure->keys, key) != GL_NONE;
}

static glassine_status add(gl_closure *it, glassine_record *record, bool *fresh, glassine_error *error) {
    *fresh = false;
    gl_span key = glassine_record_key(it->bundle, record);
    if (!key.text)
        return gl_fail_memory(error);
    if (gl_map_find(it->keys, key) != GL_NONE)
        return GLASSINE_OK;
    void *grown = gl_grow(it->records, &it->room, it->count + 1, sizeof *it->records);
    if (!grown)
        return gl_fail_memory(error);
    it->records = grown;
    if (!gl_map_set(it->keys, key, (uint32_t)it->count))
        return gl_fail_memory(error);
    it->records[it->count++] = record;
    *fresh = true;
    return GLASSINE_OK;
}

/* An event of these kinds says where an item went, which is nobody's affair but the parties'. */
static bool stays_behind(glassine_bundle *bundle, glassine_record *record) {
    if (!gl_span_is(glassine_record_type(bundle, record), "event"))
        return false;
    gl_span kind = glassine_record_text(bundle, record, "kind");
    return gl_span_is(kind, "sent") || gl_span_is(kind, "returned");
}

typedef glassine_status (*follow)(gl_closure *it, glassine_record *record, glassine_error *error);

/* Every record of these types that refers to `record`, each then followed by `next` (NULL: no further). */
static glassine_status add_referrers(gl_closure *it, glassine_record *record, const char *const *types,
                                     follow next, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t t = 0; types[t] && !status; t++) {
        glassine_record *const *list;
        size_t count;
        if (!gl_leaves(gl_span_of(types[t]), GLASSINE_SHARED, it->blind))
            continue;
        status = glassine_record_referrers(it->bundle, record, types[t], false, &list, &count, error);
        for (size_t i = 0; i < count && !status; i++) {
            bool fresh;
            if (stays_behind(it->bundle, list[i]))
                continue;
            status = add(it, list[i], &fresh, error);
            if (!status && fresh && next)
                status = next(it, list[i], error);
        }
    }
    return status;
}

static glassine_status follow_plate(gl_closure *it, glassine_record *plate, glassine_error *error) {
    static const char *const types[] = {"plate_state", "mark", NULL};
    return add_referrers(it, plate, types, NULL, error);
}

static glassine_status follow_design(gl_closure *it, gl_span id, glassine_error *error) {
    static const char *const types[] = {"plate", NULL};
    glassine_record *design = id.text ? glassine_bundle_record(it->bundle, id, GL_NO_SPAN) : NULL;
    bool fresh = false;
    glassine_status status = design ? add(it, design, &fresh, error) : GLASSINE_OK;
    return status || !fresh ? status : add_referrers(it, design, types, follow_plate, error);
}

static glassine_status follow_stamp(gl_closure *it, glassine_record *stamp, glassine_error *error) {
    static const char *const types[] = {"scan", "observation", "claim", "opinion", "conclusion", NULL};
    glassine_status status = add_referrers(it, stamp, types, NULL, error);
    return status ? status : follow_design(it, glassine_record_text(it->bundle, stamp, "design"), error);
}

static glassine_status follow_item(gl_closure *it, glassine_record *item, glassine_error *error) {
    static const char *const stamps[] = {"stamp", NULL};
    static const char *const types[] = {"scan",        "marking", "observation", "opinion",
                                        "certificate", "event",   NULL};
    glassine_status status = add_referrers(it, item, stamps, follow_stamp, error);
    return status ? status : add_referrers(it, item, types, NULL, error);
}

/* Is every record that this field names among those that go? */
static bool all_go(const gl_closure *it, glassine_record *record, const char *field) {
    glassine_value list = glassine_record_get(it->bundle, record, field, NULL), item;
    size_t at = 0;
    while (list.text && glassine_value_next(list, &at, NULL, &item)) {
        glassine_record *one =
            glassine_bundle_record(it->bundle, glassine_value_text(it->bundle, item), GL_NO_SPAN);
        if (!one || !gl_closure_has(it, one))
            return false;
    }
    return list.text != NULL;
}

/* Matches between stamps that go, joins between records that go. */
static glassine_status add_ties(gl_closure *it, const char *type, const char *field, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0, count = it->count; i < count && !status; i++) {
        glassine_record *const *list;
        size_t tied;
        status = glassine_record_referrers(it->bundle, it->records[i], type, false, &list, &tied, error);
        for (size_t k = 0; k < tied && !status; k++) {
            bool fresh;
            if (all_go(it, list[k], field))
                status = add(it, list[k], &fresh, error);
        }
    }
    return status;
}

/* Everybody who speaks, or wrote down, in a record that goes. */
static glassine_status add_people(gl_closure *it, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < it->count && !status; i++) {
        uint32_t slip = gl_store_record(it->bundle->store, it->records[i]->subject)->last;
        for (; slip != GL_NONE && !status; slip = gl_store_at(it->bundle->store, slip)->previous) {
            glassine_slip said = glassine_bundle_slip(it->bundle, slip);
            glassine_record *by = glassine_bundle_record(it->bundle, said.by, GL_NO_SPAN);
            glassine_record *via =
                said.via.text ? glassine_bundle_record(it->bundle, said.via, GL_NO_SPAN) : NULL;
            bool fresh;
            if (by)
                status = add(it, by, &fresh, error);
            if (!status && via)
                status = add(it, via, &fresh, error);
        }
    }
    return status;
}

glassine_status gl_closure_make(gl_closure *it, glassine_bundle *bundle, glassine_record *const *items,
                                size_t count, bool blind, glassine_error *error) {
    *it = (gl_closure){.bundle = bundle, .blind = blind, .keys = gl_map_new()};
    glassine_status status = it->keys ? GLASSINE_OK : gl_fail_memory(error);
    for (size_t i = 0; i < count && !status; i++) {
        bool fresh;
        status = add(it, items[i], &fresh, error);
        if (!status && fresh)
            status = follow_item(it, items[i], error);
    }
    if (!status && !blind)
        status = add_ties(it, "match", "stamps", error);
    if (!status)
        status = add_ties(it, "join", "records", error);
    if (!status)
        status = add_people(it, error);
    if (status)
        gl_closure_free(it);
    return status;
}

void gl_closure_free(gl_closure *it) {
    free(it->records);
    gl_map_free(it->keys);
    *it = (gl_closure){0};
}
