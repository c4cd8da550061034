/* Stamp against stamp: do two copies show the same marks, and so perhaps come from one place?
 * (spec/ranking.md, "Alike".) */
#ifndef GL_PLATING_ALIKE_H
#define GL_PLATING_ALIKE_H

#include "plating/rank.h"

typedef struct gl_alike_pair {
    uint32_t thing, other; /* of the two sights */
    double distance;       /* less than 0: one of them has no place */
} gl_alike_pair;

typedef struct gl_alike {
    double score;         /* natural logarithm: how much better one explains the other than chance does */
    gl_alike_pair *pairs; /* in the order of the first sight's things */
    uint32_t pair_count;
    uint32_t against; /* things of either that the other is said not to show */
} gl_alike;

/* Each sight in turn is taken for the marks of a place, and the other ranked by it; the score is the mean of
 * the two, so that it does not matter which is which. False when memory ran out. */
bool gl_alike_compare(const glassine_ranking *parameters, const gl_sight *one, const gl_sight *other,
                      gl_alike *alike);
void gl_alike_free(gl_alike *alike);

#endif
