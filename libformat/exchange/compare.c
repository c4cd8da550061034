#include "exchange/compare.h"

static bool equal(gl_span a, gl_span b) {
    return (a.text == NULL) == (b.text == NULL) && gl_span_equal(a, b);
}

/* The place behind those that say the same as the saying at `at`. */
static size_t behind(const glassine_field *field, size_t at) {
    gl_span value = field->sayings[at].value;
    while (at < field->saying_count && equal(field->sayings[at].value, value))
        at++;
    return at;
}

bool gl_same_values(const glassine_field *a, const glassine_field *b) {
    size_t i = 0, k = 0;
    if (!a || !b)
        return a == b;
    while (i < a->saying_count && k < b->saying_count) {
        if (!equal(a->sayings[i].value, b->sayings[k].value))
            return false;
        i = behind(a, i);
        k = behind(b, k);
    }
    return i == a->saying_count && k == b->saying_count;
}

glassine_status gl_pairs_of(glassine_bundle *a, glassine_record *in_a, glassine_bundle *b,
                            glassine_record *in_b, gl_pairs *pairs, glassine_error *error) {
    *pairs = (gl_pairs){0};
    glassine_status status = GLASSINE_OK;
    if (in_a)
        status = glassine_record_fields(a, in_a, &pairs->a, &pairs->a_count, error);
    if (in_b && !status)
        status = glassine_record_fields(b, in_b, &pairs->b, &pairs->b_count, error);
    return status;
}

static int order_of(const glassine_field *a, const glassine_field *b) {
    int order = gl_span_compare(a->name, b->name);
    return order ? order : (a->reach > b->reach) - (a->reach < b->reach);
}

bool gl_pairs_next(gl_pairs *it, const glassine_field **a, const glassine_field **b) {
    *a = it->a_at < it->a_count ? &it->a[it->a_at] : NULL;
    *b = it->b_at < it->b_count ? &it->b[it->b_at] : NULL;
    if (*a && *b) {
        int order = order_of(*a, *b);
        if (order < 0)
            *b = NULL;
        if (order > 0)
            *a = NULL;
    }
    it->a_at += *a != NULL;
    it->b_at += *b != NULL;
    return *a || *b;
}

glassine_record *gl_same_record(glassine_bundle *from, glassine_record *record, glassine_bundle *in) {
    return glassine_bundle_record(in, gl_record_id(from, record), glassine_record_author(from, record));
}
