#include "container/layout.h"

#include <inttypes.h>
#include <stdio.h>

#include "base/text.h"

uint16_t gl_get16(const uint8_t *bytes) {
    return (uint16_t)(bytes[0] | bytes[1] << 8);
}

uint32_t gl_get32(const uint8_t *bytes) {
    return gl_get16(bytes) | (uint32_t)gl_get16(bytes + 2) << 16;
}

uint64_t gl_get64(const uint8_t *bytes) {
    return gl_get32(bytes) | (uint64_t)gl_get32(bytes + 4) << 32;
}

/* Where the next field goes; every put moves it on. */
typedef struct writing_at {
    uint8_t *start, *at;
} writing_at;

static void put16(writing_at *pen, uint32_t value) {
    *pen->at++ = (uint8_t)value;
    *pen->at++ = (uint8_t)(value >> 8);
}

static void put32(writing_at *pen, uint32_t value) {
    put16(pen, value & 0xffff);
    put16(pen, value >> 16);
}

static void put64(writing_at *pen, uint64_t value) {
    put32(pen, (uint32_t)value);
    put32(pen, (uint32_t)(value >> 32));
}

static void put_bytes(writing_at *pen, const char *bytes, size_t length) {
    memcpy(pen->at, bytes, length);
    pen->at += length;
}

static size_t written(const writing_at *pen) {
    return (size_t)(pen->at - pen->start);
}

static uint32_t fit16(uint64_t value) {
    return value < GL_FULL16 ? (uint32_t)value : GL_FULL16;
}

static uint32_t fit32(uint64_t value) {
    return value < GL_FULL32 ? (uint32_t)value : GL_FULL32;
}

/* APPNOTE 4.5.3: in a local header both sizes stand in the Zip64 field, or none. */
static bool local_zip64(const gl_entry *entry) {
    return entry->size >= GL_FULL32 || entry->packed >= GL_FULL32;
}

bool gl_layout_zip64(const gl_entry *entry) {
    return local_zip64(entry) || entry->header_at >= GL_FULL32;
}

uint16_t gl_layout_needed(const gl_entry *entry) {
    return gl_layout_zip64(entry) ? GL_NEEDED_ZIP64 : GL_NEEDED_PLAIN;
}

uint16_t gl_layout_flags(gl_span name) {
    for (size_t i = 0; i < name.length; i++)
        if ((unsigned char)name.text[i] >= 0x80)
            return GL_FLAG_UTF8;
    return 0;
}

size_t gl_layout_local_size(const gl_entry *entry) {
    return GL_LOCAL_SIZE + entry->name.length + (local_zip64(entry) ? GL_EXTRA_HEAD + 16 : 0);
}

/* The fields that a local header and a directory record have in common, APPNOTE 4.4.3 to 4.4.11. */
static void put_common(writing_at *pen, const gl_entry *entry, bool both_sizes, uint32_t extra) {
    put16(pen, gl_layout_needed(entry));
    put16(pen, gl_layout_flags(entry->name));
    put16(pen, entry->method);
    put16(pen, entry->time);
    put16(pen, entry->date);
    put32(pen, entry->crc);
    put32(pen, both_sizes ? GL_FULL32 : fit32(entry->packed));
    put32(pen, both_sizes ? GL_FULL32 : fit32(entry->size));
    put16(pen, (uint32_t)entry->name.length);
    put16(pen, extra);
}

size_t gl_layout_local(const gl_entry *entry, uint8_t out[GL_LOCAL_MAX]) {
    bool zip64 = local_zip64(entry);
    writing_at pen = {out, out};
    put32(&pen, GL_LOCAL_SIGN);
    put_common(&pen, entry, zip64, zip64 ? GL_EXTRA_HEAD + 16 : 0);
    put_bytes(&pen, entry->name.text, entry->name.length);
    if (zip64) {
        put16(&pen, GL_ZIP64_ID);
        put16(&pen, 16);
        put64(&pen, entry->size);
        put64(&pen, entry->packed);
    }
    return written(&pen);
}

size_t gl_layout_record(const gl_entry *entry, uint8_t out[GL_RECORD_MAX]) {
    size_t count =
        (size_t)(entry->size >= GL_FULL32) + (entry->packed >= GL_FULL32) + (entry->header_at >= GL_FULL32);
    uint32_t values = 8 * (uint32_t)count;
    writing_at pen = {out, out};
    put32(&pen, GL_RECORD_SIGN);
    put16(&pen, GL_MADE_BY);
    put_common(&pen, entry, false, values ? GL_EXTRA_HEAD + values : 0);
    put16(&pen, 0); /* comment length */
    put16(&pen, 0); /* disk */
    put16(&pen, 0); /* internal attributes */
    put32(&pen, GL_ATTRIBUTES);
    put32(&pen, fit32(entry->header_at));
    put_bytes(&pen, entry->name.text, entry->name.length);
    if (values) {
        put16(&pen, GL_ZIP64_ID);
        put16(&pen, values);
        if (entry->size >= GL_FULL32)
            put64(&pen, entry->size);
        if (entry->packed >= GL_FULL32)
            put64(&pen, entry->packed);
        if (entry->header_at >= GL_FULL32)
            put64(&pen, entry->header_at);
    }
    return written(&pen);
}

bool gl_layout_end_zip64(const gl_footer *footer) {
    return footer->entries >= GL_FULL16 || footer->directory_size >= GL_FULL32 ||
           footer->directory_at >= GL_FULL32;
}

size_t gl_layout_end64(const gl_footer *footer, uint8_t out[GL_END64_BOTH]) {
    if (!gl_layout_end_zip64(footer))
        return 0;
    writing_at pen = {out, out};
    put32(&pen, GL_END64_SIGN);
    put64(&pen, GL_END64_SIZE - 12); /* APPNOTE 4.3.14.1: without the first 12 bytes */
    put16(&pen, GL_MADE_BY);
    put16(&pen, GL_NEEDED_ZIP64);
    put32(&pen, 0); /* this disk, and the directory's */
    put32(&pen, 0);
    put64(&pen, footer->entries);
    put64(&pen, footer->entries);
    put64(&pen, footer->directory_size);
    put64(&pen, footer->directory_at);
    put32(&pen, GL_LOCATOR_SIGN);
    put32(&pen, 0);
    put64(&pen, footer->directory_at + footer->directory_size);
    put32(&pen, 1); /* disks in all */
    return written(&pen);
}

size_t gl_layout_end(const gl_footer *footer, uint8_t out[GL_END_MAX]) {
    char comment[GL_COMMENT_MAX];
    char sum[GL_HEX_SIZE];
    gl_digest_hex(&footer->sum, sum);
    int length = snprintf(comment, sizeof comment,
                          "glassine %" PRIu32 ".%" PRIu32 " edition %" PRIu32 " follows %" PRIu64 " sum %s",
                          footer->major, footer->minor, footer->edition, footer->start, sum);
    writing_at pen = {out, out};
    put32(&pen, GL_END_SIGN);
    put32(&pen, 0); /* this disk, and the directory's */
    put16(&pen, fit16(footer->entries));
    put16(&pen, fit16(footer->entries));
    put32(&pen, fit32(footer->directory_size));
    put32(&pen, fit32(footer->directory_at));
    put16(&pen, (uint32_t)length);
    put_bytes(&pen, comment, (size_t)length);
    return written(&pen);
}

static bool take_text(gl_span *rest, const char *text) {
    gl_span start = gl_span_of(text);
    if (!gl_span_starts(*rest, start))
        return false;
    *rest = gl_span_part(*rest, start.length, rest->length);
    return true;
}

/* A decimal number without leading zeros, at most `most`. */
static bool take_number(gl_span *rest, uint64_t most, uint64_t *value) {
    size_t digits = 0;
    *value = 0;
    while (digits < rest->length && rest->text[digits] >= '0' && rest->text[digits] <= '9') {
        uint64_t digit = (uint64_t)(rest->text[digits] - '0');
        if (digit > most || *value > (most - digit) / 10)
            return false;
        *value = *value * 10 + digit;
        digits++;
    }
    if (digits == 0 || (digits > 1 && rest->text[0] == '0'))
        return false;
    *rest = gl_span_part(*rest, digits, rest->length);
    return true;
}

static bool take_version(gl_span *rest, gl_footer *footer) {
    size_t length = gl_text_version(*rest, &footer->major, &footer->minor);
    *rest = gl_span_part(*rest, length, rest->length);
    return length > 0;
}

bool gl_layout_comment(gl_span comment, gl_footer *footer) {
    uint64_t edition;
    if (!take_text(&comment, "glassine ") || !take_version(&comment, footer) ||
        !take_text(&comment, " edition ") || !take_number(&comment, GL_EDITION_MAX, &edition) ||
        !take_text(&comment, " follows ") || !take_number(&comment, INT64_MAX, &footer->start) ||
        !take_text(&comment, " sum "))
        return false;
    footer->edition = (uint32_t)edition;
    return gl_digest_parse(comment, &footer->sum);
}

bool gl_layout_is_scan(gl_span base, const gl_entry *entry) {
    if (entry->method != 0 || entry->name.length <= base.length)
        return false;
    return gl_span_starts(gl_span_part(entry->name, base.length + 1, entry->name.length), GL_SPAN(GL_SCANS));
}
