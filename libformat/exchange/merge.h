/* A merge in progress, for merge.c, what it looks at, and its report. */
#ifndef GL_EXCHANGE_MERGE_H
#define GL_EXCHANGE_MERGE_H

#include "exchange/draft.h"

typedef struct gl_merging {
    glassine_draft *draft;
    glassine_bundle *bundle; /* that takes in */
    glassine_bundle *before; /* the same as it is on disk, once gl_merge_look has opened it */
    const glassine_merge_options *options;
    const char *note; /* it is to be saved under; NULL: nothing is to be written */
    glassine_merge_source *sources;
    size_t source_count;
    uint32_t first;           /* slips from this number on came */
    gl_map *described;        /* hex digests of the scans that records here speak of */
    uint32_t described_slips; /* slips that `described` knows of */
    glassine_merge_tell tell;
    void *context;
    struct gl_answer_told *answers; /* of texts: what was understood, asked, left; in the bundle's arena */
    size_t answer_count, answer_room;
    bool held; /* something is not understood: nothing is written */
} gl_merging;

/* What is told of an answer in a text, or of a line of it. */
typedef struct gl_answer_told {
    glassine_met met;
    uint32_t number;
    gl_span stamp;            /* its id; absent: none */
    const char *words, *text; /* NUL-ended */
} gl_answer_told;

/* merge_source.c: what a merge is handed. */
typedef enum gl_merge_kind { GL_MERGE_BUNDLE, GL_MERGE_SHEET, GL_MERGE_TEXT } gl_merge_kind;
typedef struct gl_merge_opened {
    const char *path;
    gl_merge_kind kind;
    bool told_apart, opened;
    glassine_bundle *bundle; /* of one: without records, and all but its scans checked */
    glassine_status status;
    glassine_error error;
} gl_merge_opened;
/* Opens those of them that are short bundles, each by itself, on all processors. */
void gl_merge_open_ahead(gl_merge_opened *list, size_t count);
/* Tells what it is, and opens a bundle that is not open yet, beside another one. */
glassine_status gl_merge_open(gl_merge_opened *it, const glassine_bundle *beside, glassine_error *error);
void gl_merge_close(gl_merge_opened *it);
bool gl_merge_is_scan(const gl_zip *zip, const gl_entry *entry);

/* merge_look.c: tells what came and what it amounts to; called when all is taken in, before the save. */
glassine_status gl_merge_look(gl_merging *it, glassine_error *error);

/* merge_scope.c: did something come by which other slips may count than before, among those that were here; did a record
 * come that a standing depends on; and what bears on those that may be others now: by subject, for the caller to free;
 * NULL: any may. */
bool gl_merge_judges_anew(const gl_merging *it);
bool gl_merge_bears(const gl_merging *it);
glassine_status gl_merge_scope(const gl_merging *it, bool **scope, glassine_error *error);

/* merge_people.c: tells who says something new; a part of gl_merge_look. */
glassine_status gl_merge_people(gl_merging *it, glassine_error *error);

/* merge_words.c: who stands behind it, into the report; after gl_merge_look. */
glassine_status gl_merge_words(gl_merging *it, glassine_report *report, glassine_error *error);

/* merge_twice.c: tells of whom two answers on one stamp stand, into the report; after gl_merge_look. */
glassine_status gl_merge_twice(gl_merging *it, glassine_report *report, glassine_error *error);

/* A record that something came for. */
typedef struct gl_touched {
    glassine_record *record, *was, *item; /* `was`: in `before`, NULL: it is new */
} gl_touched;

/* merge_alike.c: records among those touched that go by one name with others, or may be one with them. */
glassine_status gl_merge_alike(gl_merging *it, const gl_touched *touched, size_t count,
                               glassine_error *error);

/* merge_report.c: a glassine_merge_tell that fills a report. */
typedef struct gl_merge_report gl_merge_report;
gl_merge_report *gl_merge_report_new(glassine_report *report, bool preview);
void gl_merge_report_note(void *context, glassine_bundle *bundle, const glassine_merge_note *note);
/* After the last note. `held`: something is not understood, and nothing is written. */
glassine_status gl_merge_report_end(gl_merge_report *it, glassine_bundle *bundle, bool held,
                                    glassine_error *error);
void gl_merge_report_free(gl_merge_report *it);

#endif
