/* A record's life: every change of every field, with what it changed (spec/readings.md). */
#ifndef GL_SLIPS_LIFE_H
#define GL_SLIPS_LIFE_H

#include "slips/reading.h"

typedef enum gl_fate {
    GL_FOLLOWED,  /* another change of the field follows it */
    GL_STANDS,    /* it is what the field is */
    GL_CONTESTED, /* it is one of several values that stand */
    GL_UNCOUNTED  /* its slip does not count */
} gl_fate;

/* One slip's word on one field. */
typedef struct gl_change {
    gl_span name, value; /* name decoded; value absent: cleared */
    glassine_reach reach;
    uint32_t slip;
    gl_fate fate;
    const gl_said *from; /* what the field was for its author: the values among what the slip follows that no
                            other of these follows; the latest first */
    uint32_t from_count; /* at most GL_FROM_MOST of them are given … */
    uint32_t from_total; /* … of so many */
} gl_change;

#define GL_FROM_MOST 16

/* In the order of gl_reading_order, a slip's own changes as its line has them. Linear in slips, `after`
 * entries and changes for each field; where a history is so tangled that finding what follows what would take
 * longer, `from` may hold values that are followed by others of them, and from_total then counts these too.
 */
glassine_status gl_life_make(const gl_store *store, uint32_t record, uint32_t author, gl_arena *arena,
                             gl_change **changes, size_t *count, glassine_error *error);

#endif
