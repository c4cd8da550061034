/* Making a picture smaller: every new pixel is the mean of the area of old ones that it covers. */
#ifndef GL_IMAGES_SHRINK_H
#define GL_IMAGES_SHRINK_H

#include "images/pixels.h"

/* Rows of `from` in a smaller size (or the same). What cannot be read is white. */
typedef struct gl_shrink {
    gl_pixels *from;
    uint32_t width, height;
    unsigned channels;
    uint8_t *row_in;
    float *row; /* narrowed */
    float *sum; /* of the rows that the next one covers */
    uint32_t at_in;
    float part; /* of row_in that was given to an earlier row; what is left of it is 1 - part */
    bool has_row;
} gl_shrink;

bool gl_shrink_open(gl_shrink *shrink, gl_pixels *from, uint32_t width, uint32_t height);
void gl_shrink_row(gl_shrink *shrink, uint8_t *out); /* `height` times */
void gl_shrink_close(gl_shrink *shrink);

#endif
