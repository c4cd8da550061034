/* From which place a stamp is likely to come: every place weighed by what was seen (spec/ranking.md). */
#ifndef GL_PLATING_LOCATE_H
#define GL_PLATING_LOCATE_H

#include "plating/plan.h"
#include "plating/posset.h"
#include "plating/rank.h"

#define GL_PLACES_MOST 10000000u /* pairs of plate and position, in each state: a ranking holds them all */

/* A known mark of a plate. Marks whose positions are unknown take no part. */
typedef struct gl_known_mark {
    uint32_t plate;
    const gl_posset *positions;
    uint32_t first_state, last_state; /* both included; 0 and GL_NONE where unsaid */
    uint32_t appearance;
    bool re_entry;
    gl_spot spot;
    double spread, visibility; /* less than 0: unsaid */
} gl_known_mark;

typedef struct gl_ranked_plate {
    const gl_plan *plan;
    const gl_posset *within; /* only these positions; NULL: all */
    uint32_t states;         /* 1 where none is recorded */
    const bool *begun;       /* for each state: may the stamp be from it? NULL: from every one */
    double pitch_x, pitch_y; /* from subject to subject in thousandths of the design; 0: unsaid */
} gl_ranked_plate;

typedef struct gl_locate_question {
    const glassine_ranking *parameters;
    const gl_sight *sight;
    const gl_ranked_plate *plates;
    uint32_t plate_count;
    const gl_known_mark *marks;
    uint32_t mark_count;
} gl_locate_question;

typedef struct gl_ranked_place {
    uint32_t plate, position, state;
    double weight;     /* all of them add up to 1 */
    double log_weight; /* not normalised, with the prior */
    bool hasty;
} gl_ranked_place;

typedef struct gl_locate {
    gl_ranked_place *places; /* greatest weight first; ties by plate, position, state */
    uint32_t count;          /* 0: no state is left anywhere, or no position */
    uint32_t states_out;     /* states that the stamp is too early for */
} gl_locate;

/* Pairs of plate and position that are in question, within or not: of plates that have a state left. */
uint64_t gl_locate_pairs(const gl_locate_question *question);
/* R221 beyond GL_PLACES_MOST. */
glassine_status gl_locate_make(const gl_locate_question *question, gl_locate *locate, glassine_error *error);
void gl_locate_free(gl_locate *locate);

/* The marks that a stamp from this place would show; *marks grows as needed, freed by the caller. */
typedef struct gl_shown_list {
    gl_shown_mark *marks;
    uint32_t count;
    size_t room;
} gl_shown_list;
bool gl_locate_shown(const gl_locate_question *question, uint32_t plate, uint32_t position, uint32_t state,
                     gl_shown_list *list);

/* The leading places: the fewest that hold `share` of the weight, at most `most`. */
uint32_t gl_locate_leading(const gl_locate *locate, double share, uint32_t most);
/* Does the thing seen separate the `leading` first places? Its factor differs between them by more than one
 * part in a hundred. */
glassine_status gl_locate_separates(const gl_locate_question *question, const gl_locate *locate,
                                    uint32_t leading, bool *separates, glassine_error *error);

/* Where to look next: the look whose answer is expected to tell most. */
typedef struct gl_look {
    uint32_t mark;       /* which known mark to look for; GL_NONE: no look would tell anything */
    gl_spot spot;        /* where on this stamp */
    int8_t down, across; /* the mark is that of a neighbour */
    double bits;         /* expected information */
    double weight;       /* of the places, as far as they would show it */
} gl_look;
glassine_status gl_locate_next(const gl_locate_question *question, const gl_locate *locate, gl_look *look,
                               glassine_error *error);

#endif
