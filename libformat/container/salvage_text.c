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

enum { WINDOW = 256 * 1024, OUT = 64 * 1024 };

typedef struct texts {
    const gl_salvage *it;
    gl_fragment_take take;
    void *context;
    glassine_error *error;
    uint8_t *window;
    z_stream stream;
    gl_buf text;   /* what has come out since it was last handed over */
    bool running;  /* the stream is in the middle of a run … */
    size_t fresh;  /* … that has given so much */
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
    it->fresh = 0;
    it->running = inflateReset(&it->stream) == Z_OK;
    return status;
}

/* Where the last line ends. */
static size_t lines_end(const gl_buf *text) {
    size_t end = text->failed ? 0 : text->length;
    while (end > 0 && text->text[end - 1] != '\n')
        end--;
    return end;
}

/* At a place where a writer emptied its window, which writers do at the end of a line: what comes goes on
 * where the last whole line ended. If something is missing between the two, the chain shows it. */
static glassine_status pass_mark(texts *it) {
    if (it->text.failed)
        return gl_fail_memory(it->error);
    it->text.length = lines_end(&it->text);
    it->fresh = 0;
    it->running = inflateReset(&it->stream) == Z_OK;
    return GLASSINE_OK;
}

/* Takes what was inflated. */
static glassine_status add_text(texts *it, size_t length) {
    if (length > it->left)
        return gl_fail(it->error, GLASSINE_REFUSED, "L005", it->it->path,
                       "the pieces of its log inflate to more than %" PRIu64 " bytes",
                       it->it->file.limits.log_bytes);
    it->left -= length;
    it->fresh += length;
    gl_buf_add_bytes(&it->text, it->out, length);
    return GLASSINE_OK;
}

/* Does a run go on after this result of inflate()? Where one that gave something stops being a stream at the
 * end of a line, a damaged mark stood there, most likely: it is taken up behind that. */
static bool goes_on(texts *it, int result) {
    if (result == Z_OK || result == Z_BUF_ERROR)
        return true;
    if (result == Z_STREAM_END || it->fresh == 0 || it->text.length == 0 ||
        lines_end(&it->text) < it->text.length)
        return false;
    it->fresh = 0;
    return inflateReset(&it->stream) == Z_OK;
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
        glassine_status status = add_text(it, OUT - stream->avail_out);
        if (status)
            return status;
        it->running = goes_on(it, result);
        if (stream->avail_in == 0 && stream->avail_out > 0)
            return GLASSINE_OK;
    }
    return GLASSINE_OK;
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
