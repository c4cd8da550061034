/* What making parity and mending by it share. Private to this layer. */
#ifndef GL_CONTAINER_PARITIED_H
#define GL_CONTAINER_PARITIED_H

#include "base/hash.h"
#include "container/parity.h"

enum { GL_PARITY_HEAD = 56, GL_PARITY_SUM = 8, GL_DIGEST_SIZE = 32 };

/* Data blocks. */
uint64_t gl_parity_data(const gl_parity *plan);
/* Bytes of one copy of the table. */
size_t gl_parity_table(const gl_parity *plan);
/* The first bytes of a block's SHA-256. */
void gl_parity_sum(gl_hash *hash, const uint8_t *bytes, size_t length, uint8_t out[GL_PARITY_SUM]);
/* False where it can be none. */
bool gl_parity_read_head(const uint8_t in[GL_PARITY_HEAD], gl_parity *plan, unsigned *copy);

/* Which parity block is row `row` of the group: groups go on in turn where the data blocks end, so that
 * neighbours, over that border too, are of different groups. */
static inline uint64_t gl_parity_place(const gl_parity *plan, uint32_t group, uint32_t row) {
    uint64_t turn = gl_parity_data(plan) % plan->groups;
    return (uint64_t)row * plan->groups + (group + plan->groups - turn) % plan->groups;
}

#endif
