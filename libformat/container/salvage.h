/* What is still whole in a damaged file, found without any directory being sound: by local headers, by the
 * records of whatever directory is left, and, of segments, what inflates (spec/recovery.md). */
#ifndef GL_CONTAINER_SALVAGE_H
#define GL_CONTAINER_SALVAGE_H

#include "container/writer.h"

typedef struct gl_salvage gl_salvage;

/* An entry that a local header or a directory record speaks of. */
typedef struct gl_piece {
    gl_entry entry;   /* where it lies in this file; the name lives as long as the salvage */
    gl_span inner;    /* below the base folder */
    bool whole;       /* its content is there, and has its CRC-32 (a scan's: the digest that is its name) */
    gl_digest digest; /* of the content, where it is whole */
    uint32_t words;   /* how many headers and records say so */
} gl_piece;

/* Looks through the whole file. `fd` stays the caller's. `base` is the base folder whose entries are wanted;
 * absent: the one with most whole entries. `limits` NULL: the defaults. */
glassine_status gl_salvage_open(int fd, const char *path, gl_span base, const glassine_limits *limits,
                                gl_salvage **salvage, glassine_error *error);
void gl_salvage_close(gl_salvage *salvage);

const char *gl_salvage_path(const gl_salvage *salvage);
gl_span gl_salvage_base(const gl_salvage *salvage); /* absent: nothing of a bundle was found */
/* The greatest edition that an end record speaks of; 0: there is none. */
uint32_t gl_salvage_edition(const gl_salvage *salvage);
/* Base folders of which whole entries were found, the one above among them; absent behind the last. */
gl_span gl_salvage_base_at(const gl_salvage *salvage, size_t index, size_t *whole);

/* Pieces of the base, in the order of the file. Of one that is not whole the place may be wrong. */
size_t gl_salvage_count(const gl_salvage *salvage);
const gl_piece *gl_salvage_at(const gl_salvage *salvage, size_t index);

/* Content of a whole piece; or as much of another one as comes out before something is wrong. */
glassine_status gl_salvage_stream(const gl_salvage *salvage, const gl_piece *piece, glassine_write write,
                                  void *context, glassine_error *error);
/* A whole piece's raw bytes into a file that is being written, under the name `inner`. */
glassine_status gl_salvage_copy(const gl_salvage *salvage, const gl_piece *piece, gl_span inner,
                                gl_writer *writer, glassine_error *error);

/* A scan whose local header and records are gone: looked for where it could lie between what was found. On
 * success *found says whether; then it is a piece, the last one. Pieces asked for before are moved by it. */
glassine_status gl_salvage_find_scan(gl_salvage *salvage, const gl_digest *digest, gl_span inner,
                                     uint64_t size, bool *found, glassine_error *error);

/* Text that inflates from where segments that are not whole begin, and from each place behind which a deflate
 * stream can be taken up again, in all stretches that belong to no whole piece. Anything may come out; lines
 * that are whole are among it. `take` owns *text from then on, and returns false when memory ran out. */
typedef bool (*gl_fragment_take)(void *context, gl_buf *text);
glassine_status gl_salvage_fragments(const gl_salvage *salvage, gl_fragment_take take, void *context,
                                     glassine_error *error);

#endif
