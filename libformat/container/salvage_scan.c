/* A scan that neither header nor record speaks of any more, found by its digest. */
#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/salvaging.h"
#include "container/writing.h"

/* Digest and CRC-32 of stored data. */
static glassine_status weigh(const gl_salvage *it, gl_entry *entry, gl_digest *digest,
                             glassine_error *error) {
    enum { PIECE = 256 * 1024 };
    gl_hash *hash = gl_hash_new();
    uint8_t *bytes = malloc(PIECE);
    int code = hash && bytes ? 0 : ENOMEM;
    if (!code)
        gl_hash_start(hash);
    entry->crc = 0;
    for (uint64_t done = 0; done < entry->packed && !code;) {
        size_t length = entry->packed - done < PIECE ? (size_t)(entry->packed - done) : PIECE;
        code = gl_bytes_read(&it->file, bytes, length, entry->data_at + done);
        if (!code) {
            gl_hash_add(hash, bytes, length);
            entry->crc = gl_crc32(entry->crc, bytes, length);
        }
        done += length;
    }
    if (hash)
        *digest = gl_hash_end(hash);
    gl_hash_free(hash);
    free(bytes);
    return code ? gl_fault_reading(error, code, it->path) : GLASSINE_OK;
}

/* Tries one place for the data of the scan. */
static glassine_status try_scan(gl_salvage *it, gl_piece *piece, uint64_t data_at, const gl_digest *digest,
                                glassine_error *error) {
    gl_entry *entry = &piece->entry;
    uint64_t head = gl_layout_local_size(entry);
    if (data_at < head)
        return GLASSINE_OK;
    gl_salvage_place(piece, data_at - head);
    if (entry->packed > it->budget || !gl_salvage_is_free(it, data_at, data_at + entry->packed))
        return GLASSINE_OK;
    it->budget -= entry->packed;
    glassine_status status = weigh(it, entry, &piece->digest, error);
    if (status || !gl_digest_equal(&piece->digest, digest))
        return status;
    piece->whole = true;
    return gl_salvage_take_range(it, data_at, data_at + entry->packed) ? GLASSINE_OK : gl_fail_memory(error);
}

glassine_status gl_salvage_find_scan(gl_salvage *it, const gl_digest *digest, gl_span inner, uint64_t size,
                                     bool *found, glassine_error *error) {
    *found = false;
    gl_buf name = GL_BUF_EMPTY;
    gl_buf_add(&name, it->base);
    gl_buf_add_char(&name, '/');
    gl_buf_add(&name, inner);
    gl_piece piece = {.entry = {.size = size, .packed = size}};
    piece.entry.name = name.failed ? GL_NO_SPAN : gl_arena_copy(it->arena, gl_buf_span(&name));
    gl_buf_free(&name);
    if (!piece.entry.name.text)
        return gl_fail_memory(error);
    piece.inner = gl_span_part(piece.entry.name, it->base.length + 1, inner.length);
    uint64_t head = gl_layout_local_size(&piece.entry), at = 0, from, to;
    glassine_status status = GLASSINE_OK;
    while (!status && !piece.whole && gl_salvage_gap(it, &at, &from, &to)) {
        if (to - from < size)
            continue;
        status = try_scan(it, &piece, to - size, digest, error);
        if (!status && !piece.whole && to - from - size >= head && to - size != from + head)
            status = try_scan(it, &piece, from + head, digest, error);
    }
    if (!status && piece.whole && !gl_salvage_add_piece(it, &piece))
        status = gl_fail_memory(error);
    *found = piece.whole;
    return status;
}
