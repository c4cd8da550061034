/* Raw deflate (RFC 1951) by zlib. Private to this layer. */
#ifndef GL_CONTAINER_DEFLATE_H
#define GL_CONTAINER_DEFLATE_H

#include "base/buf.h"

/* Appends the deflated form of `content`; false when memory ran out. What would inflate to more than the
 * usual limits allow (L006) is put in as it is, in a deflate stream all the same. With `lines` it can be
 * taken up again at the end of a line now and then, where what comes before is lost (RFC 1951 streams with
 * full flushes). */
bool gl_deflate(gl_span content, bool lines, gl_buf *out);

/* In pieces: `write` gets the deflated bytes (as glassine_write does) and may fail with an errno value, which
 * gl_deflater_add hands on; ENOMEM when memory ran out. */
typedef struct gl_deflater gl_deflater;
gl_deflater *gl_deflater_new(glassine_write write, void *context);
void gl_deflater_free(gl_deflater *deflater);
int gl_deflater_add(gl_deflater *deflater, const void *bytes, size_t length, bool last);

#endif
