/* Comparing what people type with a list of names. */
#ifndef GL_RECORDS_NAMES_H
#define GL_RECORDS_NAMES_H

#include "base/buf.h"

/* The same but for case and for '_', '-' and white space? */
bool gl_name_alike(gl_span typed, gl_span name);

/* A list of names, by number. */
typedef gl_span (*gl_name_at)(const void *list, size_t index);

/* Appends the names that `typed` is most likely to have meant, at most three, as "a, b or c"; false (and
 * nothing appended) where none comes near. */
bool gl_names_near(gl_span typed, gl_name_at at, const void *list, size_t count, gl_buf *out);
/* Appends all of them: "a, b, c". */
void gl_names_list(gl_name_at at, const void *list, size_t count, gl_buf *out);

#endif
