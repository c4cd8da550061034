/* Recovery, from inside: what the pieces of damaged files amount to, and a new bundle of it
 * (spec/recovery.md). */
#ifndef GL_EXCHANGE_RECOVER_H
#define GL_EXCHANGE_RECOVER_H

#include "bundle/bundle.h"
#include "container/parity.h"
#include "container/salvage.h"

/* ------------------------------------------------------------------------------ recover_lines.c, the log */

/* The lines of one edition, as they came out somewhere; the edition line is the last. */
typedef struct gl_group {
    gl_span text; /* all of them, each with its \n */
    gl_span line; /* the edition line, without */
    gl_edition_view view;
    gl_digest before, log; /* the chain before it and behind it; `before` where it is known */
    bool before_known;
    bool sound; /* out of a whole entry, or the chain holds from one edition line to the next */
} gl_group;

typedef struct gl_lines {
    const glassine_limits *limits;
    gl_hash *hash;
    gl_buf *texts; /* spans are into these */
    size_t text_count, text_room;
    gl_group *groups;
    size_t group_count, group_room;
    gl_span *loose; /* lines of no group; canonical, of a known form */
    size_t loose_count, loose_room;
} gl_lines;

/* The next line of *rest, without its \n; false where there is no whole one. */
bool gl_lines_next(gl_span *rest, gl_span *line);
bool gl_lines_begin(gl_lines *lines, const glassine_limits *limits);
void gl_lines_free(gl_lines *lines);
/* Takes a text over, and apart. `sound`: out of a whole entry. False when memory ran out. */
bool gl_lines_take(gl_lines *lines, gl_buf *text, bool sound);
/* Once all are in: finds out which groups are sound; lines of the others become loose. */
bool gl_lines_judge(gl_lines *lines);
/* The group that follows where the chain stands at `before`; NULL: there is none. */
const gl_group *gl_lines_after(const gl_lines *lines, int64_t edition, const gl_digest *before);

/* -------------------------------------------------------------------------- recover_log.c, the new log */

/* The log to be: editions that are kept as they were, and lines that a new edition brings. */
typedef struct gl_new_log {
    gl_store *store;
    gl_log *log;
    gl_buf kept;    /* editions 1 to gl_log_editions(log) */
    gl_buf rescued; /* lines for one edition more */
    size_t rescued_slips;
    gl_buf doubtful; /* lines that nothing vouches for */
    size_t doubtful_slips;
    int64_t editions; /* the greatest edition that any line speaks of */
    int64_t slips;    /* that the log had then, by that edition line */
} gl_new_log;

/* `doubtful`: takes lines that nothing vouches for all the same. The lines must outlive it. */
glassine_status gl_new_log_make(gl_new_log *it, const gl_lines *lines, bool doubtful, glassine_error *error);
void gl_new_log_free(gl_new_log *it);

/* --------------------------------------------------------------------------- recover_files.c, everything
 * else */

typedef struct gl_source {
    int fd;             /* of the file, or of the copy that parity mended */
    gl_mending mending; /* what parity did */
    gl_salvage *salvage;
} gl_source;

/* Where the content of one file of the new bundle is. */
typedef struct gl_found_file {
    gl_span inner;
    size_t source, piece;
    gl_digest digest;
    uint64_t size;
    bool payload;
} gl_found_file;

typedef struct gl_recovery {
    gl_source *sources;
    size_t source_count;
    gl_arena *arena;
    glassine_limits limits;
    gl_lines lines;
    gl_new_log log;
    gl_about about;
    gl_buf about_text;
    bool about_same; /* as it was, to the byte */
    gl_found_file *files;
    size_t file_count, file_room;
    size_t apart_count;   /* behind them: files whose names cannot stand beside the others' */
    gl_manifest *kept;    /* payload that the kept editions brought */
    gl_manifest *payload; /* of the new bundle */
    gl_manifest *lost;    /* of the former: what is not there any more */
    gl_manifest *gone;    /* the same of editions that are not kept, and of files that are no payload */
    uint32_t greatest;    /* edition that an end record or the name of a segment speaks of */
    uint32_t edition;     /* of the file that was written */
    bool adds;            /* it is one that tells of the recovery */
} gl_recovery;

/* Chooses among the pieces: fills files, kept, payload, lost and gone; data/about.json is not among the
 * files. */
glassine_status gl_recovery_files(gl_recovery *it, glassine_error *error);
/* recover_about.c: whose bundle it is: as it was, made again from what else says so, or anew. */
glassine_status gl_recovery_about(gl_recovery *it, glassine_error *error);

/* recover_write.c */
glassine_status gl_recovery_write(gl_recovery *it, const char *out, glassine_error *error);
/* What is not whole, into the folder OUT.damaged: *count files; no folder where it is 0. */
glassine_status gl_recovery_aside(gl_recovery *it, const char *out, size_t *count, glassine_error *error);

/* recover_report.c */
glassine_status gl_recovery_report(const gl_recovery *it, const char *out, size_t beside,
                                   glassine_report *report, glassine_error *error);

#endif
