/* A growing byte buffer. Failure sticks: append freely, then look at `failed` once. */
#ifndef GL_BASE_BUF_H
#define GL_BASE_BUF_H

#include <stdbool.h>

#include "base/span.h"

typedef struct gl_buf {
    char *text; /* always followed by a NUL byte once anything was appended */
    size_t length;
    size_t room;
    bool failed; /* memory ran out somewhere; the content is then not to be used */
} gl_buf;

#define GL_BUF_EMPTY ((gl_buf){NULL, 0, 0, false})

void gl_buf_free(gl_buf *buf);  /* and makes it empty again */
void gl_buf_clear(gl_buf *buf); /* length 0, room kept; a failure stays */
bool gl_buf_reserve(gl_buf *buf, size_t more);
void gl_buf_add(gl_buf *buf, gl_span span);
void gl_buf_add_bytes(gl_buf *buf, const void *bytes, size_t length);
void gl_buf_add_text(gl_buf *buf, const char *text);
void gl_buf_add_char(gl_buf *buf, char c);
void gl_buf_printf(gl_buf *buf, const char *format, ...) __attribute__((format(printf, 2, 3)));
static inline gl_span gl_buf_span(const gl_buf *buf) {
    return (gl_span){buf->text ? buf->text : "", buf->length};
}

/* Growth of a plain array: doubles *room until `need` elements of `size` bytes fit.
 * Returns the (moved) array or NULL, the old one then being untouched. */
void *gl_grow(void *array, size_t *room, size_t need, size_t size);

#endif
