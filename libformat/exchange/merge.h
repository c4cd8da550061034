/* A merge in progress, for merge.c and its report. */
#ifndef GL_EXCHANGE_MERGE_H
#define GL_EXCHANGE_MERGE_H

#include "exchange/draft.h"

typedef struct gl_merge_source {
    const char *path;
    glassine_bundle *bundle;
    uint64_t slips_there, unknown_lines;
    size_t slips, signatures, scans; /* that were new */
} gl_merge_source;

typedef struct gl_merging {
    glassine_draft *draft;
    glassine_bundle *bundle; /* that takes in */
    const glassine_merge_options *options;
    glassine_report *report;
    gl_merge_source *sources;
    size_t source_count, source; /* the one being taken in */
    uint32_t before;             /* slips that were there: what came are those behind */
} gl_merging;

/* merge_report.c: called when all is taken in, before the save. */
glassine_status gl_merge_report(gl_merging *it, glassine_error *error);

#endif
