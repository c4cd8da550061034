#include "images/decode.h"

#include <stdlib.h>

#include "images/pixels.h"

static bool open_pixels(gl_span file, const gl_image *image, gl_pixels *pixels, const char **why) {
    if (strcmp(image->media, "image/jpeg") == 0)
        return gl_pixels_open_jpeg(file, image->width, image->height, pixels, why);
    if (strcmp(image->media, "image/png") == 0)
        return gl_pixels_open_png(file, pixels, why);
    return gl_pixels_open_tiff(file, pixels, why);
}

static bool is_read(const gl_image *image) {
    return strcmp(image->media, "image/jpeg") == 0 || strcmp(image->media, "image/png") == 0 ||
           strcmp(image->media, "image/tiff") == 0;
}

bool gl_image_decodes(gl_span file, const gl_image *image, const char **why) {
    gl_pixels pixels = {0};
    if (!is_read(image))
        return true;
    if (!open_pixels(file, image, &pixels, why))
        return false;
    uint8_t *row = malloc((size_t)pixels.width * pixels.channels + 1);
    bool whole = row != NULL;
    *why = NULL;
    for (uint32_t y = 0; y < pixels.height && whole; y++) {
        whole = pixels.row(&pixels, row);
        if (!whole)
            *why = "its pixels break off";
    }
    free(row);
    pixels.close(&pixels);
    return whole;
}
