/* Names of entries: the grammar, and the check that names do not meet. */
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
/* "slips/FFFFFFFF-LLLLLLLL.jsonl" (an inner name): its editions. False where it is none. */
bool gl_name_is_segment(gl_span inner, uint32_t *first, uint32_t *last);

/* Names that lie beside each other: no two equal when case is ignored, none the folder of another. */
typedef struct gl_apart gl_apart;
typedef enum gl_meeting {
    GL_APART,
    GL_APART_EQUAL,  /* one of that name, but for its case, is there; or a folder spelled otherwise */
    GL_APART_FOLDER, /* it is a folder of others, or lies in a file */
    GL_APART_NO_MEMORY
} gl_meeting;
gl_apart *gl_apart_new(void); /* NULL: no memory */
void gl_apart_free(gl_apart *names);
/* One more; its text must outlive the names. */
gl_meeting gl_apart_meet(gl_apart *names, gl_span name);
/* All entries of one directory. */
glassine_status gl_names_apart(const gl_entry *entries, size_t count, const char *path,
                               glassine_error *error);

#endif
