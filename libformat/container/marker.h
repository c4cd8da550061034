/* Finds the beginning of an end record of ours in bytes that pass by in pieces. Private to this layer. */
#ifndef GL_CONTAINER_MARKER_H
#define GL_CONTAINER_MARKER_H

#include "container/footer.h"

typedef struct gl_marker {
    uint8_t carry[2 * GL_MARK_SIZE]; /* the last bytes that passed */
    size_t carried;
    bool found;
} gl_marker;

void gl_marker_pass(gl_marker *marker, const uint8_t *bytes, size_t length);

#endif
