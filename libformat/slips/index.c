#include "slips/index.h"

#include <stdlib.h>

#include "base/work.h"

#define FIRST_SLOTS ((size_t)64)

void gl_index_free(gl_index *index) {
    free(index->slots);
    *index = GL_INDEX_EMPTY;
}

static gl_index_slot *free_slots(size_t count) {
    gl_index_slot *slots = count <= SIZE_MAX / sizeof *slots ? malloc(count * sizeof *slots) : NULL;
    if (!slots)
        return NULL;
    gl_platform_expect_filled(slots, count * sizeof *slots);
    gl_work_hand_out(slots, count * sizeof *slots);
    memset(slots, 0xff, count * sizeof *slots); /* every number GL_NONE */
    return slots;
}

bool gl_index_copy(const gl_index *index, gl_index *out) {
    *out = *index;
    if (!index->slots)
        return true;
    size_t size = (index->mask + 1) * sizeof *out->slots;
    out->slots = malloc(size);
    if (!out->slots)
        return false;
    gl_platform_expect_filled(out->slots, size);
    gl_work_copy(out->slots, index->slots, size);
    return true;
}

static void place(gl_index *index, gl_index_slot entry) {
    size_t at = entry.hash & index->mask;
    while (index->slots[at].number != GL_NONE)
        at = (at + 1) & index->mask;
    index->slots[at] = entry;
}

bool gl_index_reserve(gl_index *index, size_t more) {
    size_t slots = index->slots ? index->mask + 1 : 0, wanted = slots ? slots : FIRST_SLOTS;
    if (index->count + more <= slots / 3 * 2)
        return true;
    while (wanted / 3 * 2 < index->count + more)
        wanted *= 2;
    gl_index larger = {free_slots(wanted), wanted - 1, 0};
    if (!larger.slots)
        return false;
    for (size_t i = 0; i < slots; i++)
        if (index->slots[i].number != GL_NONE)
            place(&larger, index->slots[i]);
    larger.count = index->count;
    gl_index_free(index);
    *index = larger;
    return true;
}

void gl_index_add(gl_index *index, uint32_t hash, uint32_t number) {
    place(index, (gl_index_slot){hash, number});
    index->count++;
}

void gl_index_remove(gl_index *index, uint32_t hash, uint32_t number) {
    size_t mask = index->mask, hole = hash & mask;
    while (index->slots[hole].number != number)
        hole = (hole + 1) & mask;
    /* Closes the gap: an entry further on moves into the hole unless its own place lies behind the hole. */
    for (size_t at = (hole + 1) & mask; index->slots[at].number != GL_NONE; at = (at + 1) & mask) {
        size_t from_home = (at - index->slots[at].hash) & mask;
        if (from_home >= ((at - hole) & mask)) {
            index->slots[hole] = index->slots[at];
            hole = at;
        }
    }
    index->slots[hole].number = GL_NONE;
    index->count--;
}
