/* Layouts and sets for the tests: small helpers over the plan of a plate. */
#ifndef TEST_PLATING_LAYOUTS_H
#define TEST_PLATING_LAYOUTS_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "plating/expression.h"

/* A small generator of its own, so that every run sees the same cases (xorshift64*, Vigna 2016, from memory).
 */
static inline uint64_t random_next(uint64_t *state) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return *state * UINT64_C(2685821657736338717);
}

static inline uint32_t random_below(uint64_t *state, uint32_t bound) {
    return (uint32_t)(random_next(state) >> 33) % bound;
}

static inline gl_plan *plan_make(glassine_layout layout) {
    glassine_error error;
    gl_plan *plan = NULL;
    if (gl_plan_new(&layout, &plan, &error))
        fail_msg("%s", error.message);
    return plan;
}

static inline gl_plan *plan_of(uint32_t rows, uint32_t columns) {
    return plan_make((glassine_layout){.rows = rows, .columns = columns, .label = "1"});
}

/* Two panes of 100 beside each other, L and R. */
static inline gl_plan *plan_of_panes(const char *label) {
    return plan_make((glassine_layout){.rows = 10, .columns = 10, .panes_across = 2, .label = label});
}

#endif
