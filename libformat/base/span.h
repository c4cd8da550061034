/* A span: bytes that somebody else keeps. Says until when in the function that hands it out. */
#ifndef GL_BASE_SPAN_H
#define GL_BASE_SPAN_H

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

#include "glassine.h"

typedef glassine_span gl_span; /* { const char *text; size_t length; } text == NULL: absent */

#define GL_SPAN(literal) ((gl_span){(literal), sizeof(literal) - 1})
#define GL_NO_SPAN ((gl_span){NULL, 0})
#define GL_SPAN_ARGS(s)                                                                                      \
    (int)(s).length, ((s).text ? (s).text : "") /* for "%.*s"; an absent span prints nothing */

static inline gl_span gl_span_of(const char *text) {
    return (gl_span){text, text ? strlen(text) : 0};
}

static inline bool gl_span_equal(gl_span a, gl_span b) {
    return a.length == b.length && (a.length == 0 || memcmp(a.text, b.text, a.length) == 0);
}

static inline bool gl_span_is(gl_span a, const char *text) {
    return gl_span_equal(a, gl_span_of(text));
}

static inline bool gl_span_starts(gl_span a, gl_span with) {
    return a.length >= with.length && memcmp(a.text, with.text, with.length) == 0;
}

/* Order by bytes, the shorter first where one begins the other. */
static inline int gl_span_compare(gl_span a, gl_span b) {
    size_t least = a.length < b.length ? a.length : b.length;
    int order = least ? memcmp(a.text, b.text, least) : 0;
    return order ? order : (a.length > b.length) - (a.length < b.length);
}

/* The part from `from` on, at most `length` bytes; both are clamped to what is there. */
static inline gl_span gl_span_part(gl_span a, size_t from, size_t length) {
    if (from > a.length)
        from = a.length;
    if (length > a.length - from)
        length = a.length - from;
    return (gl_span){from ? a.text + from : a.text, length}; /* absent stays absent */
}

#endif
