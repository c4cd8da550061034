/* The content of an entry, whoever found where it lies. Private to this layer. */
#ifndef GL_CONTAINER_CONTENT_H
#define GL_CONTAINER_CONTENT_H

#include "container/footer.h"

/* As gl_zip_stream, without a look at the local header. */
glassine_status gl_content_stream(const gl_file *file, const gl_entry *entry, glassine_write write,
                                  void *context, gl_digest *digest, glassine_error *error);

#endif
