/* Pictures as the libraries for them write them: every kind of pixels is read, and comes into a copy
 * that tells nothing, and into a small one, in its own colours. Those that are torn, or of no sensible size,
 * are told. */
#include "images/pictures.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include <jpeglib.h>
#include <png.h>
#include <tiffio.h>

#include "images/decode.h"
#include "images/pixels.h"
#include "images/reduce.h"
#include "images/strip.h"

enum { WIDE = 96, HIGH = 64 };

typedef struct colour {
    uint8_t r, g, b;
} colour;

/* Left half and right half of every picture. */
static const colour LEFT = {200, 40, 40}, RIGHT = {40, 40, 200}, GREY_LEFT = {200, 200, 200},
                    GREY_RIGHT = {40, 40, 40};

static bool is_left(unsigned x) {
    return x < WIDE / 2;
}

/* ------------------------------------------------------------------------------------------------- JPEG */

typedef struct jpeg_form {
    J_COLOR_SPACE from, to;
    bool progressive, adobe, profile;
} jpeg_form;

static void put_jpeg_pixel(const jpeg_form *form, unsigned x, uint8_t *pixel) {
    const colour *c = is_left(x) ? &LEFT : &RIGHT;
    if (form->from == JCS_GRAYSCALE) {
        pixel[0] = is_left(x) ? GREY_LEFT.r : GREY_RIGHT.r;
        return;
    }
    const uint8_t values[4] = {c->r, c->g, c->b, 255};
    for (unsigned i = 0; i < 4; i++) /* without Adobe's marker the values are ink, with it light */
        pixel[i] = form->from == JCS_CMYK && !form->adobe ? (uint8_t)(255 - values[i]) : values[i];
}

static void write_jpeg(const jpeg_form *form, gl_buf *out) {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    unsigned char *bytes = NULL;
    unsigned long length = 0;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &bytes, &length);
    jpeg.image_width = WIDE;
    jpeg.image_height = HIGH;
    jpeg.in_color_space = form->from;
    jpeg.input_components = form->from == JCS_GRAYSCALE ? 1 : form->from == JCS_RGB ? 3 : 4;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, 95, TRUE);
    jpeg_set_colorspace(&jpeg, form->to);
    jpeg.write_Adobe_marker = form->adobe;
    if (form->progressive)
        jpeg_simple_progression(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    jpeg_write_marker(&jpeg, JPEG_COM, (const JOCTET *)"A. Keeper", 9);
    if (form->profile)
        jpeg_write_icc_profile(&jpeg, (const JOCTET *)"no profile", 10);
    uint8_t row[WIDE * 4];
    for (unsigned y = 0; y < HIGH; y++) {
        for (unsigned x = 0; x < WIDE; x++) {
            uint8_t pixel[4];
            put_jpeg_pixel(form, x, pixel);
            memcpy(row + x * (unsigned)jpeg.input_components, pixel, (size_t)jpeg.input_components);
        }
        jpeg_write_scanlines(&jpeg, (JSAMPROW[]){row}, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    gl_buf_add_bytes(out, (const char *)bytes, length);
    free(bytes);
}

/* -------------------------------------------------------------------------------------------------- PNG */

typedef struct png_form {
    int type, depth;
    bool interlaced, profile;
} png_form;

static void give_to_buf(png_structp png, png_bytep bytes, png_size_t length) {
    gl_buf_add_bytes(png_get_io_ptr(png), (const char *)bytes, length);
}

static void flush_nothing(png_structp png) {
    (void)png;
}

/* Colours as bytes or, with a depth of 16, each twice. Transparent pixels (the right half) are to be white.
 */
static size_t put_png_pixel(const png_form *form, unsigned x, uint8_t *pixel) {
    bool grey = !(form->type & PNG_COLOR_MASK_COLOR), alpha = form->type & PNG_COLOR_MASK_ALPHA;
    const colour *c = grey ? is_left(x) ? &GREY_LEFT : &GREY_RIGHT : is_left(x) ? &LEFT : &RIGHT;
    const uint8_t values[4] = {c->r, grey && alpha ? (is_left(x) ? 255 : 0) : c->g, c->b,
                               is_left(x) ? 255 : 0};
    size_t count = form->type == PNG_COLOR_TYPE_PALETTE ? 1 : (grey ? 1u : 3u) + alpha, at = 0;
    for (size_t i = 0; i < count; i++)
        for (int half = 0; half < form->depth / 8; half++)
            pixel[at++] = form->type == PNG_COLOR_TYPE_PALETTE ? !is_left(x) : values[i];
    return at;
}

static void write_png(const png_form *form, gl_buf *out) {
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    assert_non_null(info);
    png_text author = {
        .compression = PNG_TEXT_COMPRESSION_NONE, .key = "Author", .text = "A. Keeper", .text_length = 9};
    png_set_write_fn(png, out, give_to_buf, flush_nothing);
    png_set_IHDR(png, info, WIDE, HIGH, form->depth, form->type,
                 form->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    if (form->type == PNG_COLOR_TYPE_PALETTE)
        png_set_PLTE(png, info, (png_color[]){{LEFT.r, LEFT.g, LEFT.b}, {RIGHT.r, RIGHT.g, RIGHT.b}}, 2);
    png_set_text(png, info, &author, 1);
    static uint8_t pixels[HIGH][WIDE * 8];
    png_bytep rows[HIGH];
    for (unsigned y = 0; y < HIGH; y++) {
        size_t at = 0;
        for (unsigned x = 0; x < WIDE; x++)
            at += put_png_pixel(form, x, pixels[y] + at);
        rows[y] = pixels[y];
    }
    png_set_rows(png, info, rows);
    png_write_png(png, info, PNG_TRANSFORM_IDENTITY, NULL);
    png_destroy_write_struct(&png, &info);
}

/* ------------------------------------------------------------------------------------------------- TIFF */

typedef struct tiff_form {
    uint16_t photometric, compression;
    uint32_t tile;       /* its side; 0: strips */
    uint32_t rows;       /* of a strip; 0: all */
    bool alpha, profile; /* the right half is transparent */
} tiff_form;

static void write_tiff(const tiff_form *form, gl_buf *out) {
    char name[64] = "/tmp/glassine-test-XXXXXX";
    int fd = mkstemp(name);
    assert_true(fd >= 0);
    assert_int_equal(close(fd), 0);
    TIFF *tiff = TIFFOpen(name, "w");
    bool grey = form->photometric == PHOTOMETRIC_MINISBLACK || form->photometric == PHOTOMETRIC_MINISWHITE;
    uint16_t samples = grey ? 1 : form->alpha || form->photometric == PHOTOMETRIC_SEPARATED ? 4 : 3;
    assert_non_null(tiff);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, WIDE);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, HIGH);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, samples);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, form->photometric);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, form->compression);
    TIFFSetField(tiff, TIFFTAG_ARTIST, "A. Keeper");
    if (form->compression == COMPRESSION_JPEG)
        TIFFSetField(tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    if (form->alpha)
        TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, (uint16_t[]){EXTRASAMPLE_ASSOCALPHA});
    if (form->profile)
        TIFFSetField(tiff, TIFFTAG_ICCPROFILE, 10, "no profile");
    uint32_t wide = form->tile ? form->tile : WIDE, high = form->tile   ? form->tile
                                                           : form->rows ? form->rows
                                                                        : HIGH;
    if (form->tile) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, wide);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, high);
    } else
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, high);
    uint32_t piece = 0;
    for (uint32_t top = 0; top < HIGH; top += high)
        for (uint32_t left = 0; left < WIDE; left += wide, piece++) {
            static uint8_t pixels[128 * 128 * 4];
            size_t at = 0;
            for (uint32_t y = 0; y < high; y++)
                for (uint32_t x = left; x < left + wide; x++) {
                    const colour *c = is_left(x) ? &LEFT : &RIGHT;
                    bool clear = form->alpha && !is_left(x); /* premultiplied */
                    uint8_t values[4] = {clear ? 0 : c->r, clear ? 0 : c->g, clear ? 0 : c->b,
                                         clear ? 0 : 255};
                    if (form->photometric == PHOTOMETRIC_SEPARATED)
                        for (unsigned i = 0; i < 4; i++)
                            values[i] = (uint8_t)(255 - values[i]);
                    if (grey)
                        values[0] = is_left(x) ? GREY_LEFT.r : GREY_RIGHT.r;
                    if (form->photometric == PHOTOMETRIC_MINISWHITE)
                        values[0] = (uint8_t)(255 - values[0]);
                    memcpy(pixels + at, values, samples);
                    at += samples;
                }
            assert_true((form->tile ? TIFFWriteEncodedTile(tiff, piece, pixels, (tmsize_t)at)
                                    : TIFFWriteEncodedStrip(tiff, piece, pixels, (tmsize_t)at)) >= 0);
        }
    TIFFClose(tiff);
    assert_int_equal(gl_file_read_all(name, 1 << 24, out), 0);
    remove(name);
}

/* -------------------------------------------------------------------------------------------- the colours */

static void assert_near(unsigned found, unsigned expected, const char *what) {
    if (found > expected + 12 || expected > found + 12)
        fail_msg("%s: %u instead of %u", what, found, expected);
}

/* The colours of a JPEG copy, a quarter from its left and right. */
static void check_copy(const gl_reduced *copy, const char *what, colour left, colour right) {
    gl_pixels pixels;
    const char *why = NULL;
    gl_span file = {(const char *)copy->bytes, copy->length};
    assert_true(gl_pixels_open_jpeg(file, copy->width, copy->height, &pixels, &why));
    assert_int_equal(pixels.width, copy->width);
    uint8_t row[WIDE * 3];
    for (uint32_t y = 0; y < pixels.height; y++) {
        assert_true(pixels.row(&pixels, row));
        for (unsigned c = 0; c < pixels.channels; c++) {
            const uint8_t wanted[2][3] = {{left.r, left.g, left.b}, {right.r, right.g, right.b}};
            for (unsigned side = 0; side < 2; side++)
                assert_near(row[(pixels.width * (2 * side + 1) / 4) * pixels.channels + c], wanted[side][c],
                            what);
        }
    }
    pixels.close(&pixels);
}

static void check_colours(const gl_buf *file, const char *what, colour left, colour right) {
    gl_image image;
    const char *why = "";
    glassine_error error = {0};
    assert_int_equal(gl_image_look_memory(gl_buf_span(file), &image, &error), GLASSINE_OK);
    assert_int_equal(image.width, WIDE);
    assert_int_equal(image.height, HIGH);
    assert_int_equal(gl_image_decodes(gl_buf_span(file), &image, &why, &error), GLASSINE_OK);
    if (why)
        fail_msg("%s: %s", what, why);
    static const uint32_t limits[] = {0, WIDE / 2, 8};
    for (size_t i = 0; i < UNIT_COUNT(limits); i++) {
        gl_reduced copy;
        assert_int_equal(gl_reduce(gl_buf_span(file), &image, what, limits[i], &copy, &error), GLASSINE_OK);
        assert_int_equal(copy.width, limits[i] ? limits[i] : WIDE);
        check_copy(&copy, what, left, right);
        free(copy.bytes);
    }
}

static bool names_keeper(const gl_buf *file) {
    for (size_t at = 0; at + 9 <= file->length; at++)
        if (memcmp(file->text + at, "A. Keeper", 9) == 0)
            return true;
    return false;
}

static void check_picture(const gl_buf *file, const char *what, colour left, colour right) {
    gl_buf stripped = GL_BUF_EMPTY;
    assert_true(names_keeper(file));
    check_colours(file, what, left, right);
    assert_int_equal(gl_strip(gl_buf_span(file), &stripped), GL_STRIP_DONE);
    assert_false(names_keeper(&stripped));
    check_colours(&stripped, what, left, right);
    gl_buf_free(&stripped);
}

static const colour WHITE = {255, 255, 255};

static void jpegs(void **state) {
    (void)state;
    static const struct {
        const char *what;
        jpeg_form form;
        bool grey;
    } cases[] = {
        {"grey", {JCS_GRAYSCALE, JCS_GRAYSCALE, false, false, false}, true},
        {"in colour, with a profile", {JCS_RGB, JCS_YCbCr, false, false, true}, false},
        {"red, green, blue", {JCS_RGB, JCS_RGB, false, true, false}, false},
        {"progressive", {JCS_RGB, JCS_YCbCr, true, false, false}, false},
        {"four inks", {JCS_CMYK, JCS_CMYK, false, false, false}, false},
        {"four inks as Adobe's programs write them", {JCS_CMYK, JCS_CMYK, false, true, false}, false},
        {"four inks, their light apart", {JCS_CMYK, JCS_YCCK, false, true, false}, false},
    };
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        gl_buf file = GL_BUF_EMPTY;
        write_jpeg(&cases[i].form, &file);
        check_picture(&file, cases[i].what, cases[i].grey ? GREY_LEFT : LEFT,
                      cases[i].grey ? GREY_RIGHT : RIGHT);
        gl_buf_free(&file);
    }
}

static void pngs(void **state) {
    (void)state;
    static const png_form forms[] = {
        {PNG_COLOR_TYPE_GRAY, 8, false, false},      {PNG_COLOR_TYPE_RGB, 8, false, false},
        {PNG_COLOR_TYPE_RGB, 16, false, false},      {PNG_COLOR_TYPE_PALETTE, 8, false, false},
        {PNG_COLOR_TYPE_RGB_ALPHA, 8, false, false}, {PNG_COLOR_TYPE_GRAY_ALPHA, 8, false, false},
        {PNG_COLOR_TYPE_RGB, 8, true, false},        {PNG_COLOR_TYPE_RGB_ALPHA, 16, true, false},
        {PNG_COLOR_TYPE_GRAY_ALPHA, 8, true, false},
    };
    for (size_t i = 0; i < UNIT_COUNT(forms); i++) {
        gl_buf file = GL_BUF_EMPTY;
        char what[40];
        bool grey = !(forms[i].type & PNG_COLOR_MASK_COLOR), alpha = forms[i].type & PNG_COLOR_MASK_ALPHA;
        snprintf(what, sizeof what, "PNG of colour type %d", forms[i].type);
        write_png(&forms[i], &file);
        check_picture(&file, what, grey ? GREY_LEFT : LEFT, alpha ? WHITE : grey ? GREY_RIGHT : RIGHT);
        gl_buf_free(&file);
    }
}

static void tiffs(void **state) {
    (void)state;
    static const tiff_form forms[] = {
        {PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, 0, 7, false, false},
        {PHOTOMETRIC_MINISWHITE, COMPRESSION_LZW, 0, 0, false, false},
        {PHOTOMETRIC_RGB, COMPRESSION_ADOBE_DEFLATE, 0, 16, false, true},
        {PHOTOMETRIC_RGB, COMPRESSION_LZW, 64, 0, false, false}, /* the last tiles are not full */
        {PHOTOMETRIC_RGB, COMPRESSION_NONE, 0, 0, true, false},
        {PHOTOMETRIC_RGB, COMPRESSION_LZW, 32, 0, true, false},
        {PHOTOMETRIC_SEPARATED, COMPRESSION_LZW, 0, 0, false, true},
        {PHOTOMETRIC_YCBCR, COMPRESSION_JPEG, 0, 16, false, false},
        {PHOTOMETRIC_YCBCR, COMPRESSION_JPEG, 64, 0, false, false},
    };
    for (size_t i = 0; i < UNIT_COUNT(forms); i++) {
        gl_buf file = GL_BUF_EMPTY;
        char what[40];
        bool grey = forms[i].photometric <= PHOTOMETRIC_MINISBLACK;
        snprintf(what, sizeof what, "TIFF, the %zu.", i + 1);
        write_tiff(&forms[i], &file);
        check_picture(&file, what, grey ? GREY_LEFT : LEFT,
                      forms[i].alpha ? WHITE
                      : grey         ? GREY_RIGHT
                                     : RIGHT);
        gl_buf_free(&file);
    }
}

/* ---------------------------------------------------------------------------------------------- the damage
 */

static const char *what_is_wrong(gl_span file, const char *media, uint32_t width, uint32_t height) {
    const gl_image image = {.media = media, .width = width, .height = height};
    const char *why = NULL;
    assert_int_equal(gl_image_decodes(file, &image, &why, NULL), GLASSINE_OK);
    return why;
}

/* Two thirds of each: what is there is not all of it. Interlaced pictures and progressive ones show what
 * came. */
static void what_is_torn_is_told(void **state) {
    (void)state;
    gl_buf files[3] = {GL_BUF_EMPTY, GL_BUF_EMPTY, GL_BUF_EMPTY};
    static const char *const media[] = {"image/jpeg", "image/png", "image/tiff"};
    write_jpeg(&(jpeg_form){JCS_RGB, JCS_YCbCr, false, false, false}, &files[0]);
    write_png(&(png_form){PNG_COLOR_TYPE_RGB, 8, false, false}, &files[1]);
    write_tiff(&(tiff_form){PHOTOMETRIC_RGB, COMPRESSION_NONE, 0, 8, false, false}, &files[2]);
    for (unsigned i = 0; i < 3; i++) {
        assert_null(what_is_wrong(gl_buf_span(&files[i]), media[i], WIDE, HIGH));
        for (size_t length = 0; length < 20; length++) /* hardly a header */
            assert_non_null(what_is_wrong((gl_span){files[i].text, length}, media[i], WIDE, HIGH));
    }
    assert_string_equal(
        what_is_wrong((gl_span){files[1].text, files[1].length * 2 / 3}, media[1], WIDE, HIGH),
        "its pixels break off");
    memset(files[2].text + 8, 0, 4); /* uncompressed pixels: any are good ones */
    assert_null(what_is_wrong(gl_buf_span(&files[2]), media[2], WIDE, HIGH));
    for (unsigned i = 0; i < 3; i++)
        gl_buf_free(&files[i]);
}

/* A TIFF file whose directory has these entries alone. */
static const char *wrong_with_tiff(const entry *entries, size_t count) {
    gl_buf file = GL_BUF_EMPTY;
    layout as = begin_tiff(&file, true, false);
    end_tiff(&file, &as, put_directory(&file, &as, entries, count, 0));
    const char *why = what_is_wrong(gl_buf_span(&file), "image/tiff", WIDE, HIGH);
    gl_buf_free(&file);
    return why;
}

/* Pixels in one strip, of which there is nothing; packed, since libtiff takes a strip that is not for
 * several. */
static const char *wrong_with_strip(uint32_t width, uint32_t height, uint16_t photometric) {
    const entry entries[] = {{256, LONG, NULL, width, 0},        {257, LONG, NULL, height, 0},
                             {258, SHORT, NULL, 8, 0},           {259, SHORT, NULL, 5, 0},
                             {262, SHORT, NULL, photometric, 0}, {273, LONG, NULL, 8, 0},
                             {277, SHORT, NULL, 1, 0},           {279, LONG, NULL, 8, 0}};
    return wrong_with_tiff(entries, UNIT_COUNT(entries));
}

static const char *wrong_with_png(const char *header) {
    gl_buf file = GL_BUF_EMPTY;
    gl_buf_add_text(&file, "\x89PNG\r\n\x1A\n");
    put_chunk(&file, "IHDR", (gl_span){header, 13});
    end_png(&file);
    const char *why = what_is_wrong(gl_buf_span(&file), "image/png", WIDE, HIGH);
    gl_buf_free(&file);
    return why;
}

static void no_sensible_size(void **state) {
    (void)state;
    gl_buf jpeg = GL_BUF_EMPTY;
    begin_jpeg(&jpeg);
    put_segment(&jpeg, 0xC0, (gl_span){"\x08\xFF\x00\xFF\x00\x01\x01\x11\0", 9}); /* 65,280 x 65,280 */
    put_segment(&jpeg, 0xDA, (gl_span){"\x01\x01\0\0\x3F\0", 6});
    assert_string_equal(what_is_wrong(gl_buf_span(&jpeg), "image/jpeg", 65280, 65280), "too many pixels");
    gl_buf_free(&jpeg);
    assert_string_equal(wrong_with_png("\0\0\xFF\xFF\0\0\xFF\xFF\x08\2\0\0\0"), "too many pixels");
    assert_string_equal(wrong_with_png("\0\0\x40\0\0\0\x40\0\x08\2\0\0\1"),
                        "too many pixels"); /* interlaced */
    /* With addresses of 32 bits, libtiff does not open a file with a strip of 40 GB at all. */
    assert_string_equal(wrong_with_strip(100000, 100000, 1),
                        sizeof(size_t) < 8 ? "its structure cannot be read" : "too many pixels");
    assert_string_equal(wrong_with_strip(20000, 20000, 1), "too many pixels in one piece");
    assert_string_equal(wrong_with_strip(96, 64, 4711), "pixels of a kind that cannot be shown");
    const entry tile[] = {{256, LONG, NULL, 96, 0},    {257, LONG, NULL, 64, 0},    {258, SHORT, NULL, 8, 0},
                          {259, SHORT, NULL, 1, 0},    {262, SHORT, NULL, 1, 0},    {277, SHORT, NULL, 1, 0},
                          {322, LONG, NULL, 32768, 0}, {323, LONG, NULL, 32768, 0}, {324, LONG, NULL, 8, 0},
                          {325, LONG, NULL, 8, 0}};
    assert_string_equal(wrong_with_tiff(tile, UNIT_COUNT(tile)), "tiles of no sensible size");
}

/* What is no picture that we read is not judged, and not copied. */
static void other_files(void **state) {
    (void)state;
    const gl_image image = {.media = "image/webp", .width = 4, .height = 4};
    glassine_error error = {0};
    gl_reduced copy;
    assert_null(what_is_wrong(GL_SPAN("RIFF"), "image/webp", 4, 4));
    assert_int_equal(gl_reduce(GL_SPAN("RIFF"), &image, "picture", 2, &copy, &error), GLASSINE_REFUSED);
    assert_string_equal(error.message, "no copy can be made of it: no copies are made of such a file");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(jpegs),
        cmocka_unit_test(pngs),
        cmocka_unit_test(tiffs),
        cmocka_unit_test(what_is_torn_is_told),
        cmocka_unit_test(no_sensible_size),
        cmocka_unit_test(other_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
