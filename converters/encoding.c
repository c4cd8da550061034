#include "encoding.h"

#include <errno.h>
#include <iconv.h>
#include <stdio.h>
#include <strings.h>

#include <utf8proc.h>

#define LOOKED_AT ((size_t)1 << 16)

static bool starts(glassine_span bytes, const char *with, size_t length) {
    return bytes.length >= length && memcmp(bytes.text, with, length) == 0;
}

/* Text in Latin letters has a NUL in every other byte of UTF-16; nothing else has. */
static const char *utf16_without_mark(glassine_span bytes) {
    size_t length = bytes.length < LOOKED_AT ? bytes.length : LOOKED_AT, even = 0, odd = 0;
    for (size_t i = 0; i < length; i++) {
        if (bytes.text[i] == '\0')
            ++*(i % 2 ? &odd : &even);
    }
    if (length < 4 || bytes.length % 2)
        return NULL;
    if (odd > length / 8 && even * 16 < odd)
        return "UTF-16LE";
    return even > length / 8 && odd * 16 < even ? "UTF-16BE" : NULL;
}

/* Bytes of valid UTF-8 from the beginning. */
static size_t utf8_length(glassine_span bytes) {
    size_t at = 0;
    while (at < bytes.length) {
        utf8proc_int32_t code;
        size_t rest = bytes.length - at;
        utf8proc_ssize_t length = utf8proc_iterate((const utf8proc_uint8_t *)bytes.text + at,
                                                   (utf8proc_ssize_t)(rest < 4 ? rest : 4), &code);
        if (length <= 0)
            break;
        at += (size_t)length;
    }
    return at;
}

const char *encoding_find(glassine_span bytes) {
    if (starts(bytes, "\xef\xbb\xbf", 3))
        return "UTF-8";
    if (starts(bytes, "\xff\xfe\0\0", 4))
        return "UTF-32LE";
    if (starts(bytes, "\0\0\xfe\xff", 4))
        return "UTF-32BE";
    if (starts(bytes, "\xff\xfe", 2))
        return "UTF-16LE";
    if (starts(bytes, "\xfe\xff", 2))
        return "UTF-16BE";
    const char *wide = utf16_without_mark(bytes);
    if (wide)
        return wide;
    return utf8_length(bytes) == bytes.length ? "UTF-8" : "Windows-1252";
}

static glassine_status refuse_byte(const char *place, const char *encoding, size_t at,
                                   glassine_error *error) {
    char message[128];
    snprintf(message, sizeof message, "byte %zu is no %.40s", at + 1, encoding);
    return conv_fail(error, GLASSINE_REFUSED, place, "Save it as UTF-8, or name its encoding in the map",
                     message);
}

static glassine_status convert(iconv_t with, glassine_span bytes, const char *encoding, const char *place,
                               conv_output *out, glassine_error *error) {
    char *from = (char *)bytes.text, piece[4096];
    size_t left = bytes.length;
    while (left) {
        char *to = piece;
        size_t room = sizeof piece;
        size_t result = iconv(with, &from, &left, &to, &room);
        conv_add(out, (glassine_span){piece, (size_t)(to - piece)});
        if (result == (size_t)-1 && errno != E2BIG)
            return refuse_byte(place, encoding, (size_t)(from - bytes.text), error);
    }
    return GLASSINE_OK;
}

static void drop_mark(conv_output *out) {
    if (!starts(conv_span(out), "\xef\xbb\xbf", 3))
        return;
    out->length -= 3;
    memmove(out->text, out->text + 3, out->length + 1);
}

glassine_status encoding_decode(glassine_span bytes, const char *encoding, const char *place,
                                conv_output *out, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    if (strcasecmp(encoding, "UTF-8") == 0) {
        size_t good = utf8_length(bytes);
        if (good < bytes.length)
            return refuse_byte(place, encoding, good, error);
        conv_add(out, bytes);
    } else {
        iconv_t with = iconv_open("UTF-8", encoding);
        if (with == (iconv_t)-1)
            return conv_fail(error, GLASSINE_REFUSED, place, "For example: UTF-8, UTF-16, Windows-1252",
                             "the encoding that the map names is not known");
        status = convert(with, bytes, encoding, place, out, error);
        iconv_close(with);
    }
    drop_mark(out);
    if (!status && out->failed)
        status = conv_fail_system(error, out->failed, place, "Cannot read the sheet");
    return status;
}
