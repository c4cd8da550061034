/* Taking out of an image file what it tells beyond its picture: places, names, serial numbers, remarks, small
 * pictures of the picture, whatever programs hid behind its end. The coded pixels stay byte for byte;
 * resolution, colour profile and orientation stay too (spec/images.md, "Stripped copies"). */
#ifndef GL_IMAGES_STRIP_H
#define GL_IMAGES_STRIP_H

#include <stdint.h>

#include "base/buf.h"

typedef enum gl_stripped {
    GL_STRIP_NOTHING, /* there is nothing to take out */
    GL_STRIP_DONE,    /* `out` holds the file without it */
    GL_STRIP_UNABLE   /* no JPEG, PNG or TIFF file, or one whose parts cannot be told apart */
} gl_stripped;

/* Appends to `out`; where it is not GL_STRIP_DONE, what was appended is of no use. Look at out->failed. */
gl_stripped gl_strip(gl_span file, gl_buf *out);

gl_stripped gl_strip_jpeg(gl_span file, gl_buf *out);
gl_stripped gl_strip_png(gl_span file, gl_buf *out);
gl_stripped gl_strip_tiff(gl_span file, gl_buf *out);

/* What is kept of an EXIF block. */
typedef struct gl_essence {
    uint8_t orientation;               /* 1–8; 0: not said */
    uint32_t x, x_per, y, y_per, unit; /* resolution as it is written there; x_per 0: not said */
} gl_essence;

/* Of a block that begins with its TIFF header; what cannot be read counts as not said. */
gl_essence gl_essence_of_exif(gl_span block);
/* The resolution in hundredths of a dot per inch, 0: not said. */
gl_essence gl_essence_of(uint8_t orientation, uint32_t dpi_x, uint32_t dpi_y);
/* A block with nothing else in it; nothing where nothing is said, or orientation 1 alone. */
void gl_essence_write(const gl_essence *essence, gl_buf *out);

/* Bytes in network order, appended. */
void gl_add_big16(gl_buf *out, uint32_t value);
void gl_add_big32(gl_buf *out, uint32_t value);

#endif
