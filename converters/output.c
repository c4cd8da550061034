#include "output.h"

#include <errno.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define PIECE ((size_t)1 << 16)

void conv_free(conv_output *out) {
    free(out->text);
    *out = (conv_output){.write = out->write, .context = out->context};
}

void conv_clear(conv_output *out) {
    out->length = 0;
    out->last = '\0';
    if (out->text)
        out->text[0] = '\0';
}

static void hand_on(conv_output *out) {
    if (!out->failed && out->length)
        out->failed = out->write(out->context, out->text, out->length);
    out->length = 0;
}

void *conv_grow(void *array, size_t *room, size_t need, size_t size) {
    if (array && need <= *room)
        return array;
    size_t wanted = *room < 16 ? 16 : *room;
    while (wanted < need)
        wanted = wanted > SIZE_MAX / 2 ? need : wanted * 2;
    void *grown = wanted > SIZE_MAX / size ? NULL : realloc(array, wanted * size);
    if (grown)
        *room = wanted;
    return grown;
}

static bool make_room(conv_output *out, size_t more) {
    if (out->write && out->length >= PIECE)
        hand_on(out);
    if (out->failed)
        return false;
    char *grown =
        more < SIZE_MAX - out->length ? conv_grow(out->text, &out->room, out->length + more + 1, 1) : NULL;
    if (!grown) {
        out->failed = ENOMEM;
        return false;
    }
    out->text = grown;
    return true;
}

void conv_add(conv_output *out, glassine_span span) {
    if (!make_room(out, span.length))
        return;
    if (span.length)
        memcpy(out->text + out->length, span.text, span.length);
    out->length += span.length;
    out->text[out->length] = '\0';
    out->last = span.length ? span.text[span.length - 1] : out->last;
}

void conv_add_text(conv_output *out, const char *text) {
    conv_add(out, conv_span_of(text));
}

void conv_add_char(conv_output *out, char c) {
    conv_add(out, (glassine_span){&c, 1});
}

void conv_printf(conv_output *out, const char *format, ...) {
    va_list values, again;
    va_start(values, format);
    va_copy(again, values);
    int length = vsnprintf(NULL, 0, format, values);
    if (length < 0)
        out->failed = EINVAL;
    else if (make_room(out, (size_t)length)) {
        vsnprintf(out->text + out->length, (size_t)length + 1, format, again);
        out->length += (size_t)length;
        out->last = length ? out->text[out->length - 1] : out->last;
    }
    va_end(again);
    va_end(values);
}

static void add_escaped(conv_output *out, unsigned char c) {
    switch (c) {
    case '"':
        conv_add_text(out, "\\\"");
        break;
    case '\\':
        conv_add_text(out, "\\\\");
        break;
    case '\b':
        conv_add_text(out, "\\b");
        break;
    case '\f':
        conv_add_text(out, "\\f");
        break;
    case '\n':
        conv_add_text(out, "\\n");
        break;
    case '\r':
        conv_add_text(out, "\\r");
        break;
    case '\t':
        conv_add_text(out, "\\t");
        break;
    default:
        conv_printf(out, "\\u%04x", c);
    }
}

void conv_add_json_string(conv_output *out, glassine_span utf8) {
    size_t plain = 0;
    conv_add_char(out, '"');
    for (size_t at = 0; at < utf8.length; at++) {
        unsigned char c = (unsigned char)utf8.text[at];
        if (c >= 0x20 && c != '"' && c != '\\')
            continue;
        conv_add(out, (glassine_span){utf8.text + plain, at - plain});
        add_escaped(out, c);
        plain = at + 1;
    }
    conv_add(out, (glassine_span){utf8.text + plain, utf8.length - plain});
    conv_add_char(out, '"');
}

int conv_finish(conv_output *out) {
    if (out->write)
        hand_on(out);
    return out->failed;
}

bool conv_equal(glassine_span a, glassine_span b) {
    return a.length == b.length && (a.length == 0 || memcmp(a.text, b.text, a.length) == 0);
}

bool conv_is(glassine_span a, const char *text) {
    return conv_equal(a, conv_span_of(text));
}

int conv_compare(glassine_span a, glassine_span b) {
    size_t least = a.length < b.length ? a.length : b.length;
    int order = least ? memcmp(a.text, b.text, least) : 0;
    return order ? order : (a.length > b.length) - (a.length < b.length);
}

glassine_status conv_fail(glassine_error *error, glassine_status status, const char *place,
                          const char *remedy, const char *message) {
    if (!error)
        return status;
    *error = (glassine_error){.status = status};
    snprintf(error->place, sizeof error->place, "%s", place ? place : "");
    snprintf(error->message, sizeof error->message, "%s", message);
    snprintf(error->remedy, sizeof error->remedy, "%s", remedy ? remedy : "");
    return status;
}

/* The text of an errno value without the locale's and without global state. */
static void error_text(int code, char *out, size_t size) {
    if (strerror_r(code, out, size) != 0)
        snprintf(out, size, "error %d", code);
}

glassine_status conv_fail_system(glassine_error *error, int code, const char *place, const char *message) {
    char reason[128], text[256];
    error_text(code, reason, sizeof reason);
    snprintf(text, sizeof text, "%s: %s", message, reason);
    return conv_fail(error, GLASSINE_SYSTEM, place, NULL, text);
}
