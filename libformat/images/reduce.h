/* Smaller copies of pictures, as JPEG: of JPEG, PNG and TIFF files (spec/images.md, "Reduced copies"). */
#ifndef GL_IMAGES_REDUCE_H
#define GL_IMAGES_REDUCE_H

#include "images/image.h"
#include "images/strip.h"

typedef struct gl_reduced {
    unsigned char *bytes; /* a JPEG file; freed with free */
    size_t length;
    uint32_t width, height; /* as stored: not turned, even where `orientation` says so */
} gl_reduced;

/* At most `limit` pixels on the longer side (0: as many as there are); never enlarged. Colour profile and
 * orientation are kept, the resolution goes down with the size, all other metadata is left behind. `image` is
 * what gl_image_look found. Refused where the file is of another kind, or its pixels cannot be read; one that
 * is torn off gives a copy that is white from there on. */
glassine_status gl_reduce(gl_span file, const gl_image *image, const char *place, uint32_t limit,
                          gl_reduced *reduced, glassine_error *error);

#endif
