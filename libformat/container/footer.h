/* One footer: the end record, the directory before it, and the check that its edition is whole. Private to
 * this layer. */
#ifndef GL_CONTAINER_FOOTER_H
#define GL_CONTAINER_FOOTER_H

#include "container/layout.h"

/* What every check needs to know of the file. */
typedef struct gl_file {
    int fd;
    const char *path;
    uint64_t size;
    glassine_limits limits; /* filled: no zeros */
    bool forgiving;         /* what the disk cannot give any more reads as zeros */
} gl_file;

/* These limits, with the default where one is 0; NULL: the defaults. */
glassine_limits gl_limits_filled(const glassine_limits *limits);

/* gl_file_read_at, forgiving where the file is. */
int gl_bytes_read(const gl_file *file, void *bytes, size_t length, uint64_t offset);

/* An end record, its own fields checked. */
typedef struct gl_end {
    gl_footer footer;
    uint64_t at;      /* of the end record */
    uint64_t records; /* where the directory ends: of the Zip64 records or the end record */
} gl_end;

/* A directory, checked; entries lie in the order of their local headers. */
typedef struct gl_directory {
    gl_end end;
    char *bytes; /* the directory, and the Zip64 records behind it */
    gl_entry *entries;
    size_t count;
    size_t fresh; /* index of the first entry that this edition added */
    gl_span base;
} gl_directory;

/* Does an end record of ours begin at bytes[0]: PK\005\006, and "glassine " 22 bytes further? */
bool gl_end_mark(const uint8_t *bytes, size_t length);
#define GL_MARK_SIZE ((size_t)(GL_END_SIZE + sizeof "glassine " - 1))

/* `bytes` were read at offset `at`, and hold as much of the record and its comment as the file has. */
glassine_status gl_end_read(const gl_file *file, const uint8_t *bytes, size_t length, uint64_t at,
                            gl_end *end, glassine_error *error);

/* Reads the directory and checks all that the file must be for its edition to be whole. `thorough`: also that
 * every local header of this edition says what the directory says; else only those that are no stored scans.
 */
glassine_status gl_directory_read(const gl_file *file, const gl_end *end, bool thorough,
                                  gl_directory *directory, glassine_error *error);
void gl_directory_free(gl_directory *directory);

/* Fills `entries`, `fresh` and `base` from `bytes` (C030 … C065). */
glassine_status gl_directory_parse(const gl_file *file, gl_directory *directory, glassine_error *error);

/* One directory record at the beginning of `bytes`: its size, 0 where there is none; *status says whether it
 * keeps the rules. The entry's name lies in `bytes`, its place is as the record says. */
size_t gl_record_read(const gl_file *file, const uint8_t *bytes, size_t length, gl_entry *entry,
                      glassine_status *status, glassine_error *error);

/* Is the entry's local header what its directory record demands? */
glassine_status gl_local_check(const gl_file *file, const gl_entry *entry, glassine_error *error);

/* The sum of the edition whose entries, from `start` to the directory, are these; `records` is the directory
 * with its Zip64 records. A stored scan's header is taken from its entry, not from the file. */
glassine_status gl_sum_edition(const gl_file *file, gl_span base, const gl_entry *entries, size_t count,
                               gl_span records, gl_digest *sum, glassine_error *error);

/* The last whole footer: `tail` bytes are behind it, which hold an end record of ours where *tail_ours;
 * *fault is then what was wrong with the first one met. */
typedef struct gl_finding {
    gl_directory directory;
    uint64_t tail;
    bool tail_ours;
    glassine_error fault;
} gl_finding;
glassine_status gl_footer_search(const gl_file *file, gl_finding *found, glassine_error *error);
/* The end record that ends at `limit` exactly. */
glassine_status gl_footer_before(const gl_file *file, uint64_t limit, gl_end *end, glassine_error *error);

#endif
