/* A scan into the file in one pass, whatever its size: its name, which is its digest, is known only at the
 * end, so the room of its local header is left free first and filled last. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/deflate.h"
#include "container/fault.h"
#include "container/marker.h"
#include "container/name.h"
#include "container/writing.h"

enum { PIECE = 1024 * 1024, INNER_SIZE = sizeof GL_SCANS + GL_HEX_SIZE + 16 };

typedef struct scanning {
    gl_writer *writer;
    int fd; /* the scan's own file */
    const char *path;
    uint64_t size;
    const char *extension;
    gl_hash *hash;
    uint8_t *piece;
    glassine_error *error;
    gl_entry entry;
    uint64_t at;      /* where the next raw byte goes */
    gl_marker marker; /* passes over the raw bytes */
    gl_digest digest;
} scanning;

static glassine_status changed(const scanning *scan) {
    gl_fail(scan->error, GLASSINE_REFUSED, NULL, scan->path, "the file changed while it was read");
    gl_error_remedy(scan->error, "Try again when no other program is writing to it");
    return GLASSINE_REFUSED;
}

static void inner_name(const scanning *scan, char out[INNER_SIZE]) {
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&scan->digest, hex);
    snprintf(out, INNER_SIZE, GL_SCANS "%s.%s", hex, scan->extension);
}

/* With any digest the name has the same length, so the header has its size. */
static glassine_status reserve_header(scanning *scan) {
    char inner[INNER_SIZE];
    gl_digest digest;
    inner_name(scan, inner);
    if (strlen(scan->extension) > 8 || !gl_name_is_scan(gl_span_of(inner), &digest))
        return gl_fail(scan->error, GLASSINE_REFUSED, "C065", scan->path,
                       "\"%s\" cannot be a scan's file name extension", scan->extension);
    glassine_status status = gl_writer_entry(scan->writer, gl_span_of(inner), &scan->entry, scan->error);
    if (status)
        return status;
    scan->entry.size = scan->size;
    scan->entry.packed = scan->size; /* says whether the header has a Zip64 field */
    scan->entry.data_at = scan->entry.header_at + gl_layout_local_size(&scan->entry);
    return GLASSINE_OK;
}

static glassine_status put_raw(scanning *scan, const uint8_t *bytes, size_t length) {
    gl_marker_pass(&scan->marker, bytes, length);
    glassine_status status = gl_writer_put(scan->writer, bytes, length, scan->at, scan->error);
    if (!status)
        gl_file_start_writing(scan->writer->fd, scan->at, length);
    scan->at += length;
    return status;
}

/* glassine_write for the deflater: an errno value does not matter, the error is filled already. */
static int put_deflated(void *context, const char *bytes, size_t length) {
    return put_raw(context, (const uint8_t *)bytes, length) ? EIO : 0;
}

static glassine_status put_content(scanning *scan, gl_deflater *deflater, size_t length, bool last) {
    gl_hash_add(scan->hash, scan->piece, length);
    scan->entry.crc = gl_crc32(scan->entry.crc, scan->piece, length);
    if (!deflater)
        return put_raw(scan, scan->piece, length);
    int code = gl_deflater_add(deflater, scan->piece, length, last);
    return code ? GLASSINE_SYSTEM : GLASSINE_OK;
}

static glassine_status copy_content(scanning *scan, gl_deflater *deflater) {
    uint64_t done = 0;
    do {
        size_t length = scan->size - done < PIECE ? (size_t)(scan->size - done) : PIECE;
        int code = gl_file_read_at(scan->fd, scan->piece, length, done);
        if (code == ENODATA)
            return changed(scan);
        if (code)
            return gl_fault_reading(scan->error, code, scan->path);
        done += length;
        glassine_status status = put_content(scan, deflater, length, done == scan->size);
        if (status)
            return status;
    } while (done < scan->size);
    return GLASSINE_OK;
}

/* One pass over the scan's file: hash, CRC, raw bytes. */
static glassine_status write_content(scanning *scan, gl_deflater *deflater) {
    gl_hash_start(scan->hash);
    scan->entry.crc = 0;
    scan->marker = (gl_marker){.found = false};
    scan->at = scan->entry.data_at;
    glassine_status status = copy_content(scan, deflater);
    scan->digest = gl_hash_end(scan->hash);
    scan->entry.packed = scan->at - scan->entry.data_at;
    uint64_t size;
    int code = status ? 0 : gl_file_size(scan->fd, &size);
    if (status || code)
        return status ? status : gl_fault_reading(scan->error, code, scan->path);
    return size == scan->size ? GLASSINE_OK : changed(scan);
}

/* The scan holds an end record of ours (it is a bundle itself, perhaps): another pass, deflated. */
static glassine_status write_deflated(scanning *scan) {
    size_t header = gl_layout_local_size(&scan->entry);
    gl_deflater *deflater = gl_deflater_new(put_deflated, scan);
    if (!deflater)
        return gl_fail_memory(scan->error);
    scan->entry.method = 8;
    glassine_status status = write_content(scan, deflater);
    gl_deflater_free(deflater);
    if (!status && (scan->marker.found || gl_layout_local_size(&scan->entry) != header))
        status = gl_fail(scan->error, GLASSINE_REFUSED, "C072", scan->path,
                         "it holds what looks like an end record of a bundle, and cannot be written");
    return status;
}

static glassine_status write_scan(scanning *scan, const gl_digest *expected) {
    glassine_status status = write_content(scan, NULL);
    if (!status && scan->marker.found) {
        gl_writer_forget(scan->writer, status);
        status = write_deflated(scan);
    }
    if (!status && expected && !gl_digest_equal(&scan->digest, expected))
        status = changed(scan);
    return status;
}

/* Gives the entry its name; adds nothing where the directory has it already. */
static glassine_status name_scan(scanning *scan) {
    char inner[INNER_SIZE];
    inner_name(scan, inner);
    gl_writer *writer = scan->writer;
    if (gl_writer_has(writer, gl_span_of(inner)))
        return gl_writer_forget(writer, GLASSINE_OK);
    gl_entry named;
    glassine_status status = gl_writer_entry(writer, gl_span_of(inner), &named, scan->error);
    if (status)
        return status;
    scan->entry.name = named.name;
    return gl_writer_seal(writer, &scan->entry, scan->error);
}

static glassine_status add_scan(scanning *scan, const gl_digest *expected) {
    glassine_status status = reserve_header(scan);
    if (status)
        return status;
    if ((status = write_scan(scan, expected)) != GLASSINE_OK)
        return gl_writer_forget(scan->writer, status);
    return name_scan(scan);
}

glassine_status gl_writer_add_scan(gl_writer *writer, int fd, const char *path, uint64_t size,
                                   const char *extension, const gl_digest *expected, gl_digest *digest,
                                   glassine_error *error) {
    scanning scan = {.writer = writer,
                     .fd = fd,
                     .path = path,
                     .size = size,
                     .extension = extension,
                     .hash = gl_hash_new(),
                     .piece = malloc(PIECE),
                     .error = error};
    glassine_status status = GLASSINE_SYSTEM;
    if (scan.hash && scan.piece)
        status = add_scan(&scan, expected);
    else
        gl_fail_memory(error);
    if (digest)
        *digest = scan.digest;
    gl_hash_free(scan.hash);
    free(scan.piece);
    return status;
}
