/* Records that are one and the same thing, entered more than once: what the keeper's joins amount to
 * (spec/records.md). They say so of ids; the records themselves stay as they are. */
#ifndef GL_BUNDLE_JOINS_H
#define GL_BUNDLE_JOINS_H

#include "bundle/bundle.h"

typedef struct gl_joins gl_joins;

/* The joins that bind: by the bundle's keeper, neither withdrawn nor set aside nor contested. One that
 * contradicts is not applied, whole (gl_joins_fault). Of two that contradict each other the earlier one holds
 * (by `at`, then id). Lives until the set changes or the bundle is closed. */
glassine_status gl_bundle_joins(glassine_bundle *bundle, const gl_joins **joins, glassine_error *error);

/* Is anything joined at all? */
bool gl_joins_any(const gl_joins *joins);
/* The id that stands for `id` and all that it is joined with: the smallest of a record that is there and not
 * set aside; `id` itself where it is joined with none. */
gl_span gl_joins_of(const gl_joins *joins, gl_span id);
/* All ids that are one with `id`, sorted, itself included; 0 where it is joined with none. */
size_t gl_joins_members(const gl_joins *joins, gl_span id, const gl_span **members);

typedef struct gl_join_fault {
    glassine_record *join;
    const char *rule; /* R044, R045 */
    const char *what; /* static text */
} gl_join_fault;
size_t gl_joins_faults(const gl_joins *joins, const gl_join_fault **faults);

/* bundle.h keeps it; for glassine_bundle_close. */
void gl_joins_free(gl_joins *joins);

#endif
