/* Inside the layer: gl_json_next for the many lines that are read at once. A line is walked several times,
 * and most of it lies inside strings; where one ends is found by memchr, many bytes at a time. */
#ifndef GL_SLIPS_WALK_H
#define GL_SLIPS_WALK_H

#include "base/json.h"

/* Behind the string that opens at `at`; `end` where it has no end. */
static inline const char *gl_walk_string(const char *at, const char *end) {
    const char *from = at + 1, *quote;
    while ((quote = memchr(from, '"', (size_t)(end - from)))) {
        const char *escape = quote;
        while (escape > at + 1 && escape[-1] == '\\')
            escape--;
        if ((quote - escape) % 2 == 0)
            return quote + 1;
        from = quote + 1;
    }
    return end;
}

/* Behind the value at `at`. */
static inline const char *gl_walk_value(const char *at, const char *end) {
    unsigned open = 0;
    while (at < end) {
        char c = *at;
        if (c == '"') {
            at = gl_walk_string(at, end);
        } else if (c == '{' || c == '[') {
            open++;
            at++;
            continue;
        } else if (open && (c == '}' || c == ']')) {
            open--;
            at++;
        } else if (open) {
            at++;
            continue;
        } else {
            while (at < end && *at != ',' && *at != '}' && *at != ']')
                at++;
        }
        if (open == 0)
            return at;
    }
    return end;
}

/* As gl_json_next: `name` is absent for the elements of an array. */
static inline bool gl_walk_next(gl_json_walk *walk, gl_span *name, gl_span *item) {
    if (walk->at >= walk->end)
        return false;
    const char *at = walk->at, *next = gl_walk_value(at, walk->end);
    *name = GL_NO_SPAN;
    if (next < walk->end && *next == ':') {
        *name = (gl_span){at + 1, (size_t)(next - at) - 2};
        at = next + 1;
        next = gl_walk_value(at, walk->end);
    }
    *item = (gl_span){at, (size_t)(next - at)};
    walk->at = next < walk->end ? next + 1 : next;
    return true;
}

#endif
