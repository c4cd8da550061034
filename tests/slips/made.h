/* What the tests of this layer share: cmocka, lines made from their parts, a random sequence that is always
 * the same. */
#ifndef GL_TESTS_SLIPS_MADE_H
#define GL_TESTS_SLIPS_MADE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "base/arena.h"
#include "slips/line.h"
#include "slips/store.h"

#define ADA "contributor/00000000-0000-4000-8000-00000000000a"
#define BEN "contributor/00000000-0000-4000-8000-00000000000b"
#define CAT "contributor/00000000-0000-4000-8000-00000000000c"
#define ITEM "item/00000000-0000-4000-8000-000000000001"

/* xorshift64* (G. Marsaglia, S. Vigna): the tests need variety, not secrecy. */
static inline uint32_t made_random(uint64_t *state, uint32_t below) {
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (uint32_t)(*state * UINT64_C(2685821657736338717) >> 32) % below;
}

static inline int made_is_counted(void *context, uint32_t slip) {
    return !((const bool *)context)[slip];
}

/* Readings of `store` count the slips for which `silent`, which has one for each and lives as long, is false. */
static inline void made_silence(gl_store *store, bool *silent) {
    gl_store_use_judge(store, (gl_store_judge){.counts = made_is_counted, .context = silent});
}

static inline int made_digest_order(const void *a, const void *b) {
    return gl_digest_compare(a, b);
}

/* The line of a slip, in the arena; sorts `after`. `clear` may be NULL. */
static inline gl_span made_slip(gl_arena *arena, gl_digest *after, size_t count, const char *at,
                                const char *by, glassine_reach reach, const char *record, const char *set,
                                const char *clear) {
    gl_slip_parts parts = {.after = after,
                           .after_count = count,
                           .at = gl_span_of(at),
                           .by = gl_span_of(by),
                           .record = gl_span_of(record),
                           .reach = reach,
                           .set = gl_span_of(set),
                           .clear = gl_span_of(clear)};
    gl_buf out = GL_BUF_EMPTY;
    if (count)
        qsort(after, count, sizeof *after, made_digest_order);
    gl_slip_write(&parts, &out);
    gl_span line = gl_arena_copy(arena, gl_buf_span(&out));
    gl_buf_free(&out);
    return line;
}

static inline gl_digest made_digest(gl_span line) {
    gl_hash *hash = gl_hash_new();
    gl_digest digest = gl_hash_once(hash, line.text, line.length);
    gl_hash_free(hash);
    return digest;
}

/* Checks the line and adds it; it must be new. Returns its number. */
static inline uint32_t made_add(gl_store *store, gl_span line) {
    glassine_error error = {0};
    gl_line_kind kind;
    uint32_t slip = GL_NONE;
    bool added = false;
    if (gl_line_check(line, NULL, "", &kind, &error) || kind != GL_LINE_SLIP ||
        gl_store_add(store, line, 1, NULL, &slip, &added, &error) || !added)
        fail_msg("%.*s: %s (%s)", GL_SPAN_ARGS(line), error.message, error.rule);
    return slip;
}

#endif
