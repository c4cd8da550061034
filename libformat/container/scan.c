/* A scan into the file in one pass, whatever its size: its name, which is its digest, is known only at the
 * end, so the room of its local header is left free first and filled last. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/deflate.h"
#include "container/fault.h"
#include "container/name.h"
#include "container/scanning.h"

enum { PIECE = 256 * 1024, BEGIN_WRITING = 8 * 1024 * 1024 };

static glassine_status changed(const gl_scanning *scan) {
    gl_fail(scan->error, GLASSINE_REFUSED, NULL, scan->path, "the file changed while it was read");
    gl_error_remedy(scan->error, "Try again when no other program is writing to it");
    return GLASSINE_REFUSED;
}

void gl_scanning_inner(const gl_scanning *scan, char out[GL_SCAN_NAME_SIZE]) {
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&scan->digest, hex);
    snprintf(out, GL_SCAN_NAME_SIZE, GL_SCANS "%s.%s", hex, scan->extension);
}

glassine_status gl_scanning_begin(gl_scanning *scan) {
    scan->hash = gl_hash_new();
    scan->piece = malloc(PIECE);
    return scan->hash && scan->piece ? GLASSINE_OK : gl_fail_memory(scan->error);
}

void gl_scanning_end(gl_scanning *scan) {
    gl_hash_free(scan->hash);
    free(scan->piece);
    scan->hash = NULL;
    scan->piece = NULL;
}

/* With any digest the name has the same length, so the header has its size. */
glassine_status gl_scanning_place(gl_scanning *scan, uint64_t at) {
    char inner[GL_SCAN_NAME_SIZE];
    gl_digest digest;
    gl_scanning_inner(scan, inner);
    if (strlen(scan->extension) > 8 || !gl_name_is_scan(gl_span_of(inner), &digest))
        return gl_fail(scan->error, GLASSINE_REFUSED, "C065", scan->path,
                       "\"%s\" cannot be a scan's file name extension", scan->extension);
    glassine_status status = gl_writer_entry(scan->writer, gl_span_of(inner), &scan->entry, scan->error);
    if (status)
        return status;
    scan->entry.header_at = at;
    scan->entry.size = scan->size;
    scan->entry.packed = scan->size; /* says whether the header has a Zip64 field */
    scan->entry.data_at = at + gl_layout_local_size(&scan->entry);
    return GLASSINE_OK;
}

/* The system begins to write early, so that the sync at the end is short. */
static void begin_writing(gl_scanning *scan) {
    gl_file_start_writing(scan->writer->fd, scan->begun_to, scan->at - scan->begun_to);
    scan->begun_to = scan->at;
}

static glassine_status put_raw(gl_scanning *scan, const uint8_t *bytes, size_t length) {
    gl_marker_pass(&scan->marker, bytes, length);
    int code = gl_file_write_at(scan->writer->fd, bytes, length, scan->at);
    if (code) {
        scan->unwritten = true;
        return gl_fault_writing(scan->error, code, scan->writer->path);
    }
    scan->at += length;
    if (scan->at - scan->begun_to >= BEGIN_WRITING)
        begin_writing(scan);
    return GLASSINE_OK;
}

/* glassine_write for the deflater: an errno value does not matter, the error is filled already. */
static int put_deflated(void *context, const char *bytes, size_t length) {
    return put_raw(context, (const uint8_t *)bytes, length) ? EIO : 0;
}

static glassine_status put_content(gl_scanning *scan, gl_deflater *deflater, size_t length, bool last) {
    if (scan->watch && !gl_watch_add(scan->watch, length))
        return gl_watch_fail(scan->error);
    gl_hash_add(scan->hash, scan->piece, length);
    scan->entry.crc = gl_crc32(scan->entry.crc, scan->piece, length);
    if (!deflater)
        return put_raw(scan, scan->piece, length);
    int code = gl_deflater_add(deflater, scan->piece, length, last);
    return code ? GLASSINE_SYSTEM : GLASSINE_OK;
}

static glassine_status copy_content(gl_scanning *scan, gl_deflater *deflater) {
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
static glassine_status write_content(gl_scanning *scan, gl_deflater *deflater) {
    gl_hash_start(scan->hash);
    scan->entry.crc = 0;
    scan->marker = (gl_marker){.found = false};
    scan->at = scan->begun_to = scan->entry.data_at;
    glassine_status status = copy_content(scan, deflater);
    begin_writing(scan);
    scan->digest = gl_hash_end(scan->hash);
    scan->entry.packed = scan->at - scan->entry.data_at;
    uint64_t size;
    int code = status ? 0 : gl_file_size(scan->fd, &size);
    if (status || code)
        return status ? status : gl_fault_reading(scan->error, code, scan->path);
    return size == scan->size ? GLASSINE_OK : changed(scan);
}

/* The scan holds an end record of ours (it is a bundle itself, perhaps): another pass, deflated. */
static glassine_status write_deflated(gl_scanning *scan) {
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

glassine_status gl_scanning_copy(gl_scanning *scan) {
    return write_content(scan, NULL);
}

glassine_status gl_scanning_seal(gl_scanning *scan) {
    char inner[GL_SCAN_NAME_SIZE];
    gl_entry named;
    gl_scanning_inner(scan, inner);
    glassine_status status = gl_writer_entry(scan->writer, gl_span_of(inner), &named, scan->error);
    if (status)
        return status;
    scan->entry.name = named.name;
    return gl_writer_seal(scan->writer, &scan->entry, scan->error);
}

static glassine_status write_scan(gl_scanning *scan, const gl_digest *expected) {
    glassine_status status = write_content(scan, NULL);
    if (!status && scan->marker.found) {
        gl_writer_forget(scan->writer, status);
        status = write_deflated(scan);
    }
    if (!status && expected && !gl_digest_equal(&scan->digest, expected))
        status = changed(scan);
    scan->writer->broken = scan->writer->broken || scan->unwritten;
    return status;
}

/* Adds nothing where the directory has it already. */
static glassine_status add_scan(gl_scanning *scan, const gl_digest *expected) {
    char inner[GL_SCAN_NAME_SIZE];
    glassine_status status = gl_scanning_place(scan, scan->writer->at);
    if (status)
        return status;
    if ((status = write_scan(scan, expected)) != GLASSINE_OK)
        return gl_writer_forget(scan->writer, status);
    gl_scanning_inner(scan, inner);
    if (gl_writer_has(scan->writer, gl_span_of(inner)))
        return gl_writer_forget(scan->writer, GLASSINE_OK);
    return gl_scanning_seal(scan);
}

glassine_status gl_writer_add_scan(gl_writer *writer, int fd, const char *path, uint64_t size,
                                   const char *extension, const gl_digest *expected, gl_digest *digest,
                                   glassine_error *error) {
    gl_scanning scan = {
        .writer = writer, .fd = fd, .path = path, .size = size, .extension = extension, .error = error};
    glassine_status status = gl_scanning_begin(&scan);
    if (!status)
        status = add_scan(&scan, expected);
    if (digest)
        *digest = scan.digest;
    gl_scanning_end(&scan);
    return status;
}
