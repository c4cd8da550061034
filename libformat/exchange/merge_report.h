/* A merge's report in progress, for merge_report.c, which fills it note by note, and merge_summary.c, which
 * says at the end what it is in short and what is left to do. */
#ifndef GL_EXCHANGE_MERGE_REPORT_H
#define GL_EXCHANGE_MERGE_REPORT_H

#include "exchange/merge.h"

enum { GL_MERGE_TYPES_MOST = 32 };

/* A part of the report: rows for JSON, and for text, where there are some. */
typedef struct gl_merge_section {
    glassine_node *list, *table;
    size_t count, records;
    glassine_merge_note before; /* of the row before */
} gl_merge_section;

/* How many new records of a type there are. */
typedef struct gl_merge_type {
    gl_span type;
    uint64_t count;
} gl_merge_type;

struct gl_merge_report {
    glassine_report *report;
    bool held;                      /* nothing is written: something is not understood */
    glassine_node *result, *fields; /* `fields`: of the record at hand, where it combines */
    gl_merge_section of[GLASSINE_MET_COMPLETED + 1];
    glassine_met at;           /* the kind of the notes that come now */
    glassine_node *head;       /* what it is in short; filled at the end */
    glassine_merge_note *kept; /* notes of the kind at hand whose rows come once all are there */
    size_t kept_count, kept_room;
    gl_span speaker; /* the name of the only one who says something new; absent: there are several */
    size_t speakers;
    gl_merge_type types[GL_MERGE_TYPES_MOST];
    size_t type_count;
    const glassine_merge_source *source; /* the only one, or the last */
    size_t sources, idle, refused;       /* idle: those that brought nothing new */
    uint64_t new_slips, known, scans;
    size_t disputed;
    size_t sheets;                      /* changed fields that are the whole of a sheet of answers */
    gl_buf disputed_name, take, settle; /* examples for what is left to do */
};

void gl_merge_summary(const gl_merge_report *it, glassine_bundle *bundle);

#endif
