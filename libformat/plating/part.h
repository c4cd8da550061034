/* One part of an expression: the positions that all of its clauses allow, as bounds rather than as a set, so
 * that a chain of clauses costs no more than its result. */
#ifndef GL_PLATING_PART_H
#define GL_PLATING_PART_H

#include "plating/plan.h"
#include "plating/posset.h"

/* From first to last, both included; all from 0; empty where last < first. */
typedef struct gl_bounds {
    uint32_t first, last;
} gl_bounds;

typedef struct gl_part {
    gl_bounds rows, columns, numbers; /* in a field */
    uint32_t pane;                    /* GL_NONE: every pane */
    uint32_t one;                     /* this position only; GL_NONE: no such bound */
    bool nothing;                     /* two clauses exclude each other */
} gl_part;

/* Every position. */
gl_part gl_part_any(const gl_plan *plan);
void gl_part_rows(gl_part *part, uint32_t first, uint32_t last);
void gl_part_columns(gl_part *part, uint32_t first, uint32_t last);
void gl_part_numbers(gl_part *part, uint32_t first, uint32_t last);
void gl_part_pane(gl_part *part, uint32_t pane);
void gl_part_one(gl_part *part, uint32_t index);

/* Adds the part's positions to the set; returns how many stretches of numbers were touched, 0 where the part
 * is empty. */
size_t gl_part_fill(const gl_plan *plan, const gl_part *part, gl_posset *set);

#endif
