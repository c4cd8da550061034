/* Does a value fit its field? */
#include "records/value.h"

#include "base/clock.h"
#include "base/edtf.h"
#include "base/hash.h"
#include "records/table.h"

bool gl_record_id_split(gl_span id, gl_span *type, gl_span *uuid) {
    const char *slash = id.length ? memchr(id.text, '/', id.length) : NULL;
    if (!slash)
        return false;
    size_t at = (size_t)(slash - id.text);
    *type = gl_span_part(id, 0, at);
    *uuid = gl_span_part(id, at + 1, SIZE_MAX);
    return gl_table_name_check(*type) && gl_uuid_check(*uuid);
}

bool gl_field_in_hundredths(const glassine_field_info *info) {
    return info && info->unit && gl_span_starts(gl_span_of(info->unit), GL_SPAN("hundredths"));
}

static const char *fault(const char **rule, const char *code, const char *what) {
    if (rule)
        *rule = code;
    return what;
}

static bool in_list(const char *const *list, gl_span word) {
    for (; *list; list++)
        if (gl_span_is(word, *list))
            return true;
    return false;
}

static const char *text_fault(gl_span item, const char **rule) {
    return item.length > 2 ? NULL : fault(rule, "R025", "an empty text says nothing");
}

static const char *integer_fault(const glassine_field_info *info, gl_span item, const char **rule) {
    int64_t value;
    if (!gl_json_integer(item, &value) || value < info->least || value > info->most)
        return fault(rule, "R023", "outside the range of the field");
    return NULL;
}

static const char *date_fault(gl_span item, const char **rule) {
    gl_date date;
    return gl_edtf_parse(gl_json_raw(item), &date, NULL, NULL)
               ? NULL
               : fault(rule, "R022", "no date of EDTF level 1");
}

static const char *choice_fault(const glassine_field_info *info, gl_span item, const char **rule) {
    return in_list(info->choices, gl_json_raw(item)) ? NULL
                                                     : fault(rule, "R021", "none of the field's choices");
}

static const char *ref_fault(const glassine_field_info *info, gl_span item, const char **rule) {
    gl_span type, uuid;
    if (!gl_record_id_split(gl_json_raw(item), &type, &uuid))
        return fault(rule, "R030", "no reference of the form TYPE/UUID");
    if (info->refs && !in_list(info->refs, type))
        return fault(rule, "R031", "a reference to a record of another type than the field allows");
    return NULL;
}

static const char *hex_fault(gl_span item, const char **rule) {
    gl_digest digest;
    return gl_digest_parse(gl_json_raw(item), &digest) ? NULL
                                                       : fault(rule, "R024", "not 64 lower-case hex digits");
}

/* One string, of the kind that a field, or the elements of its list, have. */
static const char *string_fault(const glassine_field_info *info, gl_span item, const char **rule) {
    if (gl_json_kind_of(item) != GL_JSON_STRING)
        return fault(rule, "R020", "not a text");
    switch (info->kind) {
    case GLASSINE_DATE:
        return date_fault(item, rule);
    case GLASSINE_CHOICE:
    case GLASSINE_CHOICES:
        return choice_fault(info, item, rule);
    case GLASSINE_REF:
    case GLASSINE_REFS:
        return ref_fault(info, item, rule);
    case GLASSINE_HEX:
        return hex_fault(item, rule);
    default:
        return text_fault(item, rule);
    }
}

static const char *list_fault(const glassine_field_info *info, gl_span value, const char **rule) {
    if (gl_json_kind_of(value) != GL_JSON_ARRAY)
        return fault(rule, "R020", "not a list");
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    int64_t count = 0;
    while (gl_json_next(&walk, &name, &item)) {
        const char *what = string_fault(info, item, rule);
        if (what)
            return what;
        count++;
    }
    if (count == 0)
        return fault(rule, "R025", "an empty list says nothing");
    if (info->kind == GLASSINE_REFS && (count < info->least || (info->most > 0 && count > info->most)))
        return fault(rule, "R025", "a list of too few or too many references");
    return NULL;
}

static const char *region_fault(gl_span value, const char **rule) {
    static const char what[] = "not four whole numbers: left, top, width, height";
    if (gl_json_kind_of(value) != GL_JSON_ARRAY)
        return fault(rule, "R026", what);
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    int64_t number, count = 0;
    while (gl_json_next(&walk, &name, &item)) {
        if (!gl_json_integer(item, &number) || ++count > 4)
            return fault(rule, "R026", what);
        if (number < (count > 2 ? 1 : 0))
            return fault(rule, "R026", "left and top count from 0, width and height from 1");
    }
    return count == 4 ? NULL : fault(rule, "R026", what);
}

const char *gl_value_fault(const glassine_field_info *info, gl_span value, const char **rule) {
    if (!info || !value.text)
        return NULL;
    switch (info->kind) {
    case GLASSINE_INTEGER:
        if (gl_json_kind_of(value) != GL_JSON_INTEGER)
            return fault(rule, "R020", "not a whole number");
        return integer_fault(info, value, rule);
    case GLASSINE_TRUTH:
        return gl_json_kind_of(value) == GL_JSON_BOOLEAN ? NULL
                                                         : fault(rule, "R020", "neither true nor false");
    case GLASSINE_TEXTS:
    case GLASSINE_CHOICES:
    case GLASSINE_REFS:
        return list_fault(info, value, rule);
    case GLASSINE_REGION:
        return region_fault(value, rule);
    default:
        return string_fault(info, value, rule);
    }
}
