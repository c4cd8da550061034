/* What was seen on a stamp: observations by several people brought together (spec/ranking.md,
 * "Observations"). */
#ifndef GL_PLATING_SEEN_H
#define GL_PLATING_SEEN_H

#include "base/error.h"
#include "base/map.h"
#include "base/span.h"

#define GL_SEEN_MOST 1000u /* observations of one stamp */

typedef enum gl_presence { GL_PRESENT, GL_ABSENT, GL_UNCLEAR } gl_presence;

/* A point in thousandths of the design, or none. */
typedef struct gl_spot {
    bool known;
    double x, y;
} gl_spot;

double gl_spot_distance(gl_spot a, gl_spot b); /* both known */
/* The sides of the margin that it lies in, as bits: left 1, right 2, top 4, bottom 8; 0: on the design, or
 * unknown. */
unsigned gl_spot_margins(gl_spot spot);

/* Does a stamp show this place of its margin: between its own design and those of its neighbours? Pitches,
 * from subject to subject, in thousandths of the design; unsaid (0): only its own margin is known, and this
 * is false. */
bool gl_spot_between(gl_spot spot, double pitch_x, double pitch_y);

typedef struct gl_observation {
    gl_span id; /* breaks ties, so that no order of arrival matters */
    uint32_t contributor;
    uint32_t appearance;
    bool trace; /* an appearance that re-entries leave in many places: doubling, remains */
    gl_spot spot;
    gl_presence presence;
} gl_observation;

/* One thing seen: the observations of it. */
typedef struct gl_seen {
    uint32_t appearance;
    bool trace;
    gl_spot spot; /* the mean of theirs */
    gl_presence presence;
    uint32_t *members; /* indices of observations, ascending */
    uint32_t member_count;
} gl_seen;

typedef struct gl_sight {
    gl_seen *things; /* in the order of their first member's id */
    uint32_t count;
    uint32_t *members; /* backing of all members */
} gl_sight;

/* Observations of one appearance, by different contributors, whose places lie within `together` of each
 * other, are one thing: closest first, ties by id. R220 beyond GL_SEEN_MOST. */
glassine_status gl_sight_make(const gl_observation *observations, size_t count, double together,
                              gl_sight *sight, glassine_error *error);
void gl_sight_free(gl_sight *sight);

#endif
