/* The records that go with chosen items when these are sent to somebody (spec/exchange.md). */
#ifndef GL_EXCHANGE_CLOSURE_H
#define GL_EXCHANGE_CLOSURE_H

#include "audit/leaving.h"
#include "bundle/bundle.h"

typedef struct gl_closure {
    glassine_bundle *bundle;
    bool blind;
    glassine_record **records; /* in the order in which they were reached, each once */
    size_t count, room;
    gl_map *keys; /* record key -> place */
} gl_closure;

/* From these items on. Records that the keeper set aside are left out, and so are, where `blind`, those of types
 * that tell a position, and people who speak in these alone. */
glassine_status gl_closure_make(gl_closure *closure, glassine_bundle *bundle, glassine_record *const *items,
                                size_t count, bool blind, glassine_error *error);
bool gl_closure_has(const gl_closure *closure, glassine_record *record);
void gl_closure_free(gl_closure *closure);

#endif
