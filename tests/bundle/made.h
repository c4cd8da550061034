/* A bundle in memory, made of slips said by two people. */
#ifndef TESTS_BUNDLE_MADE_H
#define TESTS_BUNDLE_MADE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "bundle/bundle.h"

#define KEEPER "contributor/00000000-0000-4000-8000-000000000001"
#define OTHER "contributor/00000000-0000-4000-8000-000000000002"

static inline glassine_bundle *made_bundle(void) {
    glassine_bundle *bundle = gl_bundle_blank("made.glassine", GLASSINE_WRITE, NULL);
    assert_non_null(bundle);
    bundle->about.keeper = KEEPER;
    bundle->about.title = "Made";
    return bundle;
}

/* "item/00000000-0000-4000-8000-0000000000NN" */
static inline const char *made_id(const char *type, unsigned number, char out[80]) {
    snprintf(out, 80, "%s/00000000-0000-4000-8000-%012x", type, number);
    return out;
}

/* Says `set` (canonical) on a record, following what stands there in that reach. */
static inline glassine_record *made_say(glassine_bundle *bundle, const char *by, const char *id,
                                        glassine_reach reach, const char *set) {
    gl_digest *heads = NULL;
    size_t count = 0;
    const glassine_type_info *type = gl_type_of_id(gl_span_of(id));
    uint32_t subject = gl_store_record_find(bundle->store, gl_span_of(id));
    uint32_t author = type && type->authored ? gl_store_person_find(bundle->store, gl_span_of(by)) : GL_NONE;
    if (subject != GL_NONE && !(type && type->authored && author == GL_NONE))
        assert_int_equal(
            gl_reading_heads(bundle->store, subject, author, reach, bundle->arena, &heads, &count, NULL), 0);
    gl_slip_parts parts = {.after = heads,
                           .after_count = count,
                           .at = GL_SPAN("2026-05-01T10:00:00Z"),
                           .by = gl_span_of(by),
                           .record = gl_span_of(id),
                           .reach = reach,
                           .set = gl_span_of(set)};
    gl_buf line = GL_BUF_EMPTY;
    gl_slip_write(&parts, &line);
    gl_span copy = gl_arena_copy(bundle->arena, gl_buf_span(&line));
    gl_buf_free(&line);
    uint32_t slip;
    bool added;
    assert_int_equal(gl_store_add(bundle->store, copy, 1, &bundle->limits, &slip, &added, NULL), 0);
    assert_int_equal(gl_bundle_index(bundle, NULL), 0);
    return gl_bundle_record_of_slip(bundle, slip);
}

static inline void made_free(glassine_bundle *bundle) {
    bundle->about = (gl_about){0};
    glassine_bundle_close(bundle);
}

#endif
