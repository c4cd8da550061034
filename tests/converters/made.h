/* A bundle in memory, made of slips that the test writes. */
#ifndef TESTS_CONVERTERS_MADE_H
#define TESTS_CONVERTERS_MADE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>
#include <jansson.h>

#include "bundle/bundle.h"

#define KEEPER "contributor/00000000-0000-4000-8000-000000000001"
#define OTHER "contributor/00000000-0000-4000-8000-000000000002"
#define UUID(n) "00000000-0000-4000-8000-00000000" n
#define ITEM "item/" UUID("0101")
#define STAMP "stamp/" UUID("0201")
#define CLAIM "claim/" UUID("0301")

/* What a slip says, with `after` as made_say has it. */
typedef struct made_slip {
    const char *by, *record;
    glassine_reach reach;
    const char *set;   /* canonical */
    const char *clear; /* canonical, or NULL */
    const char *at;    /* NULL: one time for all */
    const gl_digest *after;
    size_t after_count;
} made_slip;

static inline glassine_bundle *made_bundle(void) {
    glassine_bundle *bundle = gl_bundle_blank("made.glassine", GLASSINE_WRITE, NULL);
    assert_non_null(bundle);
    bundle->about.keeper = KEEPER;
    bundle->about.title = "Sorrel \"Kingfisher\"";
    bundle->about.uuid = UUID("ffff");
    return bundle;
}

static inline void made_free(glassine_bundle *bundle) {
    bundle->about = (gl_about){0};
    glassine_bundle_close(bundle);
}

/* Adds the line, however it came to be; its digest. */
static inline gl_digest made_line(glassine_bundle *bundle, gl_span line) {
    uint32_t slip;
    bool added;
    glassine_error error = {0};
    gl_line_kind kind;
    if (gl_line_check(line, &bundle->limits, NULL, &kind, &error))
        fail_msg("%s: %s", line.text, error.message);
    gl_span copy = gl_arena_copy(bundle->arena, line);
    assert_int_equal(gl_store_add(bundle->store, copy, 1, &bundle->limits, &slip, &added, NULL), 0);
    assert_int_equal(gl_bundle_index(bundle, NULL), 0);
    return gl_store_at(bundle->store, slip)->digest;
}

static inline gl_digest made_add(glassine_bundle *bundle, made_slip slip) {
    gl_slip_parts parts = {.after = slip.after,
                           .after_count = slip.after_count,
                           .at = gl_span_of(slip.at ? slip.at : "2026-05-01T10:00:00Z"),
                           .by = gl_span_of(slip.by),
                           .record = gl_span_of(slip.record),
                           .reach = slip.reach,
                           .set = gl_span_of(slip.set),
                           .clear = gl_span_of(slip.clear)};
    gl_buf line = GL_BUF_EMPTY;
    gl_slip_write(&parts, &line);
    gl_digest digest = made_line(bundle, gl_buf_span(&line));
    gl_buf_free(&line);
    return digest;
}

/* A first slip: it follows nothing. */
static inline gl_digest made_say(glassine_bundle *bundle, const char *by, const char *record,
                                 glassine_reach reach, const char *set) {
    return made_add(bundle, (made_slip){.by = by, .record = record, .reach = reach, .set = set});
}

/* One that follows another. */
static inline gl_digest made_follow(glassine_bundle *bundle, const char *by, const char *record,
                                    glassine_reach reach, const char *set, const char *clear,
                                    const gl_digest *after) {
    return made_add(bundle, (made_slip){.by = by,
                                        .record = record,
                                        .reach = reach,
                                        .set = set,
                                        .clear = clear,
                                        .after = after,
                                        .after_count = 1});
}

static inline int into_buf(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

#endif
