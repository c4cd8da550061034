/* Values for callers: decoded, shown, walked. */
#include "bundle/bundle.h"
#include "records/value.h"

gl_span gl_bundle_decoded(glassine_bundle *bundle, gl_span json_string) {
    if (!json_string.text)
        return GL_NO_SPAN;
    gl_span raw = gl_json_raw(json_string);
    if (!raw.length || !memchr(raw.text, '\\', raw.length))
        return gl_arena_copy(bundle->arena, raw);
    gl_buf text = GL_BUF_EMPTY;
    gl_json_add_decoded(&text, json_string);
    gl_span copy = text.failed ? GL_NO_SPAN : gl_arena_copy(bundle->arena, gl_buf_span(&text));
    gl_buf_free(&text);
    bundle->failed = bundle->failed || !copy.text;
    return copy;
}

glassine_span glassine_value_text(glassine_bundle *bundle, glassine_value value) {
    return gl_json_kind_of(value) == GL_JSON_STRING ? gl_bundle_decoded(bundle, value) : GL_NO_SPAN;
}

bool glassine_value_integer(glassine_value value, int64_t *out) {
    return gl_json_kind_of(value) == GL_JSON_INTEGER && gl_json_integer(value, out);
}

static bool add_label(void *context, gl_span id, gl_buf *out) {
    glassine_bundle *bundle = context;
    glassine_record *record = glassine_bundle_record(bundle, id, GL_NO_SPAN);
    if (!record)
        return false;
    gl_buf_add(out, glassine_record_label(bundle, record));
    return true;
}

/* The table's own word for a choice that it has: it is shown as it stands, and needs no copy. NULL: anything else. */
static const char *choice_of(const glassine_field_info *info, gl_span value) {
    if (!info || info->kind != GLASSINE_CHOICE || !info->choices || gl_json_kind_of(value) != GL_JSON_STRING)
        return NULL;
    const char *const *choice = info->choices;
    while (*choice && !gl_span_is(gl_json_raw(value), *choice))
        choice++;
    return *choice;
}

glassine_span glassine_value_shown(glassine_bundle *bundle, glassine_value value,
                                   const glassine_field_info *info) {
    const char *choice = choice_of(info, value);
    if (choice)
        return gl_span_of(choice);
    gl_buf text = GL_BUF_EMPTY;
    gl_value_show(info, value, add_label, bundle, &text);
    gl_span copy = text.failed ? GL_NO_SPAN : gl_arena_copy(bundle->arena, gl_buf_span(&text));
    gl_buf_free(&text);
    bundle->failed = bundle->failed || !copy.text;
    return copy;
}

bool glassine_value_next(glassine_value value, size_t *at, glassine_span *name, glassine_value *item) {
    gl_json_walk walk = gl_json_walk_of(value);
    if (*at)
        walk.at = value.text + *at;
    gl_span member;
    if (!gl_json_next(&walk, name ? name : &member, item))
        return false;
    *at = (size_t)(walk.at - value.text);
    return true;
}

void gl_record_shown(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    gl_span id = gl_record_id(bundle, record), type = glassine_record_type(bundle, record);
    gl_buf_add(out, type);
    gl_buf_add_char(out, ' ');
    gl_buf_add(out, glassine_record_label(bundle, record));
    gl_buf_printf(out, " (%.*s)", GL_SPAN_ARGS(gl_span_part(id, 0, type.length + 9)));
}
