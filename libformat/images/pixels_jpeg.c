/* Rows out of JPEG files, by libjpeg, which can leave out detail while it decodes. */
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>

#include "images/pixels.h"

typedef struct state {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    jmp_buf failed;
    JOCTET *icc;
    unsigned icc_length;
    uint8_t *four; /* a row of CMYK, where the file has that */
    bool inverted; /* as Adobe's programs write CMYK */
    bool begun;
} state;

static void fail(j_common_ptr jpeg) {
    longjmp(((state *)jpeg->client_data)->failed, 1);
}

/* What is odd, yet can be read, is shown as well as it can be. */
static void ignore(j_common_ptr jpeg) {
    (void)jpeg;
}

static void close_jpeg(gl_pixels *pixels) {
    state *s = pixels->state;
    jpeg_destroy_decompress(&s->jpeg);
    free(s->icc);
    free(s->four);
    free(s);
}

static void to_rgb(const state *s, uint32_t width, uint8_t *out) {
    for (uint32_t i = 0; i < width; i++) {
        const uint8_t *ink = s->four + (size_t)i * 4;
        for (unsigned c = 0; c < 3; c++) {
            unsigned light = s->inverted ? ink[c] : 255u - ink[c];
            unsigned white = s->inverted ? ink[3] : 255u - ink[3];
            out[(size_t)i * 3 + c] = (uint8_t)(light * white / 255);
        }
    }
}

static bool jpeg_row(gl_pixels *pixels, uint8_t *out) {
    state *s = pixels->state;
    JSAMPROW row = s->four ? s->four : out;
    if (setjmp(s->failed))
        return false;
    if (s->jpeg.output_scanline >= s->jpeg.output_height || jpeg_read_scanlines(&s->jpeg, &row, 1) != 1)
        return false;
    if (s->four)
        to_rgb(s, pixels->width, out);
    return true;
}

/* Halves, quarters and eighths are what the decoder is quick at. */
static void choose_scale(struct jpeg_decompress_struct *jpeg, uint32_t width, uint32_t height) {
    jpeg->scale_num = 1;
    jpeg->scale_denom = 1;
    for (unsigned by = 2; by <= 8; by *= 2)
        if (jpeg->image_width / by >= width && jpeg->image_height / by >= height)
            jpeg->scale_denom = by;
}

static void choose_colours(state *s) {
    switch (s->jpeg.jpeg_color_space) {
    case JCS_GRAYSCALE:
        s->jpeg.out_color_space = JCS_GRAYSCALE;
        break;
    case JCS_CMYK:
    case JCS_YCCK:
        s->jpeg.out_color_space = JCS_CMYK;
        s->inverted = s->jpeg.saw_Adobe_marker;
        break;
    default:
        s->jpeg.out_color_space = JCS_RGB;
    }
}

/* Bounds the passes over a picture that its file may ask for (each scan of a progressive one is a pass). */
static bool too_many_scans(const state *s) {
    return s->jpeg.input_scan_number > 200;
}

static const char *start(state *s, gl_span file, uint32_t width, uint32_t height) {
    jpeg_mem_src(&s->jpeg, (const unsigned char *)file.text, (unsigned long)file.length);
    jpeg_save_markers(&s->jpeg, JPEG_APP0 + 2, 0xFFFF);
    if (jpeg_read_header(&s->jpeg, TRUE) != JPEG_HEADER_OK)
        return "no picture in it";
    uint64_t all = (uint64_t)s->jpeg.image_width * s->jpeg.image_height;
    if (all > (s->jpeg.progressive_mode ? GL_PIXELS_WHOLE : GL_PIXELS_MOST))
        return "too many pixels";
    choose_scale(&s->jpeg, width, height);
    choose_colours(s);
    if (s->jpeg.out_color_space != JCS_CMYK && !jpeg_read_icc_profile(&s->jpeg, &s->icc, &s->icc_length))
        s->icc = NULL;
    if (s->jpeg.progressive_mode) {
        s->jpeg.buffered_image = TRUE;
        jpeg_start_decompress(&s->jpeg);
        while (!jpeg_input_complete(&s->jpeg) && !too_many_scans(s))
            if (jpeg_consume_input(&s->jpeg) == JPEG_REACHED_EOI)
                break;
        jpeg_start_output(&s->jpeg, s->jpeg.input_scan_number);
        return NULL;
    }
    jpeg_start_decompress(&s->jpeg);
    return NULL;
}

bool gl_pixels_open_jpeg(gl_span file, uint32_t width, uint32_t height, gl_pixels *pixels, const char **why) {
    state *s = calloc(1, sizeof *s);
    *why = NULL;
    if (!s)
        return false;
    *pixels = (gl_pixels){.state = s, .row = jpeg_row, .close = close_jpeg};
    s->jpeg.err = jpeg_std_error(&s->errors);
    s->errors.error_exit = fail;
    s->errors.output_message = ignore;
    s->jpeg.client_data = s;
    if (setjmp(s->failed)) {
        *why = "its pixels cannot be decoded";
        close_jpeg(pixels);
        return false;
    }
    jpeg_create_decompress(&s->jpeg);
    *why = start(s, file, width, height);
    if (*why) {
        close_jpeg(pixels);
        return false;
    }
    pixels->width = s->jpeg.output_width;
    pixels->height = s->jpeg.output_height;
    pixels->channels = s->jpeg.out_color_space == JCS_GRAYSCALE ? 1 : 3;
    pixels->icc = s->icc;
    pixels->icc_length = s->icc ? s->icc_length : 0;
    if (s->jpeg.out_color_space == JCS_CMYK && !(s->four = malloc((size_t)pixels->width * 4))) {
        close_jpeg(pixels);
        return false;
    }
    return true;
}
