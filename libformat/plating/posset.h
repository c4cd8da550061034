/* A set of positions of one plate: a bit for each, by dense index (layout.h). */
#ifndef GL_PLATING_POSSET_H
#define GL_PLATING_POSSET_H

#include <stdbool.h>
#include <stdint.h>

#include "base/map.h" /* GL_NONE */

typedef struct gl_posset {
    uint64_t *words;
    uint32_t size; /* positions of the plate; bits beyond are 0 */
} gl_posset;

#define GL_POSSET_NONE ((gl_posset){NULL, 0})

/* An empty set over `size` positions; false when memory ran out. */
bool gl_posset_init(gl_posset *set, uint32_t size);
void gl_posset_free(gl_posset *set);

void gl_posset_clear(gl_posset *set);
void gl_posset_fill(gl_posset *set);
void gl_posset_assign(gl_posset *set, const gl_posset *from); /* of equal size */
void gl_posset_add(gl_posset *set, uint32_t index);
void gl_posset_add_range(gl_posset *set, uint32_t first, uint32_t last); /* both included */
void gl_posset_remove(gl_posset *set, uint32_t index);

static inline bool gl_posset_has(const gl_posset *set, uint32_t index) {
    return index < set->size && ((set->words[index / 64] >> (index % 64)) & 1) != 0;
}

/* Both of equal size. */
void gl_posset_and(gl_posset *set, const gl_posset *other);
void gl_posset_or(gl_posset *set, const gl_posset *other);
void gl_posset_minus(gl_posset *set, const gl_posset *other);
void gl_posset_complement(gl_posset *set);
bool gl_posset_equal(const gl_posset *a, const gl_posset *b);
bool gl_posset_meets(const gl_posset *a, const gl_posset *b);
bool gl_posset_within(const gl_posset *a, const gl_posset *b); /* a is a subset of b */

bool gl_posset_empty(const gl_posset *set);
uint32_t gl_posset_count(const gl_posset *set);
/* The first member at `from` or after it; GL_NONE where there is none. */
uint32_t gl_posset_next(const gl_posset *set, uint32_t from);

#endif
