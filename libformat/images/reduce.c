#include "images/reduce.h"

#include <errno.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>

#include "base/error.h"
#include "images/shrink.h"

#define QUALITY 86 /* of a copy that is smaller; what was lost in size hides what is lost here */
#define QUALITY_WHOLE 92

typedef struct writing {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    jmp_buf failed;
    unsigned char *bytes;
    unsigned long length;
    gl_shrink shrink;
    uint8_t *row;
    gl_buf exif;
} writing;

static void fail(j_common_ptr jpeg) {
    longjmp(((writing *)jpeg->client_data)->failed, 1);
}

static void ignore(j_common_ptr jpeg) {
    (void)jpeg;
}

static void write_rows(writing *w, const gl_pixels *pixels) {
    if (w->exif.length)
        jpeg_write_marker(&w->jpeg, JPEG_APP0 + 1, (const JOCTET *)w->exif.text, (unsigned)w->exif.length);
    if (pixels->icc_length)
        jpeg_write_icc_profile(&w->jpeg, pixels->icc, (unsigned)pixels->icc_length);
    JSAMPROW row = w->row;
    for (uint32_t y = 0; y < w->shrink.height; y++) {
        gl_shrink_row(&w->shrink, w->row);
        jpeg_write_scanlines(&w->jpeg, &row, 1);
    }
}

static void choose_form(writing *w, bool whole) {
    struct jpeg_compress_struct *jpeg = &w->jpeg;
    jpeg->image_width = w->shrink.width;
    jpeg->image_height = w->shrink.height;
    jpeg->input_components = (int)w->shrink.channels;
    jpeg->in_color_space = w->shrink.channels == 1 ? JCS_GRAYSCALE : JCS_RGB;
    jpeg_set_defaults(jpeg);
    jpeg_set_quality(jpeg, whole ? QUALITY_WHOLE : QUALITY, TRUE);
    if (whole) /* colours as fine as the lines */
        jpeg->comp_info[0].h_samp_factor = jpeg->comp_info[0].v_samp_factor = 1;
    jpeg->optimize_coding = TRUE;
}

/* False where memory ran out: nothing else can go wrong. */
static bool encode(writing *w, const gl_pixels *pixels, bool whole) {
    w->jpeg.err = jpeg_std_error(&w->errors);
    w->errors.error_exit = fail;
    w->errors.output_message = ignore;
    w->jpeg.client_data = w;
    if (setjmp(w->failed)) {
        jpeg_destroy_compress(&w->jpeg);
        return false;
    }
    jpeg_create_compress(&w->jpeg);
    jpeg_mem_dest(&w->jpeg, &w->bytes, &w->length);
    choose_form(w, whole);
    jpeg_start_compress(&w->jpeg, TRUE);
    write_rows(w, pixels);
    jpeg_finish_compress(&w->jpeg);
    jpeg_destroy_compress(&w->jpeg);
    return true;
}

/* The size that the longer side's limit gives. */
static void choose_size(const gl_image *image, uint32_t limit, uint32_t *width, uint32_t *height) {
    uint32_t longer = image->width > image->height ? image->width : image->height;
    *width = image->width;
    *height = image->height;
    if (!limit || longer <= limit)
        return;
    *width = (uint32_t)(((uint64_t)image->width * limit + longer / 2) / longer);
    *height = (uint32_t)(((uint64_t)image->height * limit + longer / 2) / longer);
    *width = *width ? *width : 1;
    *height = *height ? *height : 1;
}

static bool open_pixels(gl_span file, const gl_image *image, uint32_t width, uint32_t height,
                        gl_pixels *pixels, const char **why) {
    if (strcmp(image->media, "image/jpeg") == 0)
        return gl_pixels_open_jpeg(file, width, height, pixels, why);
    if (strcmp(image->media, "image/png") == 0)
        return gl_pixels_open_png(file, pixels, why);
    if (strcmp(image->media, "image/tiff") == 0)
        return gl_pixels_open_tiff(file, pixels, why);
    *why = "no copies are made of such a file";
    return false;
}

static uint32_t scaled(uint32_t dpi, uint32_t now, uint32_t before) {
    return before ? (uint32_t)(((uint64_t)dpi * now + before / 2) / before) : 0;
}

static void make_exif(const gl_image *image, uint32_t width, uint32_t height, gl_buf *out) {
    gl_essence essence = gl_essence_of(image->orientation, scaled(image->dpi_x, width, image->width),
                                       scaled(image->dpi_y, height, image->height));
    gl_buf_add_bytes(out, "Exif\0", 6);
    gl_essence_write(&essence, out);
    if (out->length == 6)
        gl_buf_clear(out);
}

glassine_status gl_reduce(gl_span file, const gl_image *image, const char *place, uint32_t limit,
                          gl_reduced *reduced, glassine_error *error) {
    *reduced = (gl_reduced){NULL, 0, 0, 0};
    uint32_t width, height;
    choose_size(image, limit, &width, &height);
    if (!width || !height || width > JPEG_MAX_DIMENSION || height > JPEG_MAX_DIMENSION)
        return gl_fail(error, GLASSINE_REFUSED, NULL, place,
                       "no copy can be made of it: it is of no size that fits");
    gl_pixels pixels;
    const char *why;
    glassine_status status = gl_pixels_prepare(image->media, error);
    if (status)
        return status;
    errno = 0;
    if (!open_pixels(file, image, width, height, &pixels, &why))
        return why && errno != ENOMEM
                   ? gl_fail(error, GLASSINE_REFUSED, NULL, place, "no copy can be made of it: %s", why)
                   : gl_fail_memory(error);
    writing w = {.exif = GL_BUF_EMPTY};
    width = width < pixels.width ? width : pixels.width;
    height = height < pixels.height ? height : pixels.height;
    make_exif(image, width, height, &w.exif);
    w.row = malloc((size_t)width * pixels.channels);
    bool done = gl_shrink_open(&w.shrink, &pixels, width, height) && w.row && !w.exif.failed &&
                encode(&w, &pixels, width == image->width);
    gl_shrink_close(&w.shrink);
    pixels.close(&pixels);
    free(w.row);
    gl_buf_free(&w.exif);
    if (!done || errno == ENOMEM) { /* a row that memory was lacking for would be white */
        free(w.bytes);
        return gl_fail_memory(error);
    }
    *reduced = (gl_reduced){w.bytes, w.length, width, height};
    return GLASSINE_OK;
}
