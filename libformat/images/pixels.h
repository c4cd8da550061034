/* Rows of pixels out of picture files, one after the other: grey or RGB, eight bits each. */
#ifndef GL_IMAGES_PIXELS_H
#define GL_IMAGES_PIXELS_H

#include <stdint.h>

#include "base/span.h"
#include "glassine.h"

/* More are not read at once: a bound on the memory that a small file can ask for. */
#define GL_PIXELS_WHOLE ((uint64_t)1 << 27) /* where a picture must be in memory as a whole */
#define GL_PIXELS_MOST ((uint64_t)1 << 31)

typedef struct gl_pixels gl_pixels;
struct gl_pixels {
    uint32_t width, height;
    unsigned channels;  /* 1 or 3 */
    const uint8_t *icc; /* colour profile that the rows are in; NULL: none */
    size_t icc_length;
    void *state;
    bool (*row)(gl_pixels *pixels, uint8_t *out); /* the next one; false: nothing more can be read */
    void (*close)(gl_pixels *pixels);
};

/* Comes before any of the others: what reads files of this kind is loaded where it is not there yet. */
glassine_status gl_pixels_prepare(const char *media, glassine_error *error);

/* Where a reader can cheaply give fewer pixels, it gives as few as it can, but no fewer than these. False
 * where the file cannot be read (*why says why, static text) or memory ran out (*why is NULL). What the
 * libraries below run out of looks like damage, here and in `row`: errno, cleared before, tells it (ENOMEM). */
bool gl_pixels_open_jpeg(gl_span file, uint32_t width, uint32_t height, gl_pixels *pixels, const char **why);
bool gl_pixels_open_png(gl_span file, gl_pixels *pixels, const char **why);
bool gl_pixels_open_tiff(gl_span file, gl_pixels *pixels, const char **why);

#endif
