/* The reading of a record as the public interface gives it. */
#include "base/error.h"
#include "bundle/bundle.h"
#include "records/table.h"

glassine_saying gl_saying_of(glassine_bundle *bundle, const gl_said *said) {
    gl_slip_view view;
    gl_slip_look(gl_store_line(bundle->store, said->slip), &view);
    return (glassine_saying){.value = gl_said_value(said),
                             .by = gl_json_raw(view.by),
                             .via = view.via.text ? gl_json_raw(view.via) : GL_NO_SPAN,
                             .at = gl_json_raw(view.at),
                             .why = view.why.text ? gl_bundle_decoded(bundle, view.why) : GL_NO_SPAN,
                             .slip = said->slip,
                             .word = gl_bundle_word(bundle, said->slip)};
}

/* `last`: the saying made before it, which is mostly of the same slip. */
static bool make_field(glassine_bundle *bundle, const glassine_type_info *type, const gl_read_field *from,
                       glassine_saying *last, glassine_field *to) {
    glassine_saying *sayings = GL_ARENA_ARRAY(bundle->arena, glassine_saying, from->said_count);
    if (!sayings)
        return false;
    for (uint32_t i = 0; i < from->said_count; i++) {
        if (!last->by.text || last->slip != gl_read_said(from, i)->slip)
            *last = gl_saying_of(bundle, gl_read_said(from, i));
        sayings[i] = *last;
        sayings[i].value = gl_read_value(from, i);
    }
    gl_span name = gl_read_name(from);
    *to = (glassine_field){.name = name,
                           .reach = from->reach,
                           .contested = from->contested,
                           .sayings = sayings,
                           .saying_count = from->said_count,
                           .info = gl_field_of(type, name)};
    return true;
}

static glassine_field *make_fields(glassine_bundle *bundle, glassine_record *record,
                                   const gl_reading *reading) {
    glassine_field *made = GL_ARENA_ARRAY(bundle->arena, glassine_field, reading->field_count + 1u);
    const glassine_type_info *type = glassine_record_info(bundle, record);
    glassine_saying last = {.value = GL_NO_SPAN};
    for (uint32_t i = 0; made && i < reading->field_count; i++)
        if (!make_field(bundle, type, &reading->fields[i], &last, &made[i]))
            return NULL;
    return made;
}

glassine_status glassine_record_fields(glassine_bundle *bundle, glassine_record *record,
                                       const glassine_field **fields, size_t *count, glassine_error *error) {
    const gl_reading *reading;
    glassine_status status = gl_record_reading(bundle, record, &reading, error);
    if (status)
        return status;
    if (!record->made->fields)
        record->made->fields = make_fields(bundle, record, reading);
    if (!record->made->fields)
        return gl_fail_memory(error);
    *fields = record->made->fields;
    *count = reading->field_count;
    return gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
}

glassine_status glassine_record_fields_at(glassine_bundle *bundle, glassine_record *record,
                                          const char (*slips)[65], size_t slip_count,
                                          const glassine_field **fields, size_t *count,
                                          glassine_error *error) {
    gl_reading reading;
    glassine_status status = gl_record_reading_at(bundle, record, slips, slip_count, &reading, error);
    if (status)
        return status;
    *fields = make_fields(bundle, record, &reading);
    *count = reading.field_count;
    return gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
}

glassine_value glassine_record_get(glassine_bundle *bundle, glassine_record *record, const char *name,
                                   bool *contested) {
    const gl_reading *reading;
    if (contested)
        *contested = false;
    if (gl_record_reading(bundle, record, &reading, NULL))
        return GL_NO_SPAN;
    const gl_read_field *end, *field = gl_reading_named(reading, gl_span_of(name), &end);
    while (field < end && !field->contested && !gl_read_value(field, 0).text)
        field++;
    if (field == end)
        return GL_NO_SPAN;
    if (contested)
        *contested = field->contested;
    return field->contested ? GL_NO_SPAN : gl_read_value(field, 0);
}

glassine_span glassine_record_text(glassine_bundle *bundle, glassine_record *record, const char *field) {
    glassine_value value = glassine_record_get(bundle, record, field, NULL);
    return gl_json_kind_of(value) == GL_JSON_STRING ? gl_bundle_decoded(bundle, value) : GL_NO_SPAN;
}

bool glassine_record_integer(glassine_bundle *bundle, glassine_record *record, const char *field,
                             int64_t *value) {
    return glassine_value_integer(glassine_record_get(bundle, record, field, NULL), value);
}
