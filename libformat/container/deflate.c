#include "container/deflate.h"

#include <errno.h>
#include <stdlib.h>
#include <zlib.h>

enum { LEVEL = 6, MEMORY = 8, PIECE = 64 * 1024, INPUT = 1 << 30 };

struct gl_deflater {
    z_stream stream;
    glassine_write write;
    void *context;
    uint8_t out[PIECE];
};

gl_deflater *gl_deflater_new(glassine_write write, void *context) {
    gl_deflater *deflater = calloc(1, sizeof *deflater);
    if (!deflater)
        return NULL;
    deflater->write = write;
    deflater->context = context;
    if (deflateInit2(&deflater->stream, LEVEL, Z_DEFLATED, -MAX_WBITS, MEMORY, Z_DEFAULT_STRATEGY) == Z_OK)
        return deflater;
    free(deflater);
    return NULL;
}

void gl_deflater_free(gl_deflater *deflater) {
    if (!deflater)
        return;
    deflateEnd(&deflater->stream);
    free(deflater);
}

static int deflate_input(gl_deflater *deflater, bool last) {
    z_stream *stream = &deflater->stream;
    do {
        stream->next_out = deflater->out;
        stream->avail_out = PIECE;
        deflate(stream, last ? Z_FINISH : Z_NO_FLUSH);
        size_t length = PIECE - stream->avail_out;
        int code = length ? deflater->write(deflater->context, (const char *)deflater->out, length) : 0;
        if (code)
            return code;
    } while (stream->avail_out == 0);
    return 0;
}

int gl_deflater_add(gl_deflater *deflater, const void *bytes, size_t length, bool last) {
    const uint8_t *at = length ? bytes : (const uint8_t *)"";
    do {
        size_t piece = length < INPUT ? length : INPUT; /* zlib counts in unsigned int */
        deflater->stream.next_in = (z_const Bytef *)(uintptr_t)at;
        deflater->stream.avail_in = (uInt)piece;
        length -= piece;
        at += piece;
        int code = deflate_input(deflater, last && length == 0);
        if (code)
            return code;
    } while (length > 0);
    return 0;
}

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf *out = context;
    gl_buf_add_bytes(out, bytes, length);
    return out->failed ? ENOMEM : 0;
}

bool gl_deflate(gl_span content, gl_buf *out) {
    gl_deflater *deflater = gl_deflater_new(gather, out);
    int code = deflater ? gl_deflater_add(deflater, content.text, content.length, true) : ENOMEM;
    gl_deflater_free(deflater);
    return code == 0;
}
