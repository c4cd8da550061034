/* A line of the log: its kinds, and the members of a slip (spec/log.md, spec/slips.md). */
#ifndef GL_SLIPS_LINE_H
#define GL_SLIPS_LINE_H

#include "base/buf.h"
#include "base/hash.h"
#include "base/json.h"

typedef enum gl_line_kind { GL_LINE_SLIP, GL_LINE_SIGNATURE, GL_LINE_EDITION, GL_LINE_OTHER } gl_line_kind;

/* The members of a slip, as spans into its line (JSON values with their quotes). Absent: text == NULL. */
typedef struct gl_slip_view {
    gl_span after, at, by, clear, reach, record, set, via, why;
} gl_slip_view;

typedef struct gl_signature_view {
    gl_span key, of, sig; /* without quotes */
} gl_signature_view;

typedef struct gl_edition_view {
    gl_span at, by, note, tool, log, format; /* at, by, log, format without quotes; note, tool with */
    gl_span key;                             /* without quotes; absent where who saved does not sign */
    gl_span brings;                          /* canonical array */
    int64_t edition, slips;
} gl_edition_view;

/* Ingest: checks a line (without its \n) completely: canonical, its kind's members there and of the right
 * form, within the limits. Unknown members are fine. S-, E-, K- and L-codes; `place` names the line in
 * errors. */
glassine_status gl_line_check(gl_span line, const glassine_limits *limits, const char *place,
                              gl_line_kind *kind, glassine_error *error);

/* For lines that were checked. */
void gl_slip_look(gl_span line, gl_slip_view *view);
gl_span gl_slip_set(gl_span line); /* what it sets, alone */
void gl_signature_look(gl_span line, gl_signature_view *view);
void gl_edition_look(gl_span line, gl_edition_view *view);
/* Digests in `after`, in order; start with *at = 0. */
bool gl_slip_after_next(const gl_slip_view *view, size_t *at, gl_digest *digest);

/* Writing a slip line (without \n): members in canonical order. */
typedef struct gl_slip_parts {
    const gl_digest *after; /* sorted */
    size_t after_count;
    gl_span at, by, record; /* plain text */
    glassine_reach reach;
    gl_span via, why; /* plain UTF-8, absent where unsaid */
    gl_span set;      /* canonical object, "{}" at least */
    gl_span clear;    /* canonical array, absent where empty */
} gl_slip_parts;
void gl_slip_write(const gl_slip_parts *parts, gl_buf *out);

#endif
