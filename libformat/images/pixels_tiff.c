/* Rows out of TIFF files, by libtiff, which knows the many ways in which they keep their pixels. */
#include <stdlib.h>

#include <tiffio.h>

#include "base/late.h"
#include "images/pixels.h"

#define TIFF_CALLS(X)                                                                                        \
    X(TIFFClientOpenExt)                                                                                     \
    X(TIFFClose)                                                                                             \
    X(TIFFGetField)                                                                                          \
    X(TIFFGetFieldDefaulted)                                                                                 \
    X(TIFFIsTiled)                                                                                           \
    X(TIFFOpenOptionsAlloc)                                                                                  \
    X(TIFFOpenOptionsFree)                                                                                   \
    X(TIFFOpenOptionsSetErrorHandlerExtR)                                                                    \
    X(TIFFOpenOptionsSetMaxSingleMemAlloc)                                                                   \
    X(TIFFOpenOptionsSetWarningHandlerExtR)                                                                  \
    X(TIFFReadRGBAStripExt)                                                                                  \
    X(TIFFReadRGBATileExt)                                                                                   \
    X(TIFFRGBAImageOK)                                                                                       \
    X(TIFFSetField)
GL_LATE(libtiff, TIFF_CALLS, GLASSINE_LATE_TIFF, "TIFF pictures cannot be read");

typedef struct state {
    TIFF *tiff;
    gl_span file;
    uint64_t offset;
    uint32_t *band; /* rows from `first` on, `rows` of them */
    uint32_t first, rows, most, at;
    uint32_t tile_width;
    uint32_t *tile; /* NULL: the picture is in strips */
} state;

/* ---- a file in memory ---- */

static tmsize_t read_some(thandle_t handle, void *out, tmsize_t length) {
    state *s = (state *)handle;
    gl_span part = s->offset < s->file.length
                       ? gl_span_part(s->file, (size_t)s->offset, length > 0 ? (size_t)length : 0)
                       : GL_NO_SPAN;
    if (part.length)
        memcpy(out, part.text, part.length);
    s->offset += part.length;
    return (tmsize_t)part.length;
}

static tmsize_t write_none(thandle_t handle, void *bytes, tmsize_t length) {
    (void)handle;
    (void)bytes;
    (void)length;
    return 0;
}

static toff_t seek(thandle_t handle, toff_t offset, int whence) {
    state *s = (state *)handle;
    s->offset = whence == SEEK_SET   ? offset
                : whence == SEEK_CUR ? s->offset + offset
                                     : s->file.length + offset;
    return s->offset;
}

static int close_none(thandle_t handle) {
    (void)handle;
    return 0;
}

static toff_t size_of(thandle_t handle) {
    return ((state *)handle)->file.length;
}

static int silent(TIFF *tiff, void *context, const char *module, const char *format, va_list values) {
    (void)tiff;
    (void)context;
    (void)module;
    (void)format;
    (void)values;
    return 1;
}

static TIFF *open_memory(state *s) {
    TIFFOpenOptions *options = libtiff.TIFFOpenOptionsAlloc();
    if (!options)
        return NULL;
    libtiff.TIFFOpenOptionsSetErrorHandlerExtR(options, silent, NULL);
    libtiff.TIFFOpenOptionsSetWarningHandlerExtR(options, silent, NULL);
    libtiff.TIFFOpenOptionsSetMaxSingleMemAlloc(options, (tmsize_t)1 << 30);
    TIFF *tiff = libtiff.TIFFClientOpenExt("scan", "rm", (thandle_t)s, read_some, write_none, seek,
                                           close_none, size_of, NULL, NULL, options);
    libtiff.TIFFOpenOptionsFree(options);
    return tiff;
}

/* ---- rows ---- */

static void close_tiff(gl_pixels *pixels) {
    state *s = pixels->state;
    if (s->tiff)
        libtiff.TIFFClose(s->tiff);
    free(s->band);
    free(s->tile);
    free(s);
}

/* libtiff hands out strips and tiles from their lowest row up. */
static bool read_strip(const gl_pixels *pixels, state *s) {
    uint32_t rows = pixels->height - s->first < s->most ? pixels->height - s->first : s->most;
    s->rows = rows;
    return libtiff.TIFFReadRGBAStripExt(s->tiff, s->first, s->band, 1) != 0;
}

static bool read_tiles(const gl_pixels *pixels, state *s) {
    s->rows = pixels->height - s->first < s->most ? pixels->height - s->first : s->most;
    for (uint32_t x = 0; x < pixels->width; x += s->tile_width) {
        if (!libtiff.TIFFReadRGBATileExt(s->tiff, x, s->first, s->tile, 1))
            return false;
        uint32_t wide = pixels->width - x < s->tile_width ? pixels->width - x : s->tile_width;
        for (uint32_t y = 0; y < s->rows; y++)
            memcpy(s->band + (size_t)(s->rows - 1 - y) * pixels->width + x,
                   s->tile + (size_t)(s->most - 1 - y) * s->tile_width, wide * sizeof *s->band);
    }
    return true;
}

static bool tiff_row(gl_pixels *pixels, uint8_t *out) {
    state *s = pixels->state;
    if (s->at >= pixels->height)
        return false;
    if (s->at >= s->first + s->rows) {
        s->first = s->at;
        if (!(s->tile ? read_tiles(pixels, s) : read_strip(pixels, s)))
            return false;
    }
    const uint32_t *row = s->band + (size_t)(s->rows - 1 - (s->at - s->first)) * pixels->width;
    for (uint32_t i = 0; i < pixels->width; i++) {
        uint32_t white =
            255 - TIFFGetA(row[i]); /* what is transparent is laid on white; colours are premultiplied */
        uint32_t colour[3] = {TIFFGetR(row[i]), TIFFGetG(row[i]), TIFFGetB(row[i])};
        for (unsigned c = 0; c < pixels->channels; c++)
            *out++ = (uint8_t)(colour[c] + white > 255 ? 255 : colour[c] + white);
    }
    s->at++;
    return true;
}

static bool make_room(gl_pixels *pixels, state *s, const char **why) {
    uint32_t rows = pixels->height;
    if (libtiff.TIFFIsTiled(s->tiff)) {
        uint32_t tile_height = 0;
        libtiff.TIFFGetField(s->tiff, TIFFTAG_TILEWIDTH, &s->tile_width);
        libtiff.TIFFGetField(s->tiff, TIFFTAG_TILELENGTH, &tile_height);
        rows = tile_height;
        bool fits = s->tile_width && rows && (uint64_t)s->tile_width * rows <= GL_PIXELS_WHOLE;
        s->tile = fits ? malloc((size_t)s->tile_width * rows * sizeof *s->tile) : NULL;
        *why = fits ? NULL : "tiles of no sensible size";
        if (!s->tile)
            return false;
    } else {
        uint32_t said = 0;
        libtiff.TIFFGetFieldDefaulted(s->tiff, TIFFTAG_ROWSPERSTRIP, &said);
        rows = said && said < rows ? said : rows;
    }
    s->most = rows;
    if ((uint64_t)rows * pixels->width > GL_PIXELS_WHOLE) {
        *why = "too many pixels in one piece";
        return false;
    }
    s->band = malloc((size_t)rows * pixels->width * sizeof *s->band);
    return s->band != NULL;
}

static const char *start(gl_pixels *pixels, state *s) {
    char message[1024];
    uint16_t kind = 0;
    void *profile = NULL;
    uint32_t length = 0;
    if (!libtiff.TIFFGetField(s->tiff, TIFFTAG_IMAGEWIDTH, &pixels->width) ||
        !libtiff.TIFFGetField(s->tiff, TIFFTAG_IMAGELENGTH, &pixels->height) || !pixels->width ||
        !pixels->height)
        return "no size in its directory";
    if ((uint64_t)pixels->width * pixels->height > GL_PIXELS_MOST)
        return "too many pixels";
    libtiff.TIFFSetField(s->tiff, TIFFTAG_ORIENTATION,
                         ORIENTATION_TOPLEFT); /* the rows are wanted as they are stored */
    if (!libtiff.TIFFRGBAImageOK(s->tiff, message))
        return "pixels of a kind that cannot be shown";
    libtiff.TIFFGetField(s->tiff, TIFFTAG_PHOTOMETRIC, &kind);
    pixels->channels = kind == PHOTOMETRIC_MINISBLACK || kind == PHOTOMETRIC_MINISWHITE ? 1 : 3;
    if (kind != PHOTOMETRIC_SEPARATED &&
        libtiff.TIFFGetField(s->tiff, TIFFTAG_ICCPROFILE, &length, &profile)) {
        pixels->icc = profile;
        pixels->icc_length = length;
    }
    return NULL;
}

glassine_status gl_pixels_prepare(const char *media, glassine_error *error) {
    return strcmp(media, "image/tiff") == 0 ? gl_late_load(&libtiff_late, error) : GLASSINE_OK;
}

bool gl_pixels_open_tiff(gl_span file, gl_pixels *pixels, const char **why) {
    state *s = calloc(1, sizeof *s);
    *why = NULL;
    if (!s)
        return false;
    *pixels = (gl_pixels){.state = s, .row = tiff_row, .close = close_tiff};
    s->file = file;
    s->tiff = open_memory(s);
    *why = s->tiff ? start(pixels, s) : "its structure cannot be read";
    if (*why || !make_room(pixels, s, why)) {
        close_tiff(pixels);
        return false;
    }
    return true;
}
