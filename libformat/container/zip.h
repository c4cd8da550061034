/* The ZIP file that grows: reading one, strictly (spec/container.md). */
#ifndef GL_CONTAINER_ZIP_H
#define GL_CONTAINER_ZIP_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/hash.h"

typedef struct gl_entry {
    gl_span name;       /* with the base folder; lives as long as the gl_zip */
    uint64_t header_at; /* offset of the local header */
    uint64_t data_at;
    uint64_t packed, size;
    uint32_t crc;
    uint16_t method; /* 0 stored, 8 deflated */
    uint16_t date, time;
} gl_entry;

/* One end record of ours that is whole by itself: the edition's bytes are start … end. */
typedef struct gl_footer {
    uint64_t start; /* length of the file at the edition before */
    uint64_t end;   /* length of the file at this edition */
    uint64_t directory_at, directory_size, entries;
    uint32_t edition;
    gl_digest sum;
    uint32_t major, minor;
} gl_footer;

typedef struct gl_zip gl_zip;

/* Opens the file's last whole footer, checking structure, names, directory against local headers, and the
 * sum. The local headers of stored scans are compared when they are read, or all by gl_zip_check_locals: a
 * file of 70,000 scans opens with a few reads. `fd` stays the caller's (read with pread only). `path` names
 * it in errors. `limits` NULL: the defaults. */
glassine_status gl_zip_open(int fd, const char *path, const glassine_limits *limits, gl_zip **zip,
                            glassine_error *error);
void gl_zip_close(gl_zip *zip);

int gl_zip_fd(const gl_zip *zip);
const char *gl_zip_path(const gl_zip *zip);
gl_span gl_zip_base(const gl_zip *zip); /* "glassine-SLUG", no slash */
const gl_footer *gl_zip_footer(const gl_zip *zip);
uint64_t gl_zip_tail(const gl_zip *zip); /* bytes behind the footer that was opened */
/* Does that tail hold an end record of ours (whole or not)? */
bool gl_zip_tail_is_ours(const gl_zip *zip);
/* What is wrong with the last such end record; NULL where the tail holds none. */
const glassine_error *gl_zip_tail_fault(const gl_zip *zip);

/* Entries in the order of the directory. */
size_t gl_zip_count(const gl_zip *zip);
const gl_entry *gl_zip_at(const gl_zip *zip, size_t index);
/* `inner` is the name below the base folder: "data/about.json". NULL where it is not there. */
const gl_entry *gl_zip_find(const gl_zip *zip, gl_span inner);
gl_span gl_zip_inner(const gl_zip *zip, const gl_entry *entry);
/* Did the edition that was opened write this entry (or an earlier one)? */
bool gl_zip_is_fresh(const gl_zip *zip, const gl_entry *entry);

/* Compares the local headers of all entries with the directory, byte by byte. */
glassine_status gl_zip_check_locals(const gl_zip *zip, glassine_error *error);

/* Whole content, CRC checked, refused above `limit` bytes (L-code). A deflate stream must end with its entry.
 */
glassine_status gl_zip_read(const gl_zip *zip, const gl_entry *entry, uint64_t limit, gl_buf *out,
                            glassine_error *error);
/* The same in pieces, bounded memory; `digest` (may be NULL) gets the SHA-256 of the content. `write` NULL:
 * the content is only checked. What is found wrong at the end comes after the pieces were handed out. */
glassine_status gl_zip_stream(const gl_zip *zip, const gl_entry *entry, glassine_write write, void *context,
                              gl_digest *digest, glassine_error *error);

/* Do the two entries, of two files, have the same bytes as they stand there, and so the same content? Then what is said
 * of the content of `other`, which was read, is true of that of `entry`. */
glassine_status gl_zip_is_alike(const gl_zip *zip, const gl_entry *entry, const gl_zip *other_zip,
                                const gl_entry *other, bool *alike, glassine_error *error);

/* Visits every footer that can be reached from `zip`'s by walking back, the newest first; each is checked to
 * be whole, with every local header, and to keep only what the one before it listed. `visit` (may be NULL)
 * returns false to stop. An unsound one ends the walk with its error. */
glassine_status gl_zip_walk(const gl_zip *zip, bool (*visit)(void *context, const gl_footer *footer),
                            void *context, glassine_error *error);

#endif
