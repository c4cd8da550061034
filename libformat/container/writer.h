/* The ZIP file that grows: adding one edition to it, or making a new file with one. */
#ifndef GL_CONTAINER_WRITER_H
#define GL_CONTAINER_WRITER_H

#include "base/watch.h"
#include "container/zip.h"

typedef struct gl_writer gl_writer;

/* An edition to be appended to the open file `zip` (fd opened for reading and writing, lock held by the
 * caller), or, where zip is NULL, the first bytes of the new empty file `fd`. `zip` must outlive the writer.
 * All entries of `zip` stay in the directory unless dropped or replaced. A tail that the file has is copied
 * to NAME.tail-N and synced before anything is written (refused where it holds an end record of ours:
 * "recover first"). Nothing is written before the first add. `base` counts for a new file only; `edition`
 * must be the next one where `zip` is given; `at` is the edition's time. */
glassine_status gl_writer_new(int fd, const char *path, const gl_zip *zip, gl_span base, uint32_t edition,
                              int64_t at, gl_writer **writer, glassine_error *error);

/* Content in memory, deflated (or stored, where `store`). Replaces an entry of that name; a name that this
 * edition has written already is refused. `digest` may be NULL. An entry whose raw bytes would hold an end
 * record of ours is written the other way, or refused. */
glassine_status gl_writer_add(gl_writer *writer, gl_span inner, gl_span content, bool store,
                              gl_digest *digest, glassine_error *error);
/* A whole file, stored, in one pass: read, SHA-256, CRC-32, write. `inner` is made from the digest
 * afterwards: "data/scans/SHA256.EXT". Its size must be `size`, its digest `expected` where that is not NULL;
 * else refused (it changed while it was read), and what was written is dropped. A scan that the directory to
 * be has already adds nothing. `digest` may be NULL. */
glassine_status gl_writer_add_scan(gl_writer *writer, int fd, const char *path, uint64_t size,
                                   const char *extension, const gl_digest *expected, gl_digest *digest,
                                   glassine_error *error);
/* One of many scans that go in together. */
typedef struct gl_scan_in {
    const char *path, *extension;
    uint64_t size;
    gl_digest digest; /* of what was read; given back */
} gl_scan_in;
/* The same of many files, in this order, read and written by all processors at once; `watch` (may be NULL) counts their
 * bytes. Where one fails nothing of it and of those after it stays. */
glassine_status gl_writer_add_scans(gl_writer *writer, gl_scan_in *scans, size_t count, gl_watch *watch,
                                    glassine_error *error);
/* An entry's raw bytes taken over from another file as they are (stored or deflated), CRC as it says, under
 * its inner name and with this edition's time. Its content is not looked at: gl_zip_stream it first where it
 * may come from anyone. */
glassine_status gl_writer_add_raw(gl_writer *writer, const gl_zip *from, const gl_entry *entry,
                                  glassine_error *error);
/* Takes an entry of an earlier edition out of the directory to be; one of this edition stays. */
void gl_writer_drop(gl_writer *writer, gl_span inner);
/* Does the directory to be have this name? */
bool gl_writer_has(const gl_writer *writer, gl_span inner);

/* Parity of all that lies before it (spec/parity.md), as an entry of its own. `digest` may be NULL. */
glassine_status gl_writer_add_parity(gl_writer *writer, unsigned percent, gl_digest *digest,
                                     glassine_error *error);

/* Directory, fdatasync, end record, fdatasync. Afterwards *end is the file's new length. */
glassine_status gl_writer_finish(gl_writer *writer, uint64_t *end, glassine_error *error);
/* After it: `zip`, which the edition was appended to, becomes the file as it is now, without being read again. Where
 * memory ran out it is to be closed. */
glassine_status gl_zip_follow(gl_zip *zip, const gl_writer *writer, glassine_error *error);
/* Frees; where finish did not succeed the file is cut back to what it was, its tail included. */
void gl_writer_free(gl_writer *writer);

#endif
