#include "base/buf.h"

#include <limits.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/platform.h"

void gl_buf_free(gl_buf *buf) {
    free(buf->text);
    *buf = GL_BUF_EMPTY;
}

void gl_buf_clear(gl_buf *buf) {
    buf->length = 0;
    if (buf->text)
        buf->text[0] = '\0';
}

bool gl_buf_reserve(gl_buf *buf, size_t more) {
    if (buf->failed)
        return false;
    if (more >= SIZE_MAX - buf->length) {
        buf->failed = true;
        return false;
    }
    size_t need = buf->length + more + 1; /* and the NUL byte */
    if (need <= buf->room)
        return true;
    char *grown = gl_grow(buf->text, &buf->room, need, 1);
    if (!grown) {
        buf->failed = true;
        return false;
    }
    buf->text = grown;
    return true;
}

void gl_buf_add_bytes(gl_buf *buf, const void *bytes, size_t length) {
    if (!gl_buf_reserve(buf, length))
        return;
    if (length)
        memcpy(buf->text + buf->length, bytes, length);
    buf->length += length;
    buf->text[buf->length] = '\0';
}

void gl_buf_add(gl_buf *buf, gl_span span) {
    gl_buf_add_bytes(buf, span.text, span.length);
}

void gl_buf_add_text(gl_buf *buf, const char *text) {
    gl_buf_add_bytes(buf, text, strlen(text));
}

void gl_buf_add_char(gl_buf *buf, char c) {
    gl_buf_add_bytes(buf, &c, 1);
}

/* Mostly what is printed fits; else it is printed again once there is room. */
void gl_buf_printf(gl_buf *buf, const char *format, ...) {
    va_list values;
    size_t room = buf->failed || buf->room == 0 ? 0 : buf->room - buf->length;
    va_start(values, format);
    int length =
        vsnprintf(room ? buf->text + buf->length : NULL, room < INT_MAX ? room : INT_MAX, format, values);
    va_end(values);
    if (length < 0) {
        buf->failed = true;
        return;
    }
    if (!gl_buf_reserve(buf, (size_t)length))
        return;
    if ((size_t)length >= room) {
        va_start(values, format);
        vsnprintf(buf->text + buf->length, (size_t)length + 1, format, values);
        va_end(values);
    }
    buf->length += (size_t)length;
}

void *gl_grow(void *array, size_t *room, size_t need, size_t size) {
    if (need <= *room && array)
        return array;
    size_t wanted = *room < 16 ? 16 : *room;
    while (wanted < need)
        wanted = wanted > SIZE_MAX / 2 ? need : wanted * 2;
    if (size && wanted > SIZE_MAX / size)
        wanted = need;
    if (size && wanted > SIZE_MAX / size)
        return NULL;
    void *grown = realloc(array, wanted * size);
    if (!grown)
        return NULL;
    *room = wanted;
    gl_platform_expect_filled(grown, wanted * size);
    return grown;
}
