/* A value as people read it. Goes by what the value is: what does not fit its field is shown all the same. */
#include <inttypes.h>

#include "records/list.h"
#include "records/value.h"

typedef struct showing {
    const glassine_field_info *info;
    bool (*name_of)(void *context, gl_span id, gl_buf *out);
    void *context;
} showing;

static void show_integer(const showing *it, gl_span value, gl_buf *out) {
    int64_t number;
    if (!gl_field_in_hundredths(it->info) || !gl_json_integer(value, &number) || number < 0)
        gl_buf_add(out, value);
    else
        gl_buf_printf(out, "%" PRId64 ".%02d", number / 100, (int)(number % 100));
}

static void show_string(const showing *it, gl_span value, gl_buf *out) {
    bool ref = it->info && (it->info->kind == GLASSINE_REF || it->info->kind == GLASSINE_REFS);
    if (!ref || !it->name_of || !it->name_of(it->context, gl_json_raw(value), out))
        gl_json_add_decoded(out, value);
}

static void show_scalar(const showing *it, gl_span value, gl_buf *out) {
    switch (gl_json_kind_of(value)) {
    case GL_JSON_STRING:
        show_string(it, value, out);
        break;
    case GL_JSON_INTEGER:
        show_integer(it, value, out);
        break;
    case GL_JSON_BOOLEAN:
        gl_buf_add_text(out, gl_json_true(value) ? "yes" : "no");
        break;
    default:
        gl_buf_add(out, value);
    }
}

static void show_list(const showing *it, gl_span value, gl_buf *out) {
    gl_buf element = GL_BUF_EMPTY;
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    for (bool first = true; gl_json_next(&walk, &name, &item); first = false) {
        gl_buf_clear(&element);
        show_scalar(it, item, &element);
        gl_list_add(out, gl_buf_span(&element), first);
    }
    out->failed = out->failed || element.failed;
    gl_buf_free(&element);
}

void gl_value_show(const glassine_field_info *info, gl_span value,
                   bool (*name_of)(void *context, gl_span id, gl_buf *out), void *context, gl_buf *out) {
    const showing it = {info, name_of, context};
    if (gl_json_kind_of(value) == GL_JSON_ARRAY)
        show_list(&it, value, out);
    else
        show_scalar(&it, value, out);
}
