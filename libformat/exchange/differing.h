/* What two sets of slips have apart from each other, and on which records. */
#ifndef GL_EXCHANGE_DIFFERING_H
#define GL_EXCHANGE_DIFFERING_H

#include "bundle/bundle.h"

typedef struct gl_differing {
    size_t only_a, only_b; /* slips */
    bool *in_a, *in_b;     /* by subject in that store: its readings may be others than on the other side */
} gl_differing;

/* Records on which both have the same slips, and count the same of them, read the same: they are not marked.
 */
glassine_status gl_differing_find(glassine_bundle *a, glassine_bundle *b, gl_differing *differing,
                                  glassine_error *error);
void gl_differing_free(gl_differing *differing);

#endif
