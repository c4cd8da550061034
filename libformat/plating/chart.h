/* A plate as a whole: what stands at each position, and what completing it may take (spec/standing.md,
 * "Chart"). */
#ifndef GL_PLATING_CHART_H
#define GL_PLATING_CHART_H

#include "plating/standing.h"

typedef struct gl_chart_cell {
    uint32_t placed; /* stamps that stand here, corroborated ones included */
    uint32_t corroborated;
    uint32_t owned;     /* of the placed ones */
    uint32_t disputed;  /* disputed stamps of which somebody's own view is this place */
    uint32_t concluded; /* stamps concluded to come from here, whatever their standing */
} gl_chart_cell;

typedef struct gl_chart {
    uint32_t positions;
    gl_chart_cell *cells; /* by position */
    uint32_t narrowed;    /* stamps that stand at several places of which some are on this plate */
    uint32_t found;       /* positions with a placed stamp */
    double expected_further;
} gl_chart;

bool gl_chart_make(gl_chart *chart, uint32_t positions);
void gl_chart_free(gl_chart *chart);
/* A stamp that is placed or corroborated there. */
void gl_chart_place(gl_chart *chart, uint32_t position, gl_standing_word word, bool owned);
/* After the last stamp: found and expected_further. */
void gl_chart_close(gl_chart *chart);

/* "missing", "disputed", "concluded", "placed", "corroborated": the best that can be said of a cell. */
const char *gl_chart_cell_word(const gl_chart_cell *cell);

#endif
