/* A comparison's report, a glassine_diff_tell. */
#ifndef GL_EXCHANGE_DIFF_H
#define GL_EXCHANGE_DIFF_H

#include "exchange/differing.h"

typedef struct gl_diff_report gl_diff_report;
/* Begins with what the two are to each other. NULL when memory ran out. */
gl_diff_report *gl_diff_report_new(glassine_report *report, glassine_bundle *a, glassine_bundle *b,
                                   const gl_differing *differing);
void gl_diff_report_note(gl_diff_report *it, glassine_bundle *a, glassine_bundle *b,
                         const glassine_diff_note *note);
glassine_status gl_diff_report_end(gl_diff_report *it, glassine_error *error);
void gl_diff_report_free(gl_diff_report *it);

#endif
