#include "images/png_text.h"

#include <errno.h>
#include <stdlib.h>
#include <zlib.h>

#include "images/parts.h"

#define TEXT_MOST ((size_t)1 << 17) /* of a chunk that is looked at, packed or not */
#define UNPACKED_MOST ((size_t)1 << 20)

typedef struct bytes {
    const uint8_t *at;
    size_t length;
} bytes;

/* Up to the NUL byte, and what is behind it; false where there is none. */
static bool cut(bytes *from, bytes *head) {
    const uint8_t *nul = from->length ? memchr(from->at, 0, from->length) : NULL;
    if (!nul)
        return false;
    *head = (bytes){from->at, (size_t)(nul - from->at)};
    from->length -= head->length + 1;
    from->at = nul + 1;
    return true;
}

static bool equal(bytes a, const char *text) {
    return a.length == strlen(text) && memcmp(a.at, text, a.length) == 0;
}

static bool starts(bytes a, const char *text) {
    return a.length >= strlen(text) && memcmp(a.at, text, strlen(text)) == 0;
}

/* Inflates as much as there is room for; what is torn gives what came before. The caller frees it. */
static uint8_t *unpack(bytes packed, size_t *length) {
    uint8_t *out = malloc(UNPACKED_MOST);
    z_stream stream = {.next_in = (Bytef *)(uintptr_t)packed.at, .avail_in = (uInt)packed.length};
    if (!out || inflateInit(&stream) != Z_OK) {
        free(out);
        return NULL;
    }
    stream.next_out = out;
    stream.avail_out = (uInt)UNPACKED_MOST;
    inflate(&stream, Z_SYNC_FLUSH);
    *length = UNPACKED_MOST - stream.avail_out;
    inflateEnd(&stream);
    return out;
}

static int hex_value(uint8_t c) {
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                  : -1;
}

/* A "raw profile", as several programs write metadata: a line with its name, one with its length, then hex
 * digits in lines. Common practice, no standard. Decodes in place of a copy that the caller frees. */
static uint8_t *decode_profile(bytes text, size_t *length) {
    size_t lines = 0, at = 0, count = 0;
    uint8_t *out = malloc(text.length + 1);
    if (!out)
        return NULL;
    if (text.length > 0 && text.at[0] == '\n')
        at++;
    for (; at < text.length && lines < 2; at++)
        lines += text.at[at] == '\n';
    for (int high = -1; at < text.length; at++) {
        int value = hex_value(text.at[at]);
        if (value < 0)
            continue;
        if (high < 0) {
            high = value;
        } else {
            out[count++] = (uint8_t)(high * 16 + value);
            high = -1;
        }
    }
    *length = count;
    return out;
}

static void see_profile(gl_source *source, bytes text) {
    size_t length = 0;
    uint8_t *profile = decode_profile(text, &length);
    if (!profile) {
        source->failure = ENOMEM;
        return;
    }
    gl_source inner = {
        .fd = -1, .memory = profile, .size = length, .left = source->left, .image = source->image};
    bytes all = {profile, length};
    if (length >= 6 && memcmp(profile, "Exif\0", 6) == 0)
        gl_exif_look(&inner, 6, length - 6);
    else if (starts(all, "8BIM"))
        gl_resources_look(&inner, 0, length);
    else if (length > 0 && profile[0] == 0x1C)
        gl_iptc_look(&inner, 0, length);
    else
        gl_xmp_look(source->image, profile, length);
    source->left = inner.left;
    free(profile);
}

static void see_text(gl_source *source, bytes keyword, bytes text) {
    gl_image *image = source->image;
    if (starts(keyword, "Raw profile type "))
        see_profile(source, text);
    else if (equal(keyword, "XML:com.adobe.xmp"))
        gl_xmp_look(image, text.at, text.length);
    else if (equal(keyword, "Author") || equal(keyword, "Artist") || equal(keyword, "Copyright"))
        image->person = true;
    else if (starts(keyword, "GPS") || starts(keyword, "exif:GPS"))
        image->place = true;
}

/* zTXt: method, packed text. iTXt: is it packed, method, language, translated keyword, text. 11.3.4. */
static bool text_of(char kind, bytes *rest, bool *packed) {
    bytes passed;
    *packed = kind == 'z';
    if (kind == 't')
        return true;
    size_t skip = kind == 'z' ? 1 : 2;
    if (rest->length < skip)
        return false;
    if (kind == 'i')
        *packed = rest->at[0] == 1;
    rest->at += skip;
    rest->length -= skip;
    return kind == 'z' || (cut(rest, &passed) && cut(rest, &passed));
}

void gl_png_text_look(gl_source *source, char kind, uint64_t at, uint64_t length) {
    size_t seen = length < TEXT_MOST ? (size_t)length : TEXT_MOST;
    const uint8_t *data = gl_source_see(source, at, seen);
    if (!data)
        return;
    bytes rest = {data, seen}, keyword;
    bool packed;
    if (!cut(&rest, &keyword) || !text_of(kind, &rest, &packed))
        return;
    if (!packed) {
        see_text(source, keyword, rest);
        return;
    }
    bytes text = {NULL, 0};
    uint8_t *unpacked = unpack(rest, &text.length);
    text.at = unpacked;
    if (!unpacked)
        source->failure = ENOMEM;
    else if (gl_source_spend(source, text.length))
        see_text(source, keyword, text);
    free(unpacked);
}
