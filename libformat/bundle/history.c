/* The slips of a record, and one slip as the public interface gives it. */
#include "base/error.h"
#include "bundle/bundle.h"

glassine_status glassine_record_history(glassine_bundle *bundle, glassine_record *record, const uint32_t **slips,
                                        size_t *count, glassine_error *error) {
    uint32_t *order;
    glassine_status status =
        gl_reading_order(bundle->store, record->subject, record->author, bundle->arena, &order, count, error);
    *slips = status ? NULL : order;
    return status;
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
    gl_digest_hex(&it->digest, slip.digest);
    return slip;
}
