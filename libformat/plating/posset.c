#include "plating/posset.h"

#include <stdlib.h>
#include <string.h>

static size_t word_count(uint32_t size) {
    return ((size_t)size + 63) / 64;
}

static unsigned lowest_bit(uint64_t word) {
    return (unsigned)__builtin_ctzll(word);
}

bool gl_posset_init(gl_posset *set, uint32_t size) {
    set->size = size;
    set->words = calloc(size ? word_count(size) : 1, sizeof *set->words);
    return set->words != NULL;
}

void gl_posset_free(gl_posset *set) {
    free(set->words);
    *set = GL_POSSET_NONE;
}

void gl_posset_clear(gl_posset *set) {
    memset(set->words, 0, word_count(set->size) * sizeof *set->words);
}

/* Keeps the promise that bits beyond the plate are 0. */
static void trim(gl_posset *set) {
    if (set->size % 64)
        set->words[set->size / 64] &= (UINT64_C(1) << (set->size % 64)) - 1;
}

void gl_posset_fill(gl_posset *set) {
    memset(set->words, 0xff, word_count(set->size) * sizeof *set->words);
    trim(set);
}

void gl_posset_assign(gl_posset *set, const gl_posset *from) {
    if (from->size)
        memcpy(set->words, from->words, word_count(from->size) * sizeof *set->words);
}

void gl_posset_add(gl_posset *set, uint32_t index) {
    set->words[index / 64] |= UINT64_C(1) << (index % 64);
}

void gl_posset_add_range(gl_posset *set, uint32_t first, uint32_t last) {
    uint32_t index = first;
    for (; index <= last && index % 64; index++)
        gl_posset_add(set, index);
    for (; index <= last && last - index >= 63; index += 64)
        set->words[index / 64] = UINT64_MAX;
    for (; index <= last; index++)
        gl_posset_add(set, index);
}

void gl_posset_remove(gl_posset *set, uint32_t index) {
    set->words[index / 64] &= ~(UINT64_C(1) << (index % 64));
}

void gl_posset_and(gl_posset *set, const gl_posset *other) {
    for (size_t i = 0; i < word_count(set->size); i++)
        set->words[i] &= other->words[i];
}

void gl_posset_or(gl_posset *set, const gl_posset *other) {
    for (size_t i = 0; i < word_count(set->size); i++)
        set->words[i] |= other->words[i];
}

void gl_posset_minus(gl_posset *set, const gl_posset *other) {
    for (size_t i = 0; i < word_count(set->size); i++)
        set->words[i] &= ~other->words[i];
}

void gl_posset_complement(gl_posset *set) {
    for (size_t i = 0; i < word_count(set->size); i++)
        set->words[i] = ~set->words[i];
    trim(set);
}

bool gl_posset_equal(const gl_posset *a, const gl_posset *b) {
    return a->size == b->size &&
           (a->size == 0 || memcmp(a->words, b->words, word_count(a->size) * sizeof *a->words) == 0);
}

bool gl_posset_meets(const gl_posset *a, const gl_posset *b) {
    for (size_t i = 0; i < word_count(a->size); i++)
        if (a->words[i] & b->words[i])
            return true;
    return false;
}

bool gl_posset_within(const gl_posset *a, const gl_posset *b) {
    for (size_t i = 0; i < word_count(a->size); i++)
        if (a->words[i] & ~b->words[i])
            return false;
    return true;
}

bool gl_posset_empty(const gl_posset *set) {
    for (size_t i = 0; i < word_count(set->size); i++)
        if (set->words[i])
            return false;
    return true;
}

uint32_t gl_posset_count(const gl_posset *set) {
    uint32_t count = 0;
    for (size_t i = 0; i < word_count(set->size); i++)
        count += (uint32_t)__builtin_popcountll(set->words[i]);
    return count;
}

uint32_t gl_posset_next(const gl_posset *set, uint32_t from) {
    if (from >= set->size)
        return GL_NONE;
    size_t word = from / 64;
    uint64_t bits = set->words[word] & (UINT64_MAX << (from % 64));
    while (bits == 0) {
        if (++word >= word_count(set->size))
            return GL_NONE;
        bits = set->words[word];
    }
    return (uint32_t)(word * 64) + lowest_bit(bits);
}
