/* An arena: many small allocations, freed together. */
#ifndef GL_BASE_ARENA_H
#define GL_BASE_ARENA_H

#include "base/span.h"

typedef struct gl_arena gl_arena;

gl_arena *gl_arena_new(void);
void gl_arena_free(gl_arena *arena);

/* Pointers and 64-bit numbers, which is all that anything of ours is made of, lie at multiples of this. */
#define GL_ARENA_UNIT ((size_t)8)

/* Aligned so; NULL when memory ran out or count * size does not fit size_t. Not zeroed. */
void *gl_arena_array(gl_arena *arena, size_t count, size_t size);
#define GL_ARENA_NEW(arena, type) ((type *)gl_arena_array((arena), 1, sizeof(type)))
#define GL_ARENA_ARRAY(arena, type, count) ((type *)gl_arena_array((arena), (count), sizeof(type)))

/* So many bytes are about to be taken, one after the other: of many the memory is asked for at once, on all processors.
 * False when memory ran out. */
bool gl_arena_reserve(gl_arena *arena, size_t size);

/* A copy followed by a NUL byte that is not counted, aligned for nothing: texts lie close together. .text == NULL when
 * memory ran out. */
gl_span gl_arena_copy(gl_arena *arena, gl_span span);

/* All of the other one's memory becomes this one's, and the other is freed. NULL: nothing. */
void gl_arena_take(gl_arena *arena, gl_arena *other);

/* Did it fail to give what it was asked for, ever? */
bool gl_arena_failed(const gl_arena *arena);

#endif
