#include "images/image.h"

#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "images/parts.h"

#define HEAD 32 /* bytes by which a kind is known */

/* Every media type there is a name for, and the extension that a file of it has in a bundle. */
static const struct media {
    const char *media, *extension;
} known[] = {
    {"image/jpeg", "jpg"},  {"image/png", "png"},       {"image/tiff", "tif"},
    {"image/gif", "gif"},   {"image/webp", "webp"},     {"image/jp2", "jp2"},
    {"image/heic", "heic"}, {"image/heif", "heif"},     {"image/avif", "avif"},
    {"image/jxl", "jxl"},   {"application/pdf", "pdf"}, {"application/octet-stream", "bin"},
};
#define KNOWN (sizeof known / sizeof known[0])

const char *gl_image_extension(gl_span media) {
    for (size_t i = 0; i < KNOWN; i++)
        if (gl_span_is(media, known[i].media))
            return known[i].extension;
    return known[KNOWN - 1].extension;
}

const char *gl_image_media(gl_span extension) {
    for (size_t i = 0; i < KNOWN; i++)
        if (gl_span_is(extension, known[i].extension))
            return known[i].media;
    return known[KNOWN - 1].media;
}

/* GIF89a section 18: the logical screen. */
static void gif_look(gl_source *source) {
    const uint8_t *head = gl_source_see(source, 0, 10);
    if (!head) {
        gl_image_trouble(source->image, "truncated");
        return;
    }
    source->image->width = gl_little16(head + 6);
    source->image->height = gl_little16(head + 8);
}

/* How a kind is known by its first bytes, and who looks further into it. */
static const struct magic {
    size_t at;
    const char *bytes;
    size_t length;
    const char *media;
    void (*look)(gl_source *source);
} magics[] = {
    {0, "\xFF\xD8\xFF", 3, "image/jpeg", gl_jpeg_look},
    {0, "\x89PNG\r\n\x1A\n", 8, "image/png", gl_png_look},
    {0, "II*\0", 4, "image/tiff", gl_tiff_look},
    {0, "MM\0*", 4, "image/tiff", gl_tiff_look},
    {0, "II+\0", 4, "image/tiff", gl_tiff_look},
    {0, "MM\0+", 4, "image/tiff", gl_tiff_look},
    {0, "GIF87a", 6, "image/gif", gif_look},
    {0, "GIF89a", 6, "image/gif", gif_look},
    {0, "%PDF-", 5, "application/pdf", NULL},
    {8, "WEBPVP8", 7, "image/webp", NULL},
    {0, "\0\0\0\x0CjP  \r\n\x87\n", 12, "image/jp2", NULL},
    {0, "\0\0\0\x0CJXL \r\n\x87\n", 12, "image/jxl", NULL},
    {4, "ftypheic", 8, "image/heic", NULL},
    {4, "ftypheix", 8, "image/heic", NULL},
    {4, "ftypmif1", 8, "image/heif", NULL},
    {4, "ftypavif", 8, "image/avif", NULL},
};
#define MAGICS (sizeof magics / sizeof magics[0])

static const struct magic *find_magic(const uint8_t *head, size_t length) {
    for (size_t i = 0; i < MAGICS; i++)
        if (gl_range_fits(length, magics[i].at, magics[i].length) &&
            memcmp(head + magics[i].at, magics[i].bytes, magics[i].length) == 0)
            return &magics[i];
    return NULL;
}

static void look(gl_source *source) {
    gl_image *image = source->image;
    size_t length = source->size < HEAD ? (size_t)source->size : HEAD;
    const uint8_t *head = gl_source_see(source, 0, length);
    const struct magic *magic = head ? find_magic(head, length) : NULL;
    if (source->size == 0)
        gl_image_trouble(image, "empty");
    if (!magic)
        return;
    image->media = magic->media;
    image->extension = gl_image_extension(gl_span_of(magic->media));
    if (magic->look)
        magic->look(source);
}

glassine_status gl_image_look_within(int fd, const char *path, uint64_t offset, uint64_t size,
                                     gl_image *image, glassine_error *error) {
    *image = (gl_image){.media = known[KNOWN - 1].media, .extension = known[KNOWN - 1].extension};
    gl_source source = {
        .fd = fd, .offset = offset, .size = size, .left = gl_source_allowance(size), .image = image};
    source.window = malloc(GL_WINDOW_MOST);
    if (!source.window)
        return gl_fail_memory(error);
    look(&source);
    free(source.window);
    if (source.failure == ENOMEM)
        return gl_fail_memory(error);
    return source.failure ? gl_fail_system(error, source.failure, path, "cannot be read") : GLASSINE_OK;
}

glassine_status gl_image_look(int fd, const char *path, gl_image *image, glassine_error *error) {
    uint64_t size;
    int failure = gl_file_size(fd, &size);
    if (failure)
        return gl_fail_system(error, failure, path, "its size cannot be read");
    return gl_image_look_within(fd, path, 0, size, image, error);
}

glassine_status gl_image_look_memory(gl_span file, gl_image *image, glassine_error *error) {
    *image = (gl_image){.media = known[KNOWN - 1].media, .extension = known[KNOWN - 1].extension};
    gl_source source = {.fd = -1,
                        .memory = (const uint8_t *)(file.text ? file.text : ""),
                        .size = file.length,
                        .left = gl_source_allowance(file.length),
                        .image = image};
    look(&source);
    return source.failure == ENOMEM ? gl_fail_memory(error) : GLASSINE_OK;
}
