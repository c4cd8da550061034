/* Lists as people type them: "a, b, c". A backslash takes away the meaning of the character behind it, so
 * that
 * "\," is a comma within an element and "\\" a backslash. */
#ifndef GL_RECORDS_LIST_H
#define GL_RECORDS_LIST_H

#include "base/buf.h"

/* The next element, appended to `out` without its backslashes and the white space around it. *at starts at 0;
 * false at the end, and where `out` has failed. An empty text has no element; "a,,b" has an empty one in its middle. */
bool gl_list_next(gl_span typed, size_t *at, gl_buf *out);

/* Appends an element as gl_list_next reads it, with ", " before it unless it is the first. */
void gl_list_add(gl_buf *out, gl_span element, bool first);

#endif
