/* Dates: EDTF / ISO 8601-2 level 0 and 1, as strings; their bounds; what people type. */
#ifndef GL_BASE_EDTF_H
#define GL_BASE_EDTF_H

#include <stdint.h>

#include "base/buf.h"

/* Bounds in days since 1970-01-01 (proleptic Gregorian, astronomical years). */
typedef struct gl_date {
    int64_t first, last;                                   /* earliest and latest day that it may mean */
    bool open_start, open_end, unknown_start, unknown_end; /* intervals: "../1860", "/1860" */
    bool uncertain, approximate;
} gl_date;

/* Level 0 and 1 of the EDTF specification (Library of Congress, 2019): dates, intervals, seasons 21–24,
 * qualification ? ~ % of the whole, unspecified digits X from the right, years Y…, negative years, extended
 * intervals. *fault is the offset and reason where it returns false (may be NULL). */
bool gl_edtf_parse(gl_span text, gl_date *date, size_t *at, const char **fault);

/* What people type -> EDTF appended: EDTF itself, "14 Mar 1860", "March 1860", "about 1860", "1860?",
 * "1861 or 1862" and "1861-1863" (an interval), "before 1870", "after 1855", "1850s", "spring 1861",
 * "14.3.1860". A day/month order that could be either ("3/4/1860") is refused, saying so. */
glassine_status gl_edtf_from_typed(gl_span typed, gl_buf *out, glassine_error *error);

unsigned gl_month_length(int64_t year, unsigned month); /* in days; months count from 1 */
int64_t gl_days_from_date(int64_t year, unsigned month, unsigned day);
void gl_date_from_days(int64_t days, int64_t *year, unsigned *month, unsigned *day);

/* Certainly before, certainly after, or neither (overlap). */
typedef enum gl_date_order { GL_DATE_BEFORE = -1, GL_DATE_EITHER = 0, GL_DATE_AFTER = 1 } gl_date_order;
gl_date_order gl_date_compare(const gl_date *a, const gl_date *b);

#endif
