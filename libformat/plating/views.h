/* Each contributor's own view of a stamp, and whose word stands by itself. Private to the standings. */
#ifndef GL_PLATING_VIEWS_H
#define GL_PLATING_VIEWS_H

#include "plating/standing.h"

typedef struct gl_span_of_statements {
    const uint32_t *at;
    uint32_t count;
} gl_span_of_statements;

/* What one contributor's statements leave: how many pairs of plate and position, how many of plate and state.
 */
typedef struct gl_view {
    uint32_t contributor;
    uint32_t places, plate, position; /* the first */
    uint32_t states, state_plate, state;
    bool blind; /* one of the claims was made blind */
} gl_view;

typedef struct gl_views {
    const gl_standing_question *question;
    gl_posset scratch;   /* room for the largest plate */
    uint32_t *sorted;    /* statements of the stamp in hand, by contributor */
    bool *voice;         /* of these: its contributor's view is the one place, or state */
    bool *free_standing; /* of these: its basis leads to no counting claim by another voice */
    uint32_t *in_two_minds;
    gl_sole_place *sole;
    size_t room;              /* of these five */
    uint32_t *reached, round; /* of a ground: the round in which it was reached */
    uint32_t *queue;          /* grounds */
} gl_views;

bool gl_views_make(const gl_standing_question *question, gl_views *views);
void gl_views_free(gl_views *views);
/* Fills voices, independent, blind_voices, independent_on_state, in_two_minds and sole; place and state
 * candidates are there already. What it hands out lives until the next call. */
bool gl_views_look(gl_views *views, uint32_t stamp, gl_span_of_statements statements, gl_standing *standing);

#endif
