/* The log: segments read into the store, the chain, what each edition brought (spec/log.md). */
#ifndef GL_SLIPS_LOG_H
#define GL_SLIPS_LOG_H

#include "base/arena.h"
#include "base/watch.h"
#include "slips/store.h"

typedef struct gl_edition {
    uint32_t number;
    gl_span line;      /* the edition line, without \n */
    uint64_t end;      /* bytes of the whole log up to and with this line */
    uint32_t slips;    /* running total of slips in the set */
    size_t signatures; /* the same of signature lines */
    uint64_t unknown;  /* and of lines that are none of the three kinds */
    gl_digest log;
} gl_edition;

/* What its line says. */
gl_edition_view gl_edition_said(const gl_edition *edition);

typedef struct gl_log gl_log;
/* Lines go into `store`, which is empty before; both keep spans into the segments, which must outlive them.
 */
gl_log *gl_log_new(gl_store *store);
void gl_log_free(gl_log *log);
/* A log that was read as far as edition `edition` of another one; `store` holds the slips up to it. What the other keeps
 * spans into must outlive this one too. NULL when memory ran out. */
gl_log *gl_log_beginning(const gl_log *of, uint32_t edition, gl_store *store);

/* Bytes that gl_log_read takes in are counted by `watch` from now on (NULL: by nobody), which may stop it. */
void gl_log_watch(gl_log *log, gl_watch *watch);

/* The next segment, which the directory says spans editions `first` … `last`. Each line is checked; each
 * edition line closes a save: numbers go on by one, `slips` and `log` are right, `format` is readable. It
 * must end with the edition line of `last`. Stops, successfully, behind the edition line `until` where that
 * is not 0. Slips that the store holds beyond those of the log, as the next edition's, are its first lines, or are taken
 * back. After a failure log and store are only good to be freed. */
glassine_status gl_log_read(gl_log *log, gl_span segment, uint32_t first, uint32_t last, uint32_t until,
                            const glassine_limits *limits, const char *place, glassine_error *error);

uint32_t gl_log_editions(const gl_log *log);                          /* count; editions are 1 … count */
const gl_edition *gl_log_edition(const gl_log *log, uint32_t number); /* NULL: none of that number */
uint64_t gl_log_unknown(const gl_log *log); /* lines that are none of the three kinds */
/* Signature lines: number, and the i-th as it stands. */
size_t gl_log_signatures(const gl_log *log);
gl_span gl_log_signature(const gl_log *log, size_t index);

/* Writing: the chain goes on over `lines` (each ended by \n, no edition line among them), then the edition
 * line is made with its `log` member and appended to `out` with its \n. Nothing in `log` changes; a fresh log
 * is NULL. To go on afterwards, read the new segment. */
typedef struct gl_edition_parts {
    uint32_t edition;
    gl_span at, by, note, tool; /* plain text */
    gl_span key;                /* 64 hex digits; absent where who saves does not sign */
    uint64_t slips;
    gl_span brings; /* canonical array */
    gl_span lost;   /* the same; absent where nothing was lost */
} gl_edition_parts;
glassine_status gl_log_close(const gl_log *log, gl_span lines, const gl_edition_parts *parts, gl_buf *out,
                             glassine_error *error);

#endif
