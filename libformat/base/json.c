#include "base/json.h"

#include <inttypes.h>

#include "base/text.h"

/* Walking and reading of canonical text. Every loop minds `end`, so that text which was never checked gives
 * nonsense, and no more. */

/* Does an odd number of backslashes stand before the quote? An opening quote is no backslash. */
static bool is_escaped(const char *quote) {
    const char *slash = quote;
    while (slash[-1] == '\\')
        slash--;
    return (quote - slash) & 1;
}

/* `at` is at the opening quote. */
static inline const char *string_end(const char *at, const char *end) {
    const char *quote = memchr(at + 1, '"', (size_t)(end - at - 1));
    while (quote && quote[-1] == '\\' && is_escaped(quote))
        quote = memchr(quote + 1, '"', (size_t)(end - quote - 1));
    return quote ? quote + 1 : end;
}

/* The end of an array or object: of the bracket that closes the one at `at`. */
static const char *nested_end(const char *at, const char *end) {
    size_t open = 0;
    while (at < end) {
        char c = *at;
        if (c == '"') {
            at = string_end(at, end);
            continue;
        }
        at++;
        if (c == '{' || c == '[')
            open++;
        else if ((c == '}' || c == ']') && --open == 0)
            return at;
    }
    return end;
}

static const char *value_end(const char *at, const char *end) {
    if (at == end)
        return end;
    if (*at == '"')
        return string_end(at, end);
    if (*at == '{' || *at == '[')
        return nested_end(at, end);
    while (at < end && *at != ',' && *at != '}' && *at != ']')
        at++;
    return at;
}

gl_json_kind gl_json_kind_of(gl_span value) {
    if (value.length == 0)
        return GL_JSON_NONE;
    switch (value.text[0]) {
    case '"':
        return GL_JSON_STRING;
    case '[':
        return GL_JSON_ARRAY;
    case '{':
        return GL_JSON_OBJECT;
    case 't':
    case 'f':
        return GL_JSON_BOOLEAN;
    default:
        return value.text[0] == '-' || (value.text[0] >= '0' && value.text[0] <= '9') ? GL_JSON_INTEGER
                                                                                      : GL_JSON_NONE;
    }
}

gl_json_walk gl_json_walk_of(gl_span value) {
    gl_json_kind kind = gl_json_kind_of(value);
    if ((kind != GL_JSON_ARRAY && kind != GL_JSON_OBJECT) || value.length < 2)
        return (gl_json_walk){NULL, NULL};
    return (gl_json_walk){value.text + 1, value.text + value.length - 1};
}

bool gl_json_next(gl_json_walk *walk, gl_span *name, gl_span *item) {
    if (walk->at >= walk->end)
        return false;
    const char *at = walk->at, *next = value_end(at, walk->end);
    *name = GL_NO_SPAN;
    if (next < walk->end && *next == ':') { /* it was a name: only a member has a colon behind its string */
        *name = (gl_span){at + 1, (size_t)(next - at) - 2};
        at = next + 1;
        next = value_end(at, walk->end);
    }
    *item = (gl_span){at, (size_t)(next - at)};
    walk->at = next < walk->end ? next + 1 : next; /* over the comma */
    return true;
}

/* Names of small ASCII letters sort against raw names as against decoded ones: a backslash, like the characters that it
 * may stand for, comes before every letter. The first letter decides nearly always; behind an empty name stands its
 * closing quote. */
static int compare_wanted(gl_span wanted, gl_span name) {
    int order = wanted.text[0] - name.text[0];
    return order ? order : gl_span_compare(wanted, name);
}

void gl_json_keep(gl_json_wanted *them, gl_span name, gl_span value) {
    int order = -1;
    while (them->next < them->count && (order = compare_wanted(them->names[them->next], name)) < 0)
        them->next++;
    if (order == 0)
        them->values[them->next++] = value;
}

size_t gl_json_count(gl_span value) {
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    size_t count = 0;
    while (gl_json_next(&walk, &name, &item))
        count++;
    return count;
}

gl_span gl_json_member(gl_span object, const char *name) {
    gl_span wanted = gl_span_of(name), found, item;
    gl_json_walk walk = gl_json_walk_of(object);
    while (gl_json_next(&walk, &found, &item))
        if (found.text && gl_span_equal(found, wanted))
            return item;
    return GL_NO_SPAN;
}

gl_span gl_json_raw(gl_span value) {
    if (gl_json_kind_of(value) != GL_JSON_STRING || value.length < 2)
        return GL_NO_SPAN;
    return (gl_span){value.text + 1, value.length - 2};
}

bool gl_json_integer(gl_span value, int64_t *out) {
    return gl_json_kind_of(value) == GL_JSON_INTEGER && gl_text_integer(value, out);
}

bool gl_json_true(gl_span value) {
    return gl_span_equal(value, GL_SPAN("true"));
}

static uint32_t hex_digit(char c) {
    return (uint32_t)(c <= '9' ? c - '0' : c - 'a' + 10) & 15;
}

/* Decodes the escape at text[0] (a backslash); returns its length, what is no escape counting as itself. */
static size_t escape_next(gl_span text, uint32_t *code) {
    static const char letters[] = "\"\"\\\\//b\bf\fn\nr\rt\t";
    *code = '\\';
    if (text.length < 2)
        return 1;
    if (text.text[1] == 'u' && text.length >= 6) {
        *code = hex_digit(text.text[2]) << 12 | hex_digit(text.text[3]) << 8 | hex_digit(text.text[4]) << 4 |
                hex_digit(text.text[5]);
        return 6;
    }
    for (size_t i = 0; letters[i]; i += 2) {
        if (letters[i] == text.text[1]) {
            *code = (unsigned char)letters[i + 1];
            return 2;
        }
    }
    return 1;
}

void gl_json_add_decoded(gl_buf *buf, gl_span value) {
    gl_span rest = gl_json_raw(value);
    while (rest.length) {
        const char *escape = memchr(rest.text, '\\', rest.length);
        size_t plain = escape ? (size_t)(escape - rest.text) : rest.length;
        gl_buf_add_bytes(buf, rest.text, plain);
        rest = gl_span_part(rest, plain, SIZE_MAX);
        if (rest.length == 0)
            break;
        uint32_t code;
        size_t length = escape_next(rest, &code);
        gl_utf8_add(buf, code);
        rest = gl_span_part(rest, length, SIZE_MAX);
    }
}

/* The place of a code point in the order of UTF-16 code units: surrogates, and so all that is beyond U+FFFF,
 * come before U+E000. */
static uint32_t utf16_rank(uint32_t code) {
    return code >= 0xE000 && code <= 0xFFFF ? code + 0x110000 : code;
}

static size_t name_next(gl_span name, bool escaped, uint32_t *code) {
    return escaped && name.length && name.text[0] == '\\' ? escape_next(name, code)
                                                          : gl_utf8_next(name, code);
}

static int compare_names(gl_span a, gl_span b, bool escaped) {
    for (;;) {
        uint32_t left, right;
        size_t m = name_next(a, escaped, &left), n = name_next(b, escaped, &right);
        if (m == 0 || n == 0)
            return (m != 0) - (n != 0);
        if (left != right)
            return utf16_rank(left) < utf16_rank(right) ? -1 : 1;
        a = gl_span_part(a, m, SIZE_MAX);
        b = gl_span_part(b, n, SIZE_MAX);
    }
}

int gl_json_name_order(gl_span a, gl_span b) {
    return compare_names(a, b, false);
}

int gl_json_raw_name_order(gl_span a, gl_span b) {
    return compare_names(a, b, true);
}

static void add_escape(gl_buf *buf, unsigned char c) {
    static const char controls[] = "\bb\tt\nn\ff\rr\"\"\\\\";
    for (size_t i = 0; i < sizeof controls - 1; i += 2) {
        if ((unsigned char)controls[i] == c) {
            gl_buf_add_bytes(buf, (const char[]){'\\', controls[i + 1]}, 2);
            return;
        }
    }
    gl_buf_printf(buf, "\\u%04x", c);
}

void gl_json_add_string(gl_buf *buf, gl_span utf8) {
    size_t start = 0, at = 0;
    gl_buf_add_char(buf, '"');
    while (at < utf8.length) {
        unsigned char c = (unsigned char)utf8.text[at];
        uint32_t code = c;
        size_t length = c < 0x80 ? 1 : gl_utf8_next(gl_span_part(utf8, at, 4), &code);
        bool torn = c >= 0x80 && length == 1, escape = c < 0x20 || c == '"' || c == '\\';
        if (torn || escape) {
            gl_buf_add_bytes(buf, utf8.text + start, at - start);
            start = at + 1;
        }
        if (torn)
            gl_utf8_add(buf, code);
        else if (escape)
            add_escape(buf, c);
        at += length;
    }
    if (start < utf8.length)
        gl_buf_add_bytes(buf, utf8.text + start, utf8.length - start);
    gl_buf_add_char(buf, '"');
}

void gl_json_add_integer(gl_buf *buf, int64_t value) {
    gl_buf_printf(buf, "%" PRId64, value);
}
