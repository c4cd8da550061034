/* What a scan's file says of itself: kind by content, size, resolution, whether it gives a place away. */
#ifndef GL_IMAGES_IMAGE_H
#define GL_IMAGES_IMAGE_H

#include <stdint.h>

#include "base/span.h"

typedef struct gl_image {
    const char *media;                /* "image/jpeg", "image/png", "image/tiff", "application/pdf" …,
                                         "application/octet-stream" */
    const char *extension;            /* fixed by the media type: "jpg", "png", "tif", "pdf" …, "bin" */
    uint32_t width, height;           /* as stored, before any orientation; 0: not known */
    uint32_t dpi_x, dpi_y;            /* hundredths of a dot per inch; 0: not said */
    uint8_t orientation;              /* EXIF 1–8; 0: not said */
    bool place, maker_serial, person; /* metadata that names a place (GPS), a serial number, a person */
    /* NULL, or why it is not sound: "truncated", "bad CRC in chunk IHDR" … (static text) */
    const char *trouble;
} gl_image;

/* Looks at the file without decoding pixels: bounded reads, bounded memory, whatever it says. */
glassine_status gl_image_look(int fd, const char *path, gl_image *image, glassine_error *error);
/* The same of `size` bytes inside a file, from `offset` on. */
glassine_status gl_image_look_within(int fd, const char *path, uint64_t offset, uint64_t size,
                                     gl_image *image, glassine_error *error);
/* The same of a file that is in memory. */
glassine_status gl_image_look_memory(gl_span file, gl_image *image, glassine_error *error);

/* The extension of a media type, and the reverse; "bin"/"application/octet-stream" where it is not known. */
const char *gl_image_extension(gl_span media);
const char *gl_image_media(gl_span extension);

#endif
