/* Small pictures, built byte by byte so that a test knows what every byte is, and a file layer that serves
 * them from memory and counts what is read. */
#ifndef TESTS_IMAGES_PICTURES_H
#define TESTS_IMAGES_PICTURES_H

#include "base/unit.h"

#include <errno.h>
#include <stdlib.h>
#include <zlib.h>

#include "base/buf.h"
#include "base/calls.h"
#include "images/image.h"
#include "images/source.h"

/* ------------------------------------------------------------------------------------------------ bytes */

static inline void put_bytes(gl_buf *out, uint64_t value, unsigned width, bool little) {
    for (unsigned i = 0; i < width; i++)
        gl_buf_add_char(out, (char)(value >> 8 * (little ? i : width - 1 - i) & 0xFF));
}

static inline void put_big(gl_buf *out, uint64_t value, unsigned width) {
    put_bytes(out, value, width, false);
}

/* ------------------------------------------------------------------------------------------ TIFF and EXIF */

/* One entry of a directory: a text, or up to two numbers. */
typedef struct entry {
    uint16_t tag, type;
    const char *text; /* type 2, 7 */
    uint64_t a, b;    /* b: the lower half of a rational */
} entry;

enum { ASCII = 2, SHORT = 3, LONG = 4, RATIONAL = 5, BINARY = 7, LONG8 = 16 };

typedef struct layout {
    bool little, big;
    size_t start; /* of the structure in the buffer */
} layout;

static inline void put_value(gl_buf *out, const layout *as, const entry *e) {
    if (e->type == ASCII)
        gl_buf_add_bytes(out, e->text, strlen(e->text) + 1);
    else if (e->type == BINARY)
        gl_buf_add_text(out, e->text);
    else if (e->type == RATIONAL) {
        put_bytes(out, e->a, 4, as->little);
        put_bytes(out, e->b, 4, as->little);
    } else
        put_bytes(out, e->a, e->type == SHORT ? 2 : e->type == LONG ? 4 : 8, as->little);
}

static inline uint64_t value_count(const entry *e) {
    return e->type == ASCII ? strlen(e->text) + 1 : e->type == BINARY ? strlen(e->text) : 1;
}

/* Appends a directory and behind it the values that do not fit into it; returns its offset. */
static inline uint64_t put_directory(gl_buf *out, const layout *as, const entry *entries, size_t count,
                                     uint64_t next) {
    unsigned wide = as->big ? 8 : 4;
    uint64_t at = out->length - as->start,
             values = at + (as->big ? 8 : 2) + count * (as->big ? 20 : 12) + wide;
    gl_buf behind = GL_BUF_EMPTY;
    put_bytes(out, count, as->big ? 8 : 2, as->little);
    for (size_t i = 0; i < count; i++) {
        gl_buf value = GL_BUF_EMPTY;
        put_bytes(out, entries[i].tag, 2, as->little);
        put_bytes(out, entries[i].type, 2, as->little);
        put_bytes(out, value_count(&entries[i]), wide, as->little);
        put_value(&value, as, &entries[i]);
        if (value.length > wide) {
            put_bytes(out, values + behind.length, wide, as->little);
            gl_buf_add(&behind, gl_buf_span(&value));
        } else {
            gl_buf_add(out, gl_buf_span(&value));
            put_bytes(out, 0, (unsigned)(wide - value.length), as->little);
        }
        gl_buf_free(&value);
    }
    put_bytes(out, next, wide, as->little);
    gl_buf_add(out, gl_buf_span(&behind));
    gl_buf_free(&behind);
    return at;
}

/* The header; the offset of the first directory is put in by end_tiff. */
static inline layout begin_tiff(gl_buf *out, bool little, bool big) {
    layout as = {little, big, out->length};
    gl_buf_add_text(out, little ? "II" : "MM");
    put_bytes(out, big ? 43 : 42, 2, little);
    if (big) {
        put_bytes(out, 8, 2, little);
        put_bytes(out, 0, 2, little);
    }
    put_bytes(out, 0, big ? 8 : 4, little);
    return as;
}

static inline void end_tiff(gl_buf *out, const layout *as, uint64_t first) {
    gl_buf offset = GL_BUF_EMPTY;
    put_bytes(&offset, first, as->big ? 8 : 4, as->little);
    memcpy(out->text + as->start + (as->big ? 8 : 4), offset.text, offset.length);
    gl_buf_free(&offset);
}

/* A TIFF file of 30 x 20 grey pixels, 1200 by 600 per inch, turned (6), with a place and an owner.
 * Directories first, pixels last, so that every cut loses something that its structure promises. */
static inline void build_tiff(gl_buf *out, bool little, bool big) {
    layout as = begin_tiff(out, little, big);
    const entry place[] = {{2, ASCII, "51 30 0", 0, 0}};
    const entry exif[] = {{42033, ASCII, "SN-4711", 0, 0}};
    uint64_t place_at = put_directory(out, &as, place, 1, 0), exif_at = put_directory(out, &as, exif, 1, 0);
    entry page[] = {
        {256, SHORT, NULL, 30, 0},       {257, LONG, NULL, 20, 0},         {273, LONG, NULL, 0, 0},
        {274, SHORT, NULL, 6, 0},        {279, LONG, NULL, 600, 0},        {282, RATIONAL, NULL, 1200, 1},
        {283, RATIONAL, NULL, 6000, 10}, {296, SHORT, NULL, 2, 0},         {315, ASCII, "A. Keeper", 0, 0},
        {34665, LONG, NULL, exif_at, 0}, {34853, LONG, NULL, place_at, 0},
    };
    gl_buf trial = GL_BUF_EMPTY; /* to learn where the pixels will lie */
    layout same = {little, big, 0};
    put_directory(&trial, &same, page, UNIT_COUNT(page), 0);
    page[2].a = out->length + trial.length;
    gl_buf_free(&trial);
    end_tiff(out, &as, put_directory(out, &as, page, UNIT_COUNT(page), 0));
    for (int i = 0; i < 600; i++)
        gl_buf_add_char(out, (char)i);
}

/* An EXIF block, 300 per centimetre, turned (3), with a place unless it `has_place` not. */
static inline void build_exif(gl_buf *out, bool has_place) {
    layout as = begin_tiff(out, false, false);
    const entry place[] = {{has_place ? 4 : 0, ASCII, "1 0 0", 0, 0}};
    const entry exif[] = {{42032, ASCII, "A. Keeper", 0, 0}};
    uint64_t place_at = put_directory(out, &as, place, 1, 0), exif_at = put_directory(out, &as, exif, 1, 0);
    const entry page[] = {
        {274, SHORT, NULL, 3, 0}, {282, RATIONAL, NULL, 300, 1},   {283, RATIONAL, NULL, 300, 1},
        {296, SHORT, NULL, 3, 0}, {34665, LONG, NULL, exif_at, 0}, {34853, LONG, NULL, place_at, 0},
    };
    end_tiff(out, &as, put_directory(out, &as, page, UNIT_COUNT(page), 0));
}

/* -------------------------------------------------------------------------------------------------- JPEG */

static inline void put_segment(gl_buf *out, uint8_t marker, gl_span content) {
    gl_buf_add_char(out, (char)0xFF);
    gl_buf_add_char(out, (char)marker);
    put_big(out, content.length + 2, 2);
    gl_buf_add(out, content);
}

static inline void put_jfif(gl_buf *out, uint8_t unit, uint16_t x, uint16_t y) {
    gl_buf content = GL_BUF_EMPTY;
    gl_buf_add_bytes(&content, "JFIF\0\1\2", 7);
    put_big(&content, unit, 1);
    put_big(&content, x, 2);
    put_big(&content, y, 2);
    put_big(&content, 0, 2);
    put_segment(out, 0xE0, gl_buf_span(&content));
    gl_buf_free(&content);
}

static inline void put_exif_segment(gl_buf *out, bool has_place) {
    gl_buf content = GL_BUF_EMPTY;
    gl_buf_add_bytes(&content, "Exif\0\0", 6);
    build_exif(&content, has_place);
    put_segment(out, 0xE1, gl_buf_span(&content));
    gl_buf_free(&content);
}

static inline void put_xmp_segment(gl_buf *out, const char *xmp) {
    gl_buf content = GL_BUF_EMPTY;
    gl_buf_add_bytes(&content, "http://ns.adobe.com/xap/1.0/", 29);
    gl_buf_add_text(&content, xmp);
    put_segment(out, 0xE1, gl_buf_span(&content));
    gl_buf_free(&content);
}

/* An IPTC record among image resources. */
static inline void put_iptc_segment(gl_buf *out, uint8_t set, const char *value) {
    gl_buf content = GL_BUF_EMPTY;
    gl_buf_add_bytes(&content, "Photoshop 3.0", 14);
    gl_buf_add_bytes(&content, "8BIM\x03\xED\0\0\0\0\0\1x\0", 14); /* another resource, of odd size */
    gl_buf_add_bytes(&content, "8BIM\x04\x04\3abc", 10);
    put_big(&content, strlen(value) + 5, 4);
    gl_buf_add_bytes(&content, "\x1C\2", 2);
    put_big(&content, set, 1);
    put_big(&content, strlen(value), 2);
    gl_buf_add_text(&content, value);
    if (strlen(value) % 2 == 0)
        gl_buf_add_char(&content, 0);
    put_segment(out, 0xED, gl_buf_span(&content));
    gl_buf_free(&content);
}

static inline void begin_jpeg(gl_buf *out) {
    gl_buf_add_bytes(out, "\xFF\xD8", 2);
}

/* A frame of 640 x 480, coded data, the end. */
static inline void end_jpeg(gl_buf *out) {
    put_segment(out, 0xC2, (gl_span){"\x08\x01\xE0\x02\x80\x01\x01\x11\0", 9});
    put_segment(out, 0xC4, GL_SPAN("a table, no frame"));
    put_segment(out, 0xC8, GL_SPAN("reserved, no frame"));
    put_segment(out, 0xDA, (gl_span){"\x01\x01\0\0\x3F\0", 6});
    for (int i = 0; i < 300; i++)
        gl_buf_add_char(out, (char)(i % 251));
    gl_buf_add_bytes(out, "\xFF\x00\xFF\xD0\xFF\xD9", 6);
}

/* -------------------------------------------------------------------------------------------------- PNG */

static inline void put_chunk(gl_buf *out, const char *type, gl_span data) {
    put_big(out, data.length, 4);
    size_t from = out->length;
    gl_buf_add_text(out, type);
    gl_buf_add(out, data);
    put_big(out, crc32(0, (const Bytef *)out->text + from, (uInt)(out->length - from)), 4);
}

static inline void begin_png(gl_buf *out) {
    gl_buf_add_text(out, "\x89PNG\r\n\x1A\n");
    put_chunk(out, "IHDR", (gl_span){"\0\0\1\0\0\0\0\x80\x08\0\0\0\0", 13}); /* 256 x 128 */
}

static inline void put_density(gl_buf *out, uint32_t x, uint32_t y, uint8_t unit) {
    gl_buf data = GL_BUF_EMPTY;
    put_big(&data, x, 4);
    put_big(&data, y, 4);
    put_big(&data, unit, 1);
    put_chunk(out, "pHYs", gl_buf_span(&data));
    gl_buf_free(&data);
}

static inline void put_exif_chunk(gl_buf *out, bool has_place) {
    gl_buf data = GL_BUF_EMPTY;
    build_exif(&data, has_place);
    put_chunk(out, "eXIf", gl_buf_span(&data));
    gl_buf_free(&data);
}

/* zTXt, or iTXt, with packed text. */
static inline void put_packed_text(gl_buf *out, bool international, const char *keyword, gl_span text) {
    gl_buf data = GL_BUF_EMPTY;
    gl_buf_add_bytes(&data, keyword, strlen(keyword) + 1);
    gl_buf_add_bytes(&data, "\1\0\0\0", international ? 4 : 0);
    if (!international)
        gl_buf_add_char(&data, 0);
    uLongf packed = compressBound((uLong)text.length);
    assert_true(gl_buf_reserve(&data, packed));
    assert_int_equal(
        compress((Bytef *)data.text + data.length, &packed, (const Bytef *)text.text, (uLong)text.length),
        Z_OK);
    data.length += packed;
    put_chunk(out, international ? "iTXt" : "zTXt", gl_buf_span(&data));
    gl_buf_free(&data);
}

static inline void end_png(gl_buf *out) {
    gl_buf data = GL_BUF_EMPTY;
    for (int i = 0; i < 500; i++)
        gl_buf_add_char(&data, (char)(i * 7));
    put_chunk(out, "IDAT", gl_buf_span(&data));
    put_chunk(out, "IEND", GL_SPAN(""));
    gl_buf_free(&data);
}

/* ------------------------------------------------------------------------------------- a file in memory */

static struct {
    gl_span content;
    uint64_t says;    /* size that fstat gives; content may be shorter */
    uint64_t read;    /* bytes handed out */
    unsigned calls;   /* of pread */
    unsigned fail_at; /* the pread that fails, from 1; 0: none */
} served;

static inline ssize_t served_pread(int fd, void *bytes, size_t length, off_t offset) {
    (void)fd;
    if (++served.calls == served.fail_at) {
        errno = EIO;
        return -1;
    }
    gl_span part = gl_span_part(served.content, (size_t)offset, length);
    memcpy(bytes, part.text, part.length);
    served.read += part.length;
    return (ssize_t)part.length;
}

static inline int served_fstat(int fd, struct stat *result) {
    (void)fd;
    if (stat(SOURCE_ROOT "/CMakeLists.txt", result) != 0) /* an ordinary file, but for its size */
        return -1;
    result->st_size = (off_t)served.says;
    return 0;
}

static inline int serve_files(void **state) {
    static gl_calls calls;
    (void)state;
    calls = *gl_calls_system();
    calls.pread = served_pread;
    calls.fstat = served_fstat;
    gl_calls_use(&calls);
    return 0;
}

static inline int stop_serving(void **state) {
    (void)state;
    gl_calls_use(NULL);
    return 0;
}

/* Looks at `content` as at a file, in a copy whose end a sanitizer knows. */
static inline gl_image look_at(gl_span content) {
    gl_image image;
    glassine_error error = {0};
    char *copy = malloc(content.length + 1);
    assert_non_null(copy);
    memcpy(copy, content.text, content.length);
    served.content = (gl_span){copy, content.length};
    served.says = content.length;
    served.read = served.calls = served.fail_at = 0;
    assert_int_equal(gl_image_look(3, "picture", &image, &error), GLASSINE_OK);
    assert_true(served.read <= gl_source_allowance(content.length));
    assert_non_null(image.media);
    assert_non_null(image.extension);
    free(copy);
    return image;
}

#endif
