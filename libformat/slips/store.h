/* The set of slips in memory: lines as spans, one index by digest, one by record. */
#ifndef GL_SLIPS_STORE_H
#define GL_SLIPS_STORE_H

#include "base/map.h"
#include "slips/line.h"

/* An edition's number has at most eight digits, in the name of its segment. */
#define GL_EDITION_MOST ((uint32_t)99999999)
#define GL_EDITION_BITS 27

typedef struct gl_slip {
    const char *line;
    uint32_t length;
    uint32_t record;                    /* index into records */
    uint32_t author;                    /* index into people: `by` */
    uint32_t previous;                  /* the slip before it on the same record, GL_NONE */
    uint32_t own_previous;              /* the same among its author's slips on that record */
    uint32_t edition : GL_EDITION_BITS; /* that brought it */
    uint32_t reach : 2;
    gl_digest digest;
} gl_slip;

typedef struct gl_subject {
    gl_span id;    /* TYPE/UUID */
    uint32_t last; /* newest slip in arrival order, GL_NONE */
    uint32_t count;
    uint32_t voice; /* the voice that joined last, GL_NONE */
    uint32_t first_voice;
} gl_subject;

/* What one person said on one record. */
typedef struct gl_voice {
    uint32_t record, author;
    uint32_t last, count; /* as in gl_subject */
    uint32_t next;        /* the record's voice that joined before it, GL_NONE */
} gl_voice;

typedef struct gl_store gl_store;
gl_store *gl_store_new(void);
void gl_store_free(gl_store *store);
/* The store as it was with its first `count` slips, to be looked at: nothing can be added. It shares them with
 * `store`, which must not change as long as it is used. It has no judge. NULL when memory ran out. */
gl_store *gl_store_before(const gl_store *store, uint32_t count);
/* The same as a store of its own, which others may be added to. It shares these slips and their lines: `store` must
 * outlive it, and not be cut to fewer. */
gl_store *gl_store_beginning(const gl_store *store, uint32_t count);

/* About so many slips more are to be added: of many the memory is asked for at once, on all processors. False when memory
 * ran out. */
bool gl_store_reserve(gl_store *store, uint32_t slips);

/* What can be found out about a slip line before it is added, on any thread. */
typedef struct gl_prepared {
    gl_span line, by, record; /* by, record without quotes */
    gl_digest digest;
    uint32_t digest_hash, record_hash; /* in this store's indexes */
    glassine_reach reach;
} gl_prepared;
/* Of a line that gl_line_check passed, with its members (members.h). `hash` belongs to the calling thread. */
struct gl_members;
void gl_store_prepare(const gl_store *store, gl_hash *hash, gl_span line, const struct gl_members *members,
                      gl_prepared *out);
/* That one is to be added soon: what will be looked at is fetched from memory meanwhile. */
void gl_store_expect(const gl_store *store, const gl_prepared *prepared);
glassine_status gl_store_add_prepared(gl_store *store, const gl_prepared *prepared, uint32_t edition,
                                      const glassine_limits *limits, uint32_t *slip, bool *added,
                                      glassine_error *error);
/* Adds a slip line that gl_line_check passed; its bytes must outlive the store. *added is false where its
 * digest is there already (*slip then is that one). Refused beyond limits->slips (L-code). Where it fails the
 * store is as it was. */
glassine_status gl_store_add(gl_store *store, gl_span line, uint32_t edition, const glassine_limits *limits,
                             uint32_t *slip, bool *added, glassine_error *error);
/* The same of a line whose digest is known. */
glassine_status gl_store_add_known(gl_store *store, gl_span line, const gl_digest *digest, uint32_t edition,
                                   const glassine_limits *limits, uint32_t *slip, bool *added,
                                   glassine_error *error);
uint32_t gl_store_find(const gl_store *store, const gl_digest *digest); /* GL_NONE: not there */
/* The same for slips in the order of another set: the one at *next, where *next begins at 0, is tried first, since sets
 * that grew from one have long runs in common. */
uint32_t gl_store_find_next(const gl_store *store, const gl_digest *digest, uint32_t *next);
/* Takes back all slips from number `count` on, and the records and people that only they brought. */
void gl_store_cut(gl_store *store, uint32_t count);

uint32_t gl_store_count(const gl_store *store);
const gl_slip *gl_store_at(const gl_store *store, uint32_t slip);
gl_span gl_store_line(const gl_store *store, uint32_t slip);

/* What readings ask of those who know more than the store does; either may be NULL. */
typedef struct gl_store_judge {
    int (*counts)(void *context, uint32_t slip);                 /* 1, 0, or -1 when memory ran out */
    bool (*knows)(void *context, gl_span record, gl_span field); /* does the record's type have the field? */
    void *context;
    uint64_t record_fields; /* the limit of that name; 0: the default */
} gl_store_judge;
void gl_store_use_judge(gl_store *store, gl_store_judge judge);
/* Does the slip count in readings: 1, 0, -1. */
int gl_store_counts(const gl_store *store, uint32_t slip);
bool gl_store_knows(const gl_store *store, gl_span record, gl_span field);
uint64_t gl_store_record_fields(const gl_store *store);

uint32_t gl_store_records(const gl_store *store);
const gl_subject *gl_store_record(const gl_store *store, uint32_t record);
uint32_t gl_store_record_find(const gl_store *store, gl_span id); /* GL_NONE */
uint32_t gl_store_people(const gl_store *store);
gl_span gl_store_person(const gl_store *store, uint32_t person);
uint32_t gl_store_person_find(const gl_store *store, gl_span id);

uint32_t gl_store_voice_find(const gl_store *store, uint32_t record, uint32_t author); /* GL_NONE */
const gl_voice *gl_store_voice(const gl_store *store, uint32_t voice);

/* SHA-256 over the sorted digests of all slips. */
glassine_status gl_store_digest(const gl_store *store, gl_digest *digest, glassine_error *error);

#endif
