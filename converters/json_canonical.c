#include "json_canonical.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>

#include <utf8proc.h>

/* -------------------------------------------------------------------------- members by UTF-16 (RFC
 * 8785 3.2.3) */

typedef struct member {
    const char *name;
    const json_t *value;
} member;

/* Characters beyond U+FFFF begin with a half that lies below U+E000. */
static uint32_t as_ordered(int32_t code) {
    if (code >= 0x10000)
        return 0xd800;
    return code < 0 ? 0 : (uint32_t)code;
}

static int compare_names(const void *a, const void *b) {
    const unsigned char *x = (const unsigned char *)((const member *)a)->name;
    const unsigned char *y = (const unsigned char *)((const member *)b)->name;
    while (*x && *y) {
        utf8proc_int32_t first, second;
        utf8proc_ssize_t one = utf8proc_iterate(x, -1, &first), other = utf8proc_iterate(y, -1, &second);
        if (first != second && as_ordered(first) != as_ordered(second))
            return as_ordered(first) < as_ordered(second) ? -1 : 1;
        if (first != second)
            return first < second ? -1 : 1;
        x += one > 0 ? one : 1;
        y += other > 0 ? other : 1;
    }
    return (*x != 0) - (*y != 0);
}

static const char *add_object(const json_t *object, conv_output *out) {
    size_t count = json_object_size(object), at = 0;
    member *members = malloc((count + 1) * sizeof *members);
    const char *wrong = NULL;
    if (!members) {
        out->failed = ENOMEM;
        return NULL;
    }
    for (void *it = json_object_iter((json_t *)object); it; it = json_object_iter_next((json_t *)object, it))
        members[at++] = (member){json_object_iter_key(it), json_object_iter_value(it)};
    qsort(members, count, sizeof *members, compare_names);
    conv_add_char(out, '{');
    for (size_t i = 0; i < count && !wrong; i++) {
        if (i)
            conv_add_char(out, ',');
        conv_add_json_string(out, conv_span_of(members[i].name));
        conv_add_char(out, ':');
        wrong = json_canonical(members[i].value, out);
    }
    conv_add_char(out, '}');
    free(members);
    return wrong;
}

static const char *add_array(const json_t *array, conv_output *out) {
    conv_add_char(out, '[');
    for (size_t i = 0; i < json_array_size(array); i++) {
        if (i)
            conv_add_char(out, ',');
        const char *wrong = json_canonical(json_array_get(array, i), out);
        if (wrong)
            return wrong;
    }
    conv_add_char(out, ']');
    return NULL;
}

const char *json_canonical(const json_t *value, conv_output *out) {
    switch (json_typeof(value)) {
    case JSON_OBJECT:
        return add_object(value, out);
    case JSON_ARRAY:
        return add_array(value, out);
    case JSON_STRING:
        conv_add_json_string(out, (glassine_span){json_string_value(value), json_string_length(value)});
        return NULL;
    case JSON_INTEGER:
        conv_printf(out, "%" JSON_INTEGER_FORMAT, json_integer_value(value));
        return NULL;
    case JSON_TRUE:
    case JSON_FALSE:
        conv_add_text(out, json_is_true(value) ? "true" : "false");
        return NULL;
    case JSON_REAL:
        return "a number with a fraction, which no field has";
    default:
        return "null, which is no value: leave the member out";
    }
}
