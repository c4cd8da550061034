#include "images/decode.h"

#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
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

static const char *read_rows(gl_pixels *pixels) {
    uint8_t *row = malloc((size_t)pixels->width * pixels->channels + 1);
    bool whole = row != NULL;
    for (uint32_t y = 0; y < pixels->height && whole; y++)
        whole = pixels->row(pixels, row);
    free(row);
    return whole ? NULL : "its pixels break off";
}

glassine_status gl_image_decodes(gl_span file, const gl_image *image, const char **why,
                                 glassine_error *error) {
    gl_pixels pixels = {0};
    *why = NULL;
    if (!is_read(image))
        return GLASSINE_OK;
    glassine_status status = gl_pixels_prepare(image->media, error);
    if (status)
        return status;
    errno = 0;
    if (open_pixels(file, image, &pixels, why)) {
        *why = read_rows(&pixels);
        pixels.close(&pixels);
    }
    return errno == ENOMEM ? gl_fail_memory(error) : GLASSINE_OK;
}
