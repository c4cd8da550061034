/* Refusals that name the file, the entry and the offset. Private to this layer. */
#ifndef GL_CONTAINER_FAULT_H
#define GL_CONTAINER_FAULT_H

#include "base/error.h"
#include "base/span.h"

/* Place "PATH: byte OFFSET". */
glassine_status gl_fault_at(glassine_error *error, const char *rule, const char *path, uint64_t offset,
                            const char *format, ...) __attribute__((format(printf, 5, 6)));
/* Place "PATH: NAME". */
glassine_status gl_fault_in(glassine_error *error, const char *rule, const char *path, gl_span name,
                            const char *format, ...) __attribute__((format(printf, 5, 6)));
/* Reading failed: GLASSINE_SYSTEM. */
glassine_status gl_fault_reading(glassine_error *error, int code, const char *path);
glassine_status gl_fault_writing(glassine_error *error, int code, const char *path);

#endif
