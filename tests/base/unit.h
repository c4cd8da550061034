/* What every unit test of this folder includes: cmocka, and a small generator of repeatable random numbers.
 */
#ifndef TESTS_BASE_UNIT_H
#define TESTS_BASE_UNIT_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* xorshift64* (S. Vigna, "An experimental exploration of Marsaglia's xorshift generators", 2016). */
typedef struct unit_random {
    uint64_t state; /* not 0 */
} unit_random;

static inline uint64_t unit_next(unit_random *random) {
    random->state ^= random->state >> 12;
    random->state ^= random->state << 25;
    random->state ^= random->state >> 27;
    return random->state * UINT64_C(2685821657736338717);
}

/* 0 … below - 1. */
static inline size_t unit_below(unit_random *random, size_t below) {
    return (size_t)(unit_next(random) >> 33) % below;
}

#define UNIT_COUNT(array) (sizeof(array) / sizeof((array)[0]))

#endif
