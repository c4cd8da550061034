/* The files in a folder, or in an archive of any kind that libarchive reads without running other programs,
 * one after the other. Private to this layer. */
#ifndef GL_CONTAINER_FOREIGN_H
#define GL_CONTAINER_FOREIGN_H

#include "base/buf.h"
#include "glassine.h"

typedef struct gl_foreign gl_foreign;

/* What a kind of source does; `source` is its own. */
typedef struct gl_foreign_kind {
    /* The next plain file, folders passed over: its name in *name until the next call, *end behind the last.
     */
    glassine_status (*next)(void *source, gl_span *name, bool *end, glassine_error *error);
    /* Bytes of the file at hand, 0 at its end. */
    glassine_status (*read)(void *source, char *bytes, size_t room, size_t *got, glassine_error *error);
    void (*close)(void *source);
} gl_foreign_kind;

struct gl_foreign {
    const gl_foreign_kind *kind;
    void *source;
};

/* Which of the two `path` is, opened. `limits` must outlive it. */
glassine_status gl_foreign_open(const char *path, const glassine_limits *limits, gl_foreign *foreign,
                                glassine_error *error);
void gl_foreign_close(gl_foreign *foreign);

static inline glassine_status gl_foreign_next(gl_foreign *foreign, gl_span *name, bool *end,
                                              glassine_error *error) {
    return foreign->kind->next(foreign->source, name, end, error);
}
static inline glassine_status gl_foreign_read(gl_foreign *foreign, char *bytes, size_t room, size_t *got,
                                              glassine_error *error) {
    return foreign->kind->read(foreign->source, bytes, room, got, error);
}

/* folder.c, archive.c */
glassine_status gl_folder_open(const char *path, const glassine_limits *limits, gl_foreign *foreign,
                               glassine_error *error);
glassine_status gl_archive_open(const char *path, const glassine_limits *limits, gl_foreign *foreign,
                                glassine_error *error);

#endif
