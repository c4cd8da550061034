#include "base/arena.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/platform.h"
#include "base/work.h"

/* Chunks grow from the first size to the last one; what is larger than a quarter of a chunk gets its own. */
#define FIRST_CHUNK ((size_t)4096)
#define LAST_CHUNK ((size_t)1 << 20)
#define UNIT GL_ARENA_UNIT

typedef struct chunk {
    struct chunk *before;
    alignas(max_align_t) char bytes[];
} chunk;

struct gl_arena {
    chunk *chunks; /* all of them; the order says nothing */
    char *at;      /* free part of the chunk in use */
    size_t left;
    size_t next; /* size of the next chunk */
    bool failed;
};

gl_arena *gl_arena_new(void) {
    gl_arena *arena = calloc(1, sizeof *arena);
    if (arena)
        arena->next = FIRST_CHUNK;
    return arena;
}

void gl_arena_free(gl_arena *arena) {
    if (!arena)
        return;
    for (chunk *c = arena->chunks, *before; c; c = before) {
        before = c->before;
        free(c);
    }
    free(arena);
}

static chunk *add_chunk(gl_arena *arena, size_t size) {
    chunk *c = size > SIZE_MAX - sizeof(chunk) ? NULL : malloc(sizeof(chunk) + size);
    arena->failed = arena->failed || !c;
    if (!c)
        return NULL;
    c->before = arena->chunks;
    arena->chunks = c;
    return c;
}

/* `unit`: a power of two that the place is a multiple of. */
static void *take(gl_arena *arena, size_t need, size_t unit) {
    size_t skipped = (size_t)(-(uintptr_t)arena->at & (unit - 1));
    if (need > arena->left || skipped > arena->left - need) {
        if (need > arena->next / 4) {
            chunk *own = add_chunk(arena, need);
            return own ? own->bytes : NULL;
        }
        chunk *fresh = add_chunk(arena, arena->next);
        if (!fresh)
            return NULL;
        arena->at = fresh->bytes;
        arena->left = arena->next;
        skipped = 0;
        if (arena->next < LAST_CHUNK)
            arena->next *= 2;
    }
    void *result = arena->at + skipped;
    arena->at += skipped + need;
    arena->left -= skipped + need;
    return result;
}

void *gl_arena_array(gl_arena *arena, size_t count, size_t size) {
    if (size && count > (SIZE_MAX - UNIT) / size) {
        arena->failed = true;
        return NULL;
    }
    size_t need = count * size;
    return take(arena, need ? need : 1, UNIT); /* nothing is something too: NULL says that memory ran out */
}

bool gl_arena_reserve(gl_arena *arena, size_t size) {
    if (size < LAST_CHUNK)
        return true;
    chunk *c = add_chunk(arena, size);
    if (!c)
        return false;
    gl_platform_expect_filled(c, sizeof *c + size);
    gl_work_hand_out(c, sizeof *c + size);
    arena->at = c->bytes;
    arena->left = size;
    return true;
}

gl_span gl_arena_copy(gl_arena *arena, gl_span span) {
    if (span.length == SIZE_MAX)
        return GL_NO_SPAN;
    char *copy = take(arena, span.length + 1, 1);
    if (!copy)
        return GL_NO_SPAN;
    if (span.length)
        memcpy(copy, span.text, span.length);
    copy[span.length] = '\0';
    return (gl_span){copy, span.length};
}

void gl_arena_take(gl_arena *arena, gl_arena *other) {
    if (!other)
        return;
    for (chunk *c = other->chunks, *before; c; c = before) {
        before = c->before;
        c->before = arena->chunks;
        arena->chunks = c;
    }
    arena->failed = arena->failed || other->failed;
    free(other);
}

bool gl_arena_failed(const gl_arena *arena) {
    return arena->failed;
}
