/* A scan on its way into the file: one pass over its bytes. Private to this layer. */
#ifndef GL_CONTAINER_SCANNING_H
#define GL_CONTAINER_SCANNING_H

#include "container/marker.h"
#include "container/writing.h"

typedef struct gl_scanning {
    gl_writer *writer; /* only looked at while several scans are under way */
    int fd;            /* the scan's own file */
    const char *path;
    uint64_t size;
    const char *extension;
    gl_watch *watch; /* NULL: nobody's */
    glassine_error *error;
    gl_hash *hash;
    uint8_t *piece;
    gl_entry entry;
    uint64_t at;       /* where the next raw byte goes */
    uint64_t begun_to; /* up to where the system was asked to begin writing */
    gl_marker marker;  /* passes over the raw bytes */
    gl_digest digest;
    bool unwritten; /* the file could not be written to */
} gl_scanning;

/* What one pass needs: a hash and a piece of memory. */
glassine_status gl_scanning_begin(gl_scanning *scan);
void gl_scanning_end(gl_scanning *scan);
/* The entry of a scan whose header begins at `at`: its data behind the room for the header. */
glassine_status gl_scanning_place(gl_scanning *scan, uint64_t at);
/* One pass over the scan's file: SHA-256, CRC-32, the raw bytes to their place. Of the writer nothing
 * changes, so that several scans can be under way at once. marker.found: it cannot be stored so. */
glassine_status gl_scanning_copy(gl_scanning *scan);
/* The name "data/scans/SHA256.EXT". */
#define GL_SCAN_NAME_SIZE (sizeof GL_SCANS + GL_HEX_SIZE + 16)
void gl_scanning_inner(const gl_scanning *scan, char out[GL_SCAN_NAME_SIZE]);
/* Gives the entry its name and its header; then it belongs to the edition. */
glassine_status gl_scanning_seal(gl_scanning *scan);

#endif
