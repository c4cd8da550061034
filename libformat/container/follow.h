/* A file that follows another one, which begins with the same bytes and has grown since: a backup. */
#ifndef GL_CONTAINER_FOLLOW_H
#define GL_CONTAINER_FOLLOW_H

#include "container/zip.h"

/* Does `source` begin with `copy`, up to the end of its last whole edition? That edition's directory and end
 * record (with its sum) are compared; every byte where `full`: *differs is then the first that is another
 * one, UINT64_MAX for none. */
glassine_status gl_follow_begins(const gl_zip *copy, const gl_zip *source, bool full, bool *begins,
                                 uint64_t *differs, glassine_error *error);
/* Are the bytes behind the copy's last edition what is left of an earlier gl_follow: the source's, or not
 * written yet? */
glassine_status gl_follow_owns_tail(const gl_zip *copy, const gl_zip *source, bool *owns,
                                    glassine_error *error);
/* Appends to `copy` (which begins as the source does, with no tail but its own) what it lacks. All but the
 * end records comes first, then these in their order, each on disk before the next: so at every
 * moment the copy opens at an edition that it has whole. Where it fails, the copy is cut back as far as the
 * disk allows. */
glassine_status gl_follow(const gl_zip *copy, const gl_zip *source, glassine_error *error);
/* Are the bytes from … to-1 the same in both files? *differs is the first that is another one, UINT64_MAX for
 * none. */
glassine_status gl_follow_compare(int a, int b, uint64_t from, uint64_t to, const char *path,
                                  uint64_t *differs, glassine_error *error);

#endif
