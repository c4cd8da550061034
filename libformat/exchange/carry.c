#include "exchange/carry.h"

#include <stdio.h>

#include "base/error.h"

glassine_status gl_carry_slips(glassine_draft *draft, glassine_bundle *from,
                               bool (*wanted)(void *context, uint32_t slip), void *context, size_t *added,
                               glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    uint32_t known = from->like == draft->bundle ? from->like_slips : 0, next = known;
    *added = 0;
    for (uint32_t slip = known; slip < gl_store_count(from->store) && !status; slip++) {
        bool fresh = false;
        if (wanted && !wanted(context, slip))
            continue;
        if (gl_store_find_next(draft->bundle->store, &gl_store_at(from->store, slip)->digest, &next) !=
            GL_NONE)
            continue;
        status = gl_draft_take_slip(draft, from, slip, &fresh, error);
        *added += fresh;
    }
    return status ? status : gl_bundle_index(draft->bundle, error);
}

/* Signature lines by their bytes: those of the bundle's log, and those that the draft holds. */
static gl_map *known_signatures(glassine_draft *draft) {
    if (draft->known_signatures)
        return draft->known_signatures;
    const gl_log *log = draft->bundle->log;
    gl_map *known = gl_map_new();
    bool done = known != NULL;
    for (size_t i = 0; i < gl_log_signatures(log) && done; i++)
        done = gl_map_set(known, gl_log_signature(log, i), 1);
    gl_span rest = gl_buf_span(&draft->signatures);
    while (rest.length && done) {
        const char *feed = memchr(rest.text, '\n', rest.length);
        size_t length = feed ? (size_t)(feed - rest.text) : rest.length;
        gl_span line = gl_arena_copy(draft->bundle->arena, gl_span_part(rest, 0, length));
        done = line.text && gl_map_set(known, line, 1);
        rest = gl_span_part(rest, length + 1, rest.length);
    }
    if (!done) {
        gl_map_free(known);
        return NULL;
    }
    return draft->known_signatures = known;
}

glassine_status gl_carry_signatures(glassine_draft *draft, glassine_bundle *from, size_t *added,
                                    glassine_error *error) {
    *added = 0;
    size_t count = gl_trust_verified(from->trust); /* those of a draft of it as well */
    if (!count)
        return GLASSINE_OK;
    gl_map *known = known_signatures(draft);
    glassine_status status = known ? GLASSINE_OK : gl_fail_memory(error);
    for (size_t i = 0; i < count && !status; i++) {
        gl_span line = gl_trust_signature(from->trust, i);
        gl_signature_view view;
        gl_digest of;
        gl_signature_look(line, &view);
        if (gl_map_find(known, line) != GL_NONE || !gl_digest_parse(view.of, &of) ||
            gl_store_find(draft->bundle->store, &of) == GL_NONE)
            continue;
        int fits = gl_trust_fits(from->trust, i);
        if (fits < 0)
            return gl_fail_memory(error);
        if (!fits) /* stays where it is: it says nothing */
            continue;
        gl_span kept = gl_arena_copy(draft->bundle->arena, line);
        status = kept.text && gl_map_set(known, kept, 1) ? gl_draft_add_signature(draft, kept, error)
                                                         : gl_fail_memory(error);
        ++*added;
    }
    return status || !*added ? status : gl_bundle_trust_changed(draft->bundle, error);
}

/* Every digest that stands in the record's `sha256`, contested or not. */
static glassine_status carry_scans_of(glassine_draft *draft, glassine_bundle *from, glassine_record *scan,
                                      size_t *added, glassine_error *error) {
    const gl_reading *reading;
    glassine_status status = gl_record_reading(draft->bundle, scan, &reading, error);
    const gl_read_field *end = NULL,
                        *field = status ? NULL : gl_reading_named(reading, GL_SPAN("sha256"), &end);
    for (; field < end && !status; field++)
        for (uint32_t i = 0; i < field->said_count && !status; i++) {
            char hex[GL_HEX_SIZE];
            bool taken;
            snprintf(hex, sizeof hex, "%.*s", GL_SPAN_ARGS(gl_json_raw(gl_read_value(field, i))));
            status = gl_draft_take_scan(draft, from, hex, &taken, error);
            *added += taken;
        }
    return status;
}

glassine_status gl_carry_scans(glassine_draft *draft, glassine_bundle *from, size_t *added,
                               glassine_error *error) {
    glassine_bundle *to = draft->bundle;
    glassine_status status = GLASSINE_OK;
    *added = 0;
    for (size_t i = 0; i < to->record_count && !status; i++)
        if (gl_span_is(glassine_record_type(to, to->records[i]), "scan"))
            status = carry_scans_of(draft, from, to->records[i], added, error);
    return status;
}
