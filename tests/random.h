/* A random sequence that is always the same. */
#ifndef TESTS_RANDOM_H
#define TESTS_RANDOM_H

#include <stdint.h>

/* xorshift64* (G. Marsaglia, S. Vigna): the tests need variety, not secrecy. */
static inline uint32_t random_below(uint64_t *state, uint32_t below) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (uint32_t)(*state * UINT64_C(2685821657736338717) >> 32) % below;
}

#endif
