/* Earliest and latest dates (spec/standing.md, "Dates"). */
#ifndef GL_PLATING_DATES_H
#define GL_PLATING_DATES_H

#include "base/edtf.h"
#include "base/map.h" /* GL_NONE */

typedef struct gl_dated {
    gl_date date;
    bool proven; /* what it rests on proves the year */
} gl_dated;

/* Does the date rest on a postmark, a docketing or the contents, and is it neither uncertain nor approximate?
 */
bool gl_date_proven(const gl_date *date, gl_span dated_by);

/* A bound: a day, and the dated thing that gives it; from == GL_NONE: there is none. */
typedef struct gl_bound {
    uint32_t from;
    int64_t day;
} gl_bound;

/* Over the things with a proven year; ties go to the first of them. */
typedef struct gl_date_span {
    uint32_t proven, unproven; /* how many */
    gl_bound certainly_by;     /* the least last day: it was in use by then */
    gl_bound possibly_from;    /* the least first day */
    gl_bound certainly_until;  /* the greatest first day: it was still in use then */
    gl_bound possibly_until;   /* the greatest last day */
    gl_bound unproven_earlier; /* the least last day without a proven year, where it is before certainly_by */
} gl_date_span;

gl_date_span gl_dates_span(const gl_dated *dated, uint32_t count);

typedef enum gl_earlier { GL_NOT_EARLIER, GL_PERHAPS_EARLIER, GL_EARLIER } gl_earlier;
/* Is the date before another: wholly, or in part of what it may mean? Without a proven year at most perhaps.
 */
gl_earlier gl_date_earlier(const gl_dated *dated, const gl_date *than);

#endif
