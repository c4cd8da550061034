/* Names of entries: the grammar, and the check of a whole directory's names. Private to this layer. */
#ifndef GL_CONTAINER_NAME_H
#define GL_CONTAINER_NAME_H

#include "container/zip.h"

typedef struct gl_name_fault {
    const char *rule; /* C060 … C065 */
    const char *what; /* static text */
} gl_name_fault;

/* One name by itself (inner or whole): well-formed, NFC, the grammar, no reserved name. */
bool gl_name_check(gl_span name, gl_name_fault *fault);
/* "glassine-SLUG" */
bool gl_name_is_base(gl_span base);
/* "SHA256.EXT" of "data/scans/SHA256.EXT" (an inner name); its digest. False where it is none. */
bool gl_name_is_scan(gl_span inner, gl_digest *digest);
/* No two equal when case is ignored, none the folder of another: all entries of one directory. */
glassine_status gl_names_apart(const gl_entry *entries, size_t count, const char *path,
                               glassine_error *error);

#endif
