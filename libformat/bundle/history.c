/* The slips of a record, and one slip as the public interface gives it. */
#include "base/error.h"
#include "bundle/bundle.h"
#include "records/table.h"
#include "slips/life.h"

glassine_status glassine_record_history(glassine_bundle *bundle, glassine_record *record,
                                        const uint32_t **slips, size_t *count, glassine_error *error) {
    uint32_t *order;
    glassine_status status =
        gl_reading_order(bundle->store, record->subject, record->author, bundle->arena, &order, count, error);
    *slips = status ? NULL : order;
    return gl_bundle_end(bundle, NULL, status, error);
}

static bool show_change(glassine_bundle *bundle, const glassine_type_info *type, const gl_change *made,
                        glassine_change *out) {
    static const glassine_fate fates[] = {[GL_FOLLOWED] = GLASSINE_FOLLOWED,
                                          [GL_STANDS] = GLASSINE_STANDS,
                                          [GL_CONTESTED] = GLASSINE_DISPUTED,
                                          [GL_UNCOUNTED] = GLASSINE_UNCOUNTED};
    glassine_saying *from = GL_ARENA_ARRAY(bundle->arena, glassine_saying, made->from_count + 1u);
    if (!from)
        return false;
    for (uint32_t i = 0; i < made->from_count; i++)
        from[i] = gl_saying_of(bundle, &made->from[i]);
    *out = (glassine_change){.slip = made->slip,
                             .field = made->name,
                             .reach = made->reach,
                             .value = made->value,
                             .fate = fates[made->fate],
                             .from = from,
                             .from_count = made->from_count,
                             .from_total = made->from_total,
                             .info = gl_field_of(type, made->name)};
    return true;
}

glassine_status glassine_record_life(glassine_bundle *bundle, glassine_record *record,
                                     const glassine_change **changes, size_t *count, glassine_error *error) {
    gl_change *made;
    if (bundle->life_of == record && bundle->life_at == bundle->generation) {
        *changes = bundle->life;
        *count = bundle->life_count;
        return GLASSINE_OK;
    }
    glassine_status status =
        gl_life_make(bundle->store, record->subject, record->author, bundle->arena, &made, count, error);
    if (status)
        return status;
    const glassine_type_info *type = glassine_record_info(bundle, record);
    glassine_change *out = GL_ARENA_ARRAY(bundle->arena, glassine_change, *count + 1);
    bool done = out != NULL;
    for (size_t i = 0; i < *count && done; i++)
        done = show_change(bundle, type, &made[i], &out[i]);
    if (!done || glassine_bundle_failed(bundle))
        return gl_fail_memory(error);
    bundle->life_of = record;
    bundle->life_at = bundle->generation;
    bundle->life = *changes = out;
    bundle->life_count = *count;
    return GLASSINE_OK;
}

glassine_slip glassine_bundle_slip(glassine_bundle *bundle, uint32_t number) {
    glassine_slip slip = {0};
    if (number >= gl_store_count(bundle->store))
        return slip;
    const gl_slip *it = gl_store_at(bundle->store, number);
    gl_slip_view view;
    slip.line = gl_store_line(bundle->store, number);
    gl_slip_look(slip.line, &view);
    slip.record = gl_json_raw(view.record);
    slip.by = gl_json_raw(view.by);
    slip.via = view.via.text ? gl_json_raw(view.via) : GL_NO_SPAN;
    slip.at = gl_json_raw(view.at);
    slip.why = view.why.text ? gl_bundle_decoded(bundle, view.why) : GL_NO_SPAN;
    slip.set = view.set;
    slip.clear = view.clear;
    slip.after = view.after;
    slip.reach = (glassine_reach)it->reach;
    slip.edition = it->edition;
    slip.word = gl_bundle_word(bundle, number);
    gl_digest_hex(&it->digest, slip.digest);
    return slip;
}
