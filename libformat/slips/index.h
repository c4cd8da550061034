/* A hash index of 32-bit numbers: open addressing with linear probing. The caller keeps what the numbers
 * stand for and compares; hashes must be keyed, so that nobody can prepare entries that collide. */
#ifndef GL_SLIPS_INDEX_H
#define GL_SLIPS_INDEX_H

#include "base/map.h"
#include "base/platform.h"

typedef struct gl_index_slot {
    uint32_t hash;
    uint32_t number; /* GL_NONE: free */
} gl_index_slot;

typedef struct gl_index {
    gl_index_slot *slots; /* NULL as long as nothing was reserved */
    size_t mask;          /* number of slots - 1, a power of two - 1 */
    size_t count;
} gl_index;

#define GL_INDEX_EMPTY ((gl_index){NULL, 0, 0})

void gl_index_free(gl_index *index);
/* Another one with the same entries; false when memory ran out. */
bool gl_index_copy(const gl_index *index, gl_index *out);
/* Makes room for so many more, at most a thousand million; false when memory ran out. */
bool gl_index_reserve(gl_index *index, size_t more);
/* After gl_index_reserve. */
void gl_index_add(gl_index *index, uint32_t hash, uint32_t number);
/* Takes out an entry that is there. */
void gl_index_remove(gl_index *index, uint32_t hash, uint32_t number);

/* That hash will be looked for soon. */
static inline void gl_index_expect(const gl_index *index, uint32_t hash) {
    if (index->slots)
        gl_platform_prefetch(&index->slots[hash & index->mask]);
}

/* The next number of that hash, GL_NONE after the last; start with *at = hash. */
static inline uint32_t gl_index_next(const gl_index *index, uint32_t hash, size_t *at) {
    if (!index->slots)
        return GL_NONE;
    for (;;) {
        gl_index_slot slot = index->slots[*at & index->mask];
        ++*at;
        if (slot.number == GL_NONE || slot.hash == hash)
            return slot.number;
    }
}

#endif
