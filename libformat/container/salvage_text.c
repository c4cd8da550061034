/* Text out of segments that are not whole. Writers end a deflate block at the end of a line every now and
 * then, so that what comes behind such a place inflates by itself: after damage the next one is found by its
 * mark. */
#include <inttypes.h>
#include <stdlib.h>
#include <zlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/salvaging.h"

/* An empty stored block, to which a full flush comes down (RFC 1951, 3.2.4): LEN 0, NLEN ffff. */
static const uint8_t MARK[] = {0x00, 0x00, 0xff, 0xff};

enum {
    WINDOW = 256 * 1024,
    OUT = 64 * 1024,
    AT_BLOCK_END = 128, /* z_stream.data_type after inflate(): at the end of a block … */
    UNUSED_BITS = 63    /* … with so many bits of the last byte left */
};

typedef struct texts {
    const gl_salvage *it;
    gl_fragment_take take;
    void *context;
    glassine_error *error;
    uint8_t *window;
    z_stream stream;
    gl_buf text;   /* what the run that goes on has given so far */
    bool running;  /* the stream is in the middle of one */
    uint64_t left; /* bytes that may still be inflated */
    uint8_t out[OUT];
} texts;

static glassine_status hand_over(texts *it) {
    it->running = false;
    if (it->text.failed)
        return gl_fail_memory(it->error);
    if (it->text.length == 0)
        return GLASSINE_OK;
    gl_buf text = it->text;
    it->text = GL_BUF_EMPTY;
    return it->take(it->context, &text) ? GLASSINE_OK : gl_fail_memory(it->error);
}

static glassine_status begin_run(texts *it) {
    glassine_status status = hand_over(it);
    it->running = inflateReset(&it->stream) == Z_OK;
    return status;
}

/* Feeds the run; it ends where the stream does, or where it is no stream. */
static glassine_status feed(texts *it, const uint8_t *bytes, size_t length) {
    z_stream *stream = &it->stream;
    stream->next_in = (z_const Bytef *)(uintptr_t)bytes;
    stream->avail_in = (uInt)length;
    while (it->running) {
        stream->next_out = it->out;
        stream->avail_out = OUT;
        int result = inflate(stream, Z_NO_FLUSH);
        size_t given = OUT - stream->avail_out;
        if (given > it->left)
            return gl_fail(it->error, GLASSINE_REFUSED, "L005", it->it->path,
                           "the pieces of its log inflate to more than %" PRIu64 " bytes",
                           it->it->file.limits.log_bytes);
        it->left -= given;
        gl_buf_add_bytes(&it->text, it->out, given);
        if (result == Z_STREAM_END || (result != Z_OK && result != Z_BUF_ERROR))
            return hand_over(it);
        if (stream->avail_out > 0)
            return GLASSINE_OK; /* all of the input is in */
    }
    return GLASSINE_OK;
}

/* After damage a stream may come into step again, and what it gave on the way is still nothing: a run goes on
 * where it has ended a line, too, as it does where writers put marks. */
static bool is_in_step(const texts *it) {
    return it->running && (it->stream.data_type & AT_BLOCK_END) && !(it->stream.data_type & UNUSED_BITS) &&
           !it->text.failed && it->text.length && it->text.text[it->text.length - 1] == '\n';
}

/* At a mark: a run that is in step goes on, anything else begins anew behind it. */
static glassine_status pass_mark(texts *it) {
    return is_in_step(it) ? GLASSINE_OK : begin_run(it);
}

static size_t next_mark(const uint8_t *bytes, size_t length) {
    for (size_t i = 0; length - i >= sizeof MARK; i++) {
        const uint8_t *zero = memchr(bytes + i, 0, length - i - sizeof MARK + 1);
        if (!zero)
            break;
        i = (size_t)(zero - bytes);
        if (memcmp(zero, MARK, sizeof MARK) == 0)
            return i + sizeof MARK;
    }
    return 0;
}

/* Feeds from..to of the file, looking for marks. */
static glassine_status feed_range(texts *it, uint64_t from, uint64_t to) {
    glassine_status status = GLASSINE_OK;
    while (from < to && !status) {
        size_t length = to - from < WINDOW ? (size_t)(to - from) : WINDOW;
        int code = gl_bytes_read(&it->it->file, it->window, length, from);
        if (code)
            return gl_fault_reading(it->error, code, it->it->path);
        size_t mark = next_mark(it->window, length);
        if (!mark && from + length < to)
            length -= sizeof MARK - 1; /* a mark may begin there */
        status = feed(it, it->window, mark ? mark : length);
        if (!status && mark)
            status = pass_mark(it);
        from += mark ? mark : length;
    }
    return status;
}

static bool is_segment(const gl_piece *piece) {
    return gl_span_starts(piece->inner, GL_SPAN("slips/"));
}

/* A segment that was stored is text as it stands. */
static glassine_status take_stored(texts *it, uint64_t from, uint64_t to) {
    glassine_status status = hand_over(it);
    if (status || to - from > it->left)
        return status;
    it->left -= to - from;
    if (!gl_buf_reserve(&it->text, (size_t)(to - from)))
        return gl_fail_memory(it->error);
    int code = gl_bytes_read(&it->it->file, it->text.text, (size_t)(to - from), from);
    if (code)
        return gl_fault_reading(it->error, code, it->it->path);
    it->text.length = (size_t)(to - from);
    return hand_over(it);
}

/* One stretch between whole pieces: from each beginning of a broken segment in it to the next. */
static glassine_status take_gap(texts *it, uint64_t from, uint64_t to, size_t *next) {
    glassine_status status = GLASSINE_OK;
    const gl_salvage *salvage = it->it;
    for (; *next < salvage->count && !status; ++*next) {
        const gl_piece *piece = &salvage->pieces[*next];
        const gl_entry *entry = &piece->entry;
        if (entry->data_at >= to)
            break;
        if (piece->whole || !is_segment(piece) || entry->data_at < from)
            continue;
        status = feed_range(it, from, entry->data_at);
        from = entry->data_at;
        uint64_t end = entry->packed < to - from ? from + entry->packed : to;
        if (!status && entry->method == 0)
            status = take_stored(it, from, end);
        else if (!status)
            status = begin_run(it);
    }
    if (!status)
        status = feed_range(it, from, to);
    return status ? status : hand_over(it);
}

glassine_status gl_salvage_fragments(const gl_salvage *salvage, gl_fragment_take take, void *context,
                                     glassine_error *error) {
    texts *it = calloc(1, sizeof *it);
    if (!it)
        return gl_fail_memory(error);
    *it = (texts){.it = salvage, .take = take, .context = context, .error = error, .window = malloc(WINDOW)};
    it->left = salvage->file.limits.log_bytes;
    glassine_status status = GLASSINE_OK;
    if (!it->window || inflateInit2(&it->stream, -MAX_WBITS) != Z_OK) {
        status = gl_fail_memory(error);
    } else {
        uint64_t at = 0, from, to;
        size_t next = 0;
        while (!status && gl_salvage_gap(salvage, &at, &from, &to))
            status = take_gap(it, from, to, &next);
        inflateEnd(&it->stream);
    }
    gl_buf_free(&it->text);
    free(it->window);
    free(it);
    return status;
}
