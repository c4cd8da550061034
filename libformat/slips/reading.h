/* The reading of a record: what its slips amount to (spec/readings.md). */
#ifndef GL_SLIPS_READING_H
#define GL_SLIPS_READING_H

#include "base/arena.h"
#include "slips/store.h"

/* Of readings there are as many as of records: they are kept small. */
typedef struct gl_said {
    const char *text; /* of the value: canonical JSON; NULL: cleared */
    uint32_t length;
    uint32_t slip;
} gl_said;

/* Asked by the functions below. */
typedef struct gl_read_field {
    const char *name_text;
    union {
        gl_said one; /* where said_count is 1 */
        gl_said *several;
    };
    uint32_t said_count; /* values that no other touching slip follows */
    uint16_t name_length;
    uint8_t reach; /* a glassine_reach */
    bool contested;
} gl_read_field;

static inline gl_said gl_said_by(uint32_t slip, gl_span value) {
    return (gl_said){value.text, (uint32_t)value.length, slip};
}

static inline gl_span gl_said_value(const gl_said *said) {
    return (gl_span){said->text, said->length};
}

/* Decoded. */
static inline gl_span gl_read_name(const gl_read_field *field) {
    return (gl_span){field->name_text, field->name_length};
}

/* The values are sorted by value, `at`, digest. */
static inline const gl_said *gl_read_said(const gl_read_field *field, uint32_t index) {
    return field->said_count == 1 ? &field->one : &field->several[index];
}

/* Canonical JSON; absent: cleared. */
static inline gl_span gl_read_value(const gl_read_field *field, uint32_t index) {
    return gl_said_value(gl_read_said(field, index));
}

typedef struct gl_reading {
    gl_read_field *fields; /* sorted by name, then reach */
    uint32_t field_count;
    bool incomplete; /* an `after` leads to a slip that is not in the set */
    bool overfull;   /* fields were left out: more than the limit that the type does not have (L025) */
} gl_reading;

/* `author` GL_NONE: everybody's slips (not authored types); else that person's only. An `after` that leads to
 * another record, reach or (with an author) author is no edge; `stray` (may be NULL) counts these. However
 * the graph is shaped, and whoever wrote it to be slow, it takes time in proportion to (slips + `after` entries) * (fields
 * that several slips touch / 64, rounded up), sorting what they touch, and finding each entry among the slips by halving;
 * memory in proportion to the slips and what they touch. Names and values are spans into the store's lines. */
glassine_status gl_reading_make(const gl_store *store, uint32_t record, uint32_t author, gl_arena *arena,
                                gl_reading *reading, uint32_t *stray, glassine_error *error);

/* The reading as it was for somebody who had these slips and what they follow, and nothing else on the record. */
glassine_status gl_reading_make_at(const gl_store *store, uint32_t record, uint32_t author,
                                   const uint32_t *slips, size_t count, gl_arena *arena, gl_reading *reading,
                                   glassine_error *error);

/* The latest slips for this record and reach (and author), that a new slip follows: those that count and that
 * no other one which counts follows. Sorted by digest, as `after` wants them. */
glassine_status gl_reading_heads(const gl_store *store, uint32_t record, uint32_t author,
                                 glassine_reach reach, gl_arena *arena, gl_digest **heads, size_t *count,
                                 glassine_error *error);

/* Slips of the record (of that author), silent ones too, so that each comes after all it follows; of those
 * that may come next, the one with the earliest `at`, then the smallest digest. */
glassine_status gl_reading_order(const gl_store *store, uint32_t record, uint32_t author, gl_arena *arena,
                                 uint32_t **slips, size_t *count, glassine_error *error);

#endif
