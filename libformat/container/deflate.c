#include "container/deflate.h"

#include <errno.h>
#include <stdlib.h>
#include <zlib.h>

enum { LEVEL = 6, MEMORY = 8, PIECE = 64 * 1024, INPUT = 1 << 30, BETWEEN_FLUSHES = 64 * 1024 };

struct gl_deflater {
    z_stream stream;
    glassine_write write;
    void *context;
    uint8_t out[PIECE];
};

static gl_deflater *deflater_at(int level, glassine_write write, void *context) {
    gl_deflater *deflater = calloc(1, sizeof *deflater);
    if (!deflater)
        return NULL;
    deflater->write = write;
    deflater->context = context;
    if (deflateInit2(&deflater->stream, level, Z_DEFLATED, -MAX_WBITS, MEMORY, Z_DEFAULT_STRATEGY) == Z_OK)
        return deflater;
    free(deflater);
    return NULL;
}

gl_deflater *gl_deflater_new(glassine_write write, void *context) {
    return deflater_at(LEVEL, write, context);
}

void gl_deflater_free(gl_deflater *deflater) {
    if (!deflater)
        return;
    deflateEnd(&deflater->stream);
    free(deflater);
}

static int deflate_input(gl_deflater *deflater, int flush) {
    z_stream *stream = &deflater->stream;
    do {
        stream->next_out = deflater->out;
        stream->avail_out = PIECE;
        deflate(stream, flush);
        size_t length = PIECE - stream->avail_out;
        int code = length ? deflater->write(deflater->context, (const char *)deflater->out, length) : 0;
        if (code)
            return code;
    } while (stream->avail_out == 0);
    return 0;
}

static int add(gl_deflater *deflater, const void *bytes, size_t length, int flush) {
    const uint8_t *at = length ? bytes : (const uint8_t *)"";
    do {
        size_t piece = length < INPUT ? length : INPUT; /* zlib counts in unsigned int */
        deflater->stream.next_in = (z_const Bytef *)(uintptr_t)at;
        deflater->stream.avail_in = (uInt)piece;
        length -= piece;
        at += piece;
        int code = deflate_input(deflater, length == 0 ? flush : Z_NO_FLUSH);
        if (code)
            return code;
    } while (length > 0);
    return 0;
}

int gl_deflater_add(gl_deflater *deflater, const void *bytes, size_t length, bool last) {
    return add(deflater, bytes, length, last ? Z_FINISH : Z_NO_FLUSH);
}

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf *out = context;
    gl_buf_add_bytes(out, bytes, length);
    return out->failed ? ENOMEM : 0;
}

/* How much of the content goes in before the next flush. */
static size_t stretch(gl_span content, bool lines) {
    if (!lines || content.length <= BETWEEN_FLUSHES)
        return content.length;
    const char *end = memchr(content.text + BETWEEN_FLUSHES, '\n', content.length - BETWEEN_FLUSHES);
    return end ? (size_t)(end + 1 - content.text) : content.length;
}

static bool deflate_at(int level, gl_span content, bool lines, gl_buf *out) {
    gl_deflater *deflater = deflater_at(level, gather, out);
    int code = deflater ? 0 : ENOMEM;
    for (bool last = false; !code && !last;) {
        size_t length = stretch(content, lines);
        last = length == content.length;
        code = add(deflater, content.text, length, last ? Z_FINISH : Z_FULL_FLUSH);
        content = gl_span_part(content, length, content.length);
    }
    gl_deflater_free(deflater);
    return code == 0;
}

/* Would readers refuse it, since it inflates so much that it could be meant to harm (L006)? */
static bool inflates_too_much(size_t content, size_t deflated) {
    const size_t free_of_it = (size_t)1 << 20;
    return content > free_of_it && (content - free_of_it) / glassine_limits_default().ratio >= deflated;
}

bool gl_deflate(gl_span content, bool lines, gl_buf *out) {
    size_t before = out->length;
    if (!deflate_at(LEVEL, content, lines, out))
        return false;
    if (!inflates_too_much(content.length, out->length - before))
        return true;
    out->length = before;
    return deflate_at(Z_NO_COMPRESSION, content, lines, out);
}
