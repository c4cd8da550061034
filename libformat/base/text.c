#include "base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <utf8proc.h>

#define REPLACEMENT 0xFFFD

/* Decodes one code point by the table of RFC 3629, section 4; 0 where it is not well-formed. */
static size_t decode(const unsigned char *at, size_t left, uint32_t *code) {
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    unsigned char first = at[0];
    if (first < 0x80) {
        *code = first;
        return 1;
    }
    size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
    if (first < 0xC2 || first > 0xF4 || length > left)
        return 0;
    uint32_t value = first & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++) {
        if ((at[i] & 0xC0) != 0x80)
            return 0;
        value = value << 6 | (at[i] & 0x3Fu);
    }
    if (value < least[length] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
        return 0;
    *code = value;
    return length;
}

/* How many bytes from `at` on are ASCII for certain, a word at a time. */
static size_t ascii_words(const char *at, size_t left) {
    size_t done = 0;
    for (uint64_t word; left - done >= sizeof word; done += sizeof word) {
        memcpy(&word, at + done, sizeof word);
        if (word & UINT64_C(0x8080808080808080))
            break;
    }
    return done;
}

size_t gl_utf8_check(gl_span text) {
    size_t at = 0;
    while (at < text.length) {
        at += ascii_words(text.text + at, text.length - at);
        if (at == text.length)
            break;
        uint32_t code;
        size_t length = decode((const unsigned char *)text.text + at, text.length - at, &code);
        if (length == 0)
            return at;
        at += length;
    }
    return text.length;
}

size_t gl_utf8_next(gl_span text, uint32_t *code) {
    if (text.length == 0)
        return 0;
    size_t length = decode((const unsigned char *)text.text, text.length, code);
    if (length)
        return length;
    *code = REPLACEMENT;
    return 1;
}

void gl_utf8_add(gl_buf *buf, uint32_t code) {
    unsigned char bytes[4];
    size_t length = 0;
    if (code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
        code = REPLACEMENT;
    if (code < 0x80) {
        bytes[length++] = (unsigned char)code;
    } else if (code < 0x800) {
        bytes[length++] = (unsigned char)(0xC0 | code >> 6);
    } else if (code < 0x10000) {
        bytes[length++] = (unsigned char)(0xE0 | code >> 12);
        bytes[length++] = (unsigned char)(0x80 | (code >> 6 & 0x3F));
    } else {
        bytes[length++] = (unsigned char)(0xF0 | code >> 18);
        bytes[length++] = (unsigned char)(0x80 | (code >> 12 & 0x3F));
        bytes[length++] = (unsigned char)(0x80 | (code >> 6 & 0x3F));
    }
    if (code >= 0x80)
        bytes[length++] = (unsigned char)(0x80 | (code & 0x3F));
    gl_buf_add_bytes(buf, bytes, length);
}

/* Below U+0300 every code point is NFC, and none combines with one before it (UAX #15: NFC_Quick_Check). */
static bool is_simple(gl_span text) {
    for (size_t i = 0; i < text.length; i++)
        if ((unsigned char)text.text[i] >= 0xCC) /* lead byte of U+0300 */
            return false;
    return true;
}

static bool is_ascii(gl_span text) {
    for (size_t i = 0; i < text.length; i++)
        if ((unsigned char)text.text[i] >= 0x80)
            return false;
    return true;
}

/* `text` mapped by utf8proc, appended. What it refuses (not well-formed) is appended as it is. */
static void add_mapped(gl_buf *buf, gl_span text, utf8proc_option_t options) {
    utf8proc_uint8_t *mapped = NULL;
    utf8proc_ssize_t length = text.length > PTRDIFF_MAX
                                  ? UTF8PROC_ERROR_OVERFLOW
                                  : utf8proc_map((const utf8proc_uint8_t *)text.text,
                                                 (utf8proc_ssize_t)text.length, &mapped, options);
    if (length >= 0)
        gl_buf_add_bytes(buf, mapped, (size_t)length);
    else if (length == UTF8PROC_ERROR_INVALIDUTF8)
        gl_buf_add(buf, text);
    else
        buf->failed = true;
    free(mapped);
}

void gl_text_add_nfc(gl_buf *buf, gl_span text) {
    if (is_simple(text))
        gl_buf_add(buf, text);
    else
        add_mapped(buf, text, UTF8PROC_STABLE | UTF8PROC_COMPOSE);
}

/* Of ASCII the capital letters alone have another form. */
static char folded_ascii(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static void add_folded_ascii(gl_buf *buf, gl_span text) {
    if (!gl_buf_reserve(buf, text.length))
        return;
    for (size_t i = 0; i < text.length; i++)
        buf->text[buf->length++] = folded_ascii(text.text[i]);
    buf->text[buf->length] = '\0';
}

void gl_text_add_folded(gl_buf *buf, gl_span text) {
    if (is_ascii(text))
        add_folded_ascii(buf, text);
    else
        add_mapped(buf, text, UTF8PROC_STABLE | UTF8PROC_COMPOSE | UTF8PROC_CASEFOLD);
}

bool gl_text_folds_to(gl_span text, gl_span folded, gl_buf *scratch) {
    if (!is_ascii(text)) {
        gl_buf_clear(scratch);
        gl_text_add_folded(scratch, text);
        return !scratch->failed && gl_span_equal(gl_buf_span(scratch), folded);
    }
    size_t same = 0;
    while (same < text.length && same < folded.length && folded_ascii(text.text[same]) == folded.text[same])
        same++;
    return same == text.length && same == folded.length;
}

bool gl_text_is_nfc(gl_span text) {
    if (is_simple(text))
        return true;
    gl_buf nfc = GL_BUF_EMPTY;
    gl_text_add_nfc(&nfc, text);
    bool same = nfc.failed || gl_span_equal(gl_buf_span(&nfc), text);
    gl_buf_free(&nfc);
    return same;
}

/* Controls, line and paragraph separators, and what changes the direction of the text around it
 * (UAX #9: marks, embeddings, overrides, isolates). */
static bool is_hidden(uint32_t code) {
    return code < 0x20 || (code >= 0x7F && code <= 0x9F) || code == 0x061C || code == 0x200E ||
           code == 0x200F || (code >= 0x2028 && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

size_t gl_text_shown_next(gl_span text, gl_span *shown, char escape[GL_ESCAPE_SIZE]) {
    uint32_t code;
    if (text.length == 0)
        return 0;
    size_t length = decode((const unsigned char *)text.text, text.length, &code);
    *shown = (gl_span){text.text, length};
    if (length && !is_hidden(code))
        return length;
    if (length == 0)
        snprintf(escape, GL_ESCAPE_SIZE, "\\x{%02x}", (unsigned char)text.text[0]);
    else if (code == '\n' || code == '\t')
        snprintf(escape, GL_ESCAPE_SIZE, "\\%c", code == '\n' ? 'n' : 't');
    else
        snprintf(escape, GL_ESCAPE_SIZE, "\\u{%x}", (unsigned)code);
    *shown = gl_span_of(escape);
    return length ? length : 1;
}

/* How many bytes at the beginning are ASCII that is shown as it is, a column each: mostly all of them. */
static size_t plain_length(gl_span text) {
    size_t length = 0;
    while (length < text.length && text.text[length] >= 0x20 && text.text[length] < 0x7F)
        length++;
    return length;
}

void gl_text_add_shown(gl_buf *buf, gl_span text, bool lines) {
    char escape[GL_ESCAPE_SIZE];
    gl_span shown;
    size_t length, plain = plain_length(text);
    gl_buf_add_bytes(buf, text.text, plain);
    text = gl_span_part(text, plain, text.length);
    for (; (length = gl_text_shown_next(text, &shown, escape)) != 0;
         text = gl_span_part(text, length, SIZE_MAX)) {
        if (lines && text.text[0] == '\n')
            gl_buf_add_char(buf, '\n');
        else
            gl_buf_add(buf, shown);
    }
}

size_t gl_text_width(gl_span text) {
    size_t width = plain_length(text), length;
    uint32_t code;
    text = gl_span_part(text, width, text.length);
    for (; (length = gl_utf8_next(text, &code)) != 0; text = gl_span_part(text, length, SIZE_MAX)) {
        int columns = code < 0x7F ? code >= 0x20 : utf8proc_charwidth((utf8proc_int32_t)code);
        width += columns > 0 ? (size_t)columns : 0;
    }
    return width;
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* Takes a run of digits off `text`, without its leading zeros. */
static gl_span take_number(gl_span *text) {
    size_t length = 0, zeros = 0;
    while (length < text->length && is_digit(text->text[length]))
        length++;
    while (zeros < length && text->text[zeros] == '0')
        zeros++;
    gl_span number = {text->text + zeros, length - zeros};
    *text = gl_span_part(*text, length, SIZE_MAX);
    return number;
}

static int compare_numbers(gl_span a, gl_span b) {
    if (a.length != b.length)
        return a.length < b.length ? -1 : 1;
    return gl_span_compare(a, b);
}

int gl_text_natural(gl_span a, gl_span b) {
    gl_span left = a, right = b;
    while (left.length && right.length) {
        int order;
        if (is_digit(left.text[0]) && is_digit(right.text[0])) {
            gl_span m = take_number(&left), n = take_number(&right);
            order = compare_numbers(m, n);
        } else {
            order = (unsigned char)left.text[0] - (unsigned char)right.text[0];
            left = gl_span_part(left, 1, SIZE_MAX);
            right = gl_span_part(right, 1, SIZE_MAX);
        }
        if (order)
            return order;
    }
    if (left.length || right.length)
        return left.length ? 1 : -1;
    return gl_span_compare(a, b); /* 7 and 007: the same number, not the same text */
}

/* The White_Space property (Unicode: PropList.txt). */
static bool is_space(uint32_t code) {
    return (code >= 0x09 && code <= 0x0D) || code == 0x20 || code == 0x85 || code == 0xA0 || code == 0x1680 ||
           (code >= 0x2000 && code <= 0x200A) || code == 0x2028 || code == 0x2029 || code == 0x202F ||
           code == 0x205F || code == 0x3000;
}

gl_span gl_text_trim(gl_span text) {
    uint32_t code;
    size_t length;
    while ((length = gl_utf8_next(text, &code)) != 0 && is_space(code))
        text = gl_span_part(text, length, SIZE_MAX);
    while (text.length) {
        size_t start = text.length - 1;
        while (start > 0 && ((unsigned char)text.text[start] & 0xC0) == 0x80)
            start--;
        if (gl_utf8_next(gl_span_part(text, start, SIZE_MAX), &code) != text.length - start ||
            !is_space(code))
            break;
        text.length = start;
    }
    return text;
}

bool gl_text_integer(gl_span text, int64_t *value) {
    bool negative = text.length && text.text[0] == '-';
    size_t at = negative ? 1 : 0;
    if (at == text.length)
        return false;
    int64_t result = 0; /* kept negative: the negative side reaches one further */
    for (; at < text.length; at++) {
        if (!is_digit(text.text[at]) || __builtin_mul_overflow(result, 10, &result) ||
            __builtin_sub_overflow(result, text.text[at] - '0', &result))
            return false;
    }
    if (!negative && __builtin_sub_overflow(0, result, &result))
        return false;
    *value = result;
    return true;
}

/* A decimal number of one to four digits without leading zero at text[*at], behind which *at is put. */
static bool take_version_number(gl_span text, size_t *at, uint32_t *number) {
    const size_t digits = 4, from = *at;
    *number = 0;
    while (*at < text.length && text.text[*at] >= '0' && text.text[*at] <= '9' && *at - from < digits)
        *number = *number * 10 + (uint32_t)(text.text[(*at)++] - '0');
    return *at > from && (text.text[from] != '0' || *at - from == 1);
}

size_t gl_text_version(gl_span text, uint32_t *major, uint32_t *minor) {
    size_t at = 0;
    bool sound = take_version_number(text, &at, major) && *major > 0 && at < text.length &&
                 text.text[at++] == '.' && take_version_number(text, &at, minor);
    return sound ? at : 0;
}
