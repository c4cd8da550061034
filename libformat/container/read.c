/* The content of entries: stored or inflated, checked, in bounded memory. */
#include <errno.h>
#include <inttypes.h>
#include <libdeflate.h>
#include <stdlib.h>
#include <zlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/platform.h"
#include "base/work.h"
#include "container/content.h"
#include "container/fault.h"
#include "container/marker.h"
#include "container/opened.h"

/* A piece stays near the processor while it is copied, hashed, summed and searched: of 256 KiB and more a
 * tenth of the time goes into fetching it again. */
enum { PIECE = 64 * 1024, FREE_OF_RATIO = 1024 * 1024 };

typedef struct entry_reader {
    const gl_file *file;
    const gl_entry *entry;
    glassine_write write;
    void *context;
    gl_hash *hash; /* NULL: no digest is wanted */
    glassine_error *error;
    uint8_t *raw, *content; /* PIECE bytes each; `content` for deflated entries only */
    uint64_t taken;         /* raw bytes read so far */
    uint64_t given;         /* content bytes handed out so far */
    uint32_t crc;
    gl_marker marker;
} entry_reader;

int gl_bytes_read(const gl_file *file, void *bytes, size_t length, uint64_t offset) {
    enum { SECTOR = 4096 };
    int code = gl_file_read_at(file->fd, bytes, length, offset);
    if (code != EIO || !file->forgiving)
        return code;
    uint8_t *at = bytes;
    while (length) {
        size_t part = SECTOR - offset % SECTOR < length ? (size_t)(SECTOR - offset % SECTOR) : length;
        code = gl_file_read_at(file->fd, at, part, offset);
        if (code == EIO)
            memset(at, 0, part);
        else if (code)
            return code;
        at += part;
        offset += part;
        length -= part;
    }
    return 0;
}

static const char *path_of(const entry_reader *reading) {
    return reading->file->path;
}

static glassine_status give(entry_reader *reading, const uint8_t *bytes, size_t length) {
    reading->crc = gl_crc32(reading->crc, bytes, length);
    reading->given += length;
    if (reading->hash)
        gl_hash_add(reading->hash, bytes, length);
    int code = reading->write ? reading->write(reading->context, (const char *)bytes, length) : 0;
    return code ? gl_fail_system(reading->error, code, path_of(reading), "its content cannot be passed on")
                : GLASSINE_OK;
}

/* The next raw bytes of the entry into reading->raw; *length is 0 at its end. */
static glassine_status take(entry_reader *reading, size_t *length) {
    uint64_t left = reading->entry->packed - reading->taken;
    *length = left < PIECE ? (size_t)left : PIECE;
    int code = gl_bytes_read(reading->file, reading->raw, *length, reading->entry->data_at + reading->taken);
    if (code)
        return gl_fault_reading(reading->error, code, path_of(reading));
    reading->taken += *length;
    gl_marker_pass(&reading->marker, reading->raw, *length);
    return GLASSINE_OK;
}

static glassine_status give_stored(entry_reader *reading) {
    for (;;) {
        size_t length;
        glassine_status status = take(reading, &length);
        if (!status && length > 0)
            status = give(reading, reading->raw, length);
        if (status || length == 0)
            return status;
    }
}

static glassine_status not_inflatable(entry_reader *reading, const char *what) {
    return gl_fault_in(reading->error, "C070", path_of(reading), reading->entry->name, "%s", what);
}

/* Inflates what lies in `stream`'s input and hands it out. */
static glassine_status inflate_piece(entry_reader *reading, z_stream *stream, bool *ended) {
    do {
        stream->next_out = reading->content;
        stream->avail_out = PIECE;
        int result = inflate(stream, Z_NO_FLUSH);
        if (result == Z_MEM_ERROR)
            return gl_fail_memory(reading->error);
        if (result != Z_OK && result != Z_STREAM_END && result != Z_BUF_ERROR)
            return not_inflatable(reading, "its deflated data are damaged");
        size_t length = PIECE - stream->avail_out;
        if (length > reading->entry->size - reading->given)
            return not_inflatable(reading, "it inflates to more than its size");
        glassine_status status = length ? give(reading, reading->content, length) : GLASSINE_OK;
        if (status)
            return status;
        *ended = result == Z_STREAM_END;
    } while (!*ended && stream->avail_out == 0);
    return GLASSINE_OK;
}

static glassine_status inflate_all(entry_reader *reading, z_stream *stream) {
    bool ended = false;
    while (!ended) {
        size_t length;
        glassine_status status = take(reading, &length);
        if (status)
            return status;
        if (length == 0)
            return not_inflatable(reading, "its deflated data do not end");
        stream->next_in = reading->raw;
        stream->avail_in = (uInt)length;
        if ((status = inflate_piece(reading, stream, &ended)) != GLASSINE_OK)
            return status;
    }
    if (stream->avail_in > 0 || reading->taken < reading->entry->packed)
        return not_inflatable(reading, "its deflated data end before the entry does");
    if (reading->given != reading->entry->size)
        return not_inflatable(reading, "it inflates to less than its size");
    return GLASSINE_OK;
}

static glassine_status give_inflated(entry_reader *reading) {
    z_stream stream = {0};
    if (inflateInit2(&stream, -MAX_WBITS) != Z_OK)
        return gl_fail_memory(reading->error);
    glassine_status status = inflate_all(reading, &stream);
    inflateEnd(&stream);
    return status;
}

static glassine_status check_ratio(const entry_reader *reading) {
    const gl_entry *entry = reading->entry;
    uint64_t ratio = reading->file->limits.ratio;
    uint64_t weighed = entry->size > FREE_OF_RATIO ? entry->size - FREE_OF_RATIO : 0;
    if (weighed / ratio + (weighed % ratio != 0) <= entry->packed)
        return GLASSINE_OK;
    return gl_fault_in(reading->error, "L006", path_of(reading), entry->name,
                       "%" PRIu64 " bytes would inflate to %" PRIu64 ", more than %" PRIu64 " times as many",
                       entry->packed, entry->size, ratio);
}

static glassine_status check_end(const entry_reader *reading) {
    if (reading->crc != reading->entry->crc)
        return gl_fault_in(reading->error, "C071", path_of(reading), reading->entry->name,
                           "its content does not have the CRC-32 that the directory gives");
    if (reading->marker.found)
        return gl_fault_in(reading->error, "C072", path_of(reading), reading->entry->name,
                           "its bytes hold what looks like an end record of a bundle");
    return GLASSINE_OK;
}

static glassine_status read_entry(entry_reader *reading) {
    bool deflated = reading->entry->method != 0;
    reading->raw = malloc(PIECE);
    reading->content = deflated ? malloc(PIECE) : NULL;
    if (!reading->raw || (deflated && !reading->content))
        return gl_fail_memory(reading->error);
    glassine_status status = check_ratio(reading);
    if (!status)
        status = deflated ? give_inflated(reading) : give_stored(reading);
    return status ? status : check_end(reading);
}

glassine_status gl_content_stream(const gl_file *file, const gl_entry *entry, glassine_write write,
                                  void *context, gl_digest *digest, glassine_error *error) {
    entry_reader reading = {.file = file, .entry = entry, .write = write, .context = context, .error = error};
    if (digest) {
        reading.hash = gl_hash_new();
        if (!reading.hash)
            return gl_fail_memory(error);
        gl_hash_start(reading.hash);
    }
    glassine_status status = read_entry(&reading);
    if (digest)
        *digest = gl_hash_end(reading.hash);
    gl_hash_free(reading.hash);
    free(reading.raw);
    free(reading.content);
    return status;
}

glassine_status gl_zip_stream(const gl_zip *zip, const gl_entry *entry, glassine_write write, void *context,
                              gl_digest *digest, glassine_error *error) {
    glassine_status status = gl_local_check(&zip->file, entry, error);
    return status ? status : gl_content_stream(&zip->file, entry, write, context, digest, error);
}

/* ---- the whole content at once ---- */

/* The raw bytes of the entry into `raw`, which has room for them. */
static glassine_status take_whole(entry_reader *reading, void *raw) {
    size_t length = (size_t)reading->entry->packed;
    int code = gl_bytes_read(reading->file, raw, length, reading->entry->data_at);
    if (code)
        return gl_fault_reading(reading->error, code, path_of(reading));
    gl_marker_pass(&reading->marker, raw, length);
    return GLASSINE_OK;
}

static glassine_status inflate_whole(entry_reader *reading, const uint8_t *raw, char *content) {
    struct libdeflate_decompressor *inflater = libdeflate_alloc_decompressor();
    if (!inflater)
        return gl_fail_memory(reading->error);
    size_t packed = (size_t)reading->entry->packed, size = (size_t)reading->entry->size, taken, given;
    enum libdeflate_result result =
        libdeflate_deflate_decompress_ex(inflater, raw, packed, content, size, &taken, &given);
    libdeflate_free_decompressor(inflater);
    if (result == LIBDEFLATE_INSUFFICIENT_SPACE)
        return not_inflatable(reading, "it inflates to more than its size");
    if (result != LIBDEFLATE_SUCCESS)
        return not_inflatable(reading, "its deflated data are damaged, or do not end");
    if (taken != packed)
        return not_inflatable(reading, "its deflated data end before the entry does");
    return given == size ? GLASSINE_OK : not_inflatable(reading, "it inflates to less than its size");
}

static glassine_status read_inflated(entry_reader *reading, char *content) {
    size_t packed = (size_t)reading->entry->packed;
    uint8_t *raw = malloc(packed ? packed : 1);
    glassine_status status = raw ? take_whole(reading, raw) : gl_fail_memory(reading->error);
    if (!status)
        status = inflate_whole(reading, raw, content);
    free(raw);
    return status;
}

/* The system takes as long to hand memory out as it takes to inflate into it, or longer. */
enum { ASKED_AT_ONCE = 4 * 1024 * 1024, WORTH_ASKING = 4 * ASKED_AT_ONCE };

typedef struct asking {
    char *memory;
    size_t size;
    atomic_bool enough;
} asking;

/* From the end on backwards: who fills it from the beginning is met on the way. */
static void ask_for_memory(void *context) {
    asking *it = context;
    while (it->size > 0 && !atomic_load(&it->enough)) {
        size_t part = it->size < ASKED_AT_ONCE ? it->size : ASKED_AT_ONCE;
        it->size -= part;
        if (!gl_platform_hand_out(it->memory + it->size, part))
            return;
    }
}

static glassine_status fill_content(entry_reader *reading, char *content) {
    const gl_entry *entry = reading->entry;
    asking rest = {.memory = content, .size = (size_t)entry->size};
    gl_beside *beside = entry->size >= WORTH_ASKING ? gl_beside_begin(ask_for_memory, &rest) : NULL;
    glassine_status status = entry->method ? read_inflated(reading, content) : take_whole(reading, content);
    atomic_store(&rest.enough, true);
    gl_beside_end(beside);
    return status;
}

/* `content` has room for it. */
static glassine_status read_content(const gl_zip *zip, const gl_entry *entry, char *content,
                                    glassine_error *error) {
    entry_reader reading = {.file = &zip->file, .entry = entry, .error = error};
    glassine_status status = check_ratio(&reading);
    if (!status)
        status = fill_content(&reading, content);
    if (status)
        return status;
    reading.crc = gl_crc32(0, content, (size_t)entry->size);
    return check_end(&reading);
}

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf *out = context;
    gl_buf_add_bytes(out, bytes, length);
    return 0;
}

/* Data far longer than what they inflate to are nobody's honest work: those are read in pieces. */
static bool is_odd(const gl_entry *entry) {
    return entry->packed / 2 > entry->size + PIECE;
}

glassine_status gl_zip_read(const gl_zip *zip, const gl_entry *entry, uint64_t limit, gl_buf *out,
                            glassine_error *error) {
    if (entry->size > limit)
        return gl_fault_in(error, "L003", zip->path, entry->name,
                           "it has %" PRIu64 " bytes, and the limit is %" PRIu64, entry->size, limit);
    if (entry->size > SIZE_MAX || entry->packed > SIZE_MAX || !gl_buf_reserve(out, (size_t)entry->size))
        return gl_fail_memory(error);
    glassine_status status = gl_local_check(&zip->file, entry, error);
    if (status)
        return status;
    if (is_odd(entry))
        return gl_content_stream(&zip->file, entry, gather, out, NULL, error);
    status = read_content(zip, entry, out->text + out->length, error);
    if (!status)
        out->length += (size_t)entry->size;
    out->text[out->length] = '\0';
    return status;
}

/* ---- compared as it stands ---- */

static glassine_status compare_raw(const gl_zip *zip, const gl_entry *entry, const gl_zip *other_zip,
                                   const gl_entry *other, uint8_t *bytes, bool *alike,
                                   glassine_error *error) {
    for (uint64_t done = 0; *alike && done < entry->packed; done += PIECE) {
        size_t length = entry->packed - done < PIECE ? (size_t)(entry->packed - done) : PIECE;
        int code = gl_bytes_read(&zip->file, bytes, length, entry->data_at + done);
        if (code)
            return gl_fault_reading(error, code, zip->path);
        code = gl_bytes_read(&other_zip->file, bytes + PIECE, length, other->data_at + done);
        if (code)
            return gl_fault_reading(error, code, other_zip->path);
        *alike = memcmp(bytes, bytes + PIECE, length) == 0;
    }
    return GLASSINE_OK;
}

glassine_status gl_zip_is_alike(const gl_zip *zip, const gl_entry *entry, const gl_zip *other_zip,
                                const gl_entry *other, bool *alike, glassine_error *error) {
    *alike = entry->method == other->method && entry->packed == other->packed && entry->size == other->size &&
             entry->crc == other->crc;
    if (!*alike)
        return GLASSINE_OK;
    glassine_status status = gl_local_check(&zip->file, entry, error);
    uint8_t *bytes = status ? NULL : malloc((size_t)2 * PIECE);
    if (!status)
        status =
            bytes ? compare_raw(zip, entry, other_zip, other, bytes, alike, error) : gl_fail_memory(error);
    free(bytes);
    return status;
}
