/* Rows out of PNG files, by libpng. What is transparent is laid on white. */
#include <setjmp.h>
#include <stdlib.h>

#include <png.h>

#include "images/pixels.h"

typedef struct state {
    png_structp png;
    png_infop info;
    gl_span left;   /* of the file */
    uint8_t *row;   /* with its alpha, where there is one */
    uint8_t *whole; /* of an interlaced picture: every row, as `row` has them */
    size_t row_bytes;
    uint32_t at;
    unsigned colours; /* 1 or 3 */
    bool alpha;
} state;

static void fail(png_structp png, png_const_charp message) {
    (void)message;
    longjmp(png_jmpbuf(png), 1);
}

static void ignore(png_structp png, png_const_charp message) {
    (void)png;
    (void)message;
}

static void give(png_structp png, png_bytep out, png_size_t length) {
    state *s = png_get_io_ptr(png);
    if (length > s->left.length)
        png_error(png, "truncated");
    memcpy(out, s->left.text, length);
    s->left = gl_span_part(s->left, length, s->left.length);
}

static void close_png(gl_pixels *pixels) {
    state *s = pixels->state;
    png_destroy_read_struct(&s->png, &s->info, NULL);
    free(s->row);
    free(s->whole);
    free(s);
}

static void lay_on_white(const state *s, const uint8_t *from, uint32_t width, uint8_t *out) {
    for (uint32_t i = 0; i < width; i++, from += s->colours + 1)
        for (unsigned c = 0; c < s->colours; c++)
            *out++ = (uint8_t)((from[c] * from[s->colours] + 255u * (255u - from[s->colours])) / 255);
}

static bool read_row(state *s, uint8_t *row) {
    if (setjmp(png_jmpbuf(s->png)))
        return false;
    png_read_row(s->png, row, NULL);
    return true;
}

static bool png_row(gl_pixels *pixels, uint8_t *out) {
    state *s = pixels->state;
    if (s->at >= pixels->height)
        return false;
    uint8_t *row = s->whole ? s->whole + (size_t)s->at * s->row_bytes : s->alpha ? s->row : out;
    s->at++;
    if (!s->whole && !read_row(s, row))
        return false;
    if (s->alpha)
        lay_on_white(s, row, pixels->width, out);
    else if (s->whole)
        memcpy(out, row, s->row_bytes);
    return true;
}

static void take_profile(gl_pixels *pixels, const state *s) {
    png_charp name;
    png_bytep profile;
    png_uint_32 length;
    int method;
    if (png_get_iCCP(s->png, s->info, &name, &method, &profile, &length) != PNG_INFO_iCCP)
        return;
    pixels->icc = profile;
    pixels->icc_length = length;
}

/* Eight bits, no palette, and as many channels as the picture needs. */
static void choose_form(state *s) {
    png_set_expand(s->png);
    png_set_scale_16(s->png);
}

static const char *start(gl_pixels *pixels, state *s) {
    png_set_read_fn(s->png, s, give);
    png_set_user_limits(s->png, 1000000, 1000000);
    png_set_chunk_malloc_max(s->png, 1 << 26);
    png_read_info(s->png, s->info);
    pixels->width = png_get_image_width(s->png, s->info);
    pixels->height = png_get_image_height(s->png, s->info);
    bool interlaced = png_get_interlace_type(s->png, s->info) != PNG_INTERLACE_NONE;
    if ((uint64_t)pixels->width * pixels->height > (interlaced ? GL_PIXELS_WHOLE : GL_PIXELS_MOST))
        return "too many pixels";
    take_profile(pixels, s);
    choose_form(s);
    if (interlaced)
        png_set_interlace_handling(s->png);
    png_read_update_info(s->png, s->info);
    unsigned channels = png_get_channels(s->png, s->info);
    s->alpha = channels % 2 == 0;
    s->colours = pixels->channels = channels > 2 ? 3 : 1;
    s->row_bytes = png_get_rowbytes(s->png, s->info);
    return NULL;
}

static bool make_room(const gl_pixels *pixels, state *s) {
    bool interlaced = png_get_interlace_type(s->png, s->info) != PNG_INTERLACE_NONE;
    if (interlaced)
        s->whole = calloc(pixels->height, s->row_bytes);
    else if (s->alpha)
        s->row = malloc(s->row_bytes);
    return interlaced ? s->whole != NULL : !s->alpha || s->row;
}

/* An interlaced picture comes in passes over the whole; what is torn off stays as it is. */
static void read_whole(const gl_pixels *pixels, state *s) {
    if (setjmp(png_jmpbuf(s->png)))
        return;
    for (int pass = 0; pass < PNG_INTERLACE_ADAM7_PASSES; pass++)
        for (uint32_t y = 0; y < pixels->height; y++)
            png_read_row(s->png, s->whole + (size_t)y * s->row_bytes, NULL);
}

static bool try_open(gl_pixels *pixels, state *s, const char **why) {
    s->png = png_create_read_struct(PNG_LIBPNG_VER_STRING, s, fail, ignore);
    s->info = s->png ? png_create_info_struct(s->png) : NULL;
    if (!s->info)
        return false;
    if (setjmp(png_jmpbuf(s->png))) {
        *why = "its pixels cannot be decoded";
        return false;
    }
    *why = start(pixels, s);
    return !*why && make_room(pixels, s);
}

bool gl_pixels_open_png(gl_span file, gl_pixels *pixels, const char **why) {
    state *s = calloc(1, sizeof *s);
    *why = NULL;
    if (!s)
        return false;
    *pixels = (gl_pixels){.state = s, .row = png_row, .close = close_png};
    s->left = file;
    if (!try_open(pixels, s, why)) {
        close_png(pixels);
        return false;
    }
    if (s->whole)
        read_whole(pixels, s);
    return true;
}
