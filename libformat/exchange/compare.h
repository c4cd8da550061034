/* The fields of a record in two bundles, side by side. */
#ifndef GL_EXCHANGE_COMPARE_H
#define GL_EXCHANGE_COMPARE_H

#include "bundle/bundle.h"

/* Do the same values stand in both? Contested ones are the same where the same set of values stands. NULL:
 * unsaid. */
bool gl_same_values(const glassine_field *a, const glassine_field *b);

/* Both records' fields in pairs of one name and reach, in order. */
typedef struct gl_pairs {
    const glassine_field *a, *b;
    size_t a_count, b_count, a_at, b_at;
} gl_pairs;
/* A record NULL has no fields. */
glassine_status gl_pairs_of(glassine_bundle *a, glassine_record *in_a, glassine_bundle *b,
                            glassine_record *in_b, gl_pairs *pairs, glassine_error *error);
/* The next pair, of which one may be NULL; false at the end. */
bool gl_pairs_next(gl_pairs *pairs, const glassine_field **a, const glassine_field **b);

/* The record of the same id and author in another bundle; NULL: it is not there. */
glassine_record *gl_same_record(glassine_bundle *from, glassine_record *record, glassine_bundle *in);

#endif
