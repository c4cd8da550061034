/* The standing of stamps: what everything said on them amounts to (spec/standing.md). */
#ifndef GL_PLATING_STANDING_H
#define GL_PLATING_STANDING_H

#include "plating/plan.h"
#include "plating/posset.h"

#define GL_STATES_MOST 64u
#define GL_STATES_ALL UINT64_MAX

/* What a statement leaves possible on one plate. */
typedef struct gl_allowance {
    uint32_t plate;
    const gl_posset *positions; /* NULL: every position */
    uint64_t states;            /* bit i: the plate's i-th state; GL_STATES_ALL: every one */
} gl_allowance;

/* One binding statement about one stamp: a claim, or something that the item shows. */
typedef struct gl_statement {
    uint32_t stamp;
    uint32_t contributor;        /* GL_NONE: the item itself */
    const gl_allowance *allowed; /* a plate that is not among them is ruled out; NULL: nothing is */
    uint32_t allowed_count;
    bool says_state;
    bool blind;      /* made without knowing what others had claimed */
    uint32_t ground; /* its node among the grounds; GL_NONE: it rests on nothing, and nothing on it */
} gl_statement;

/* Two stamps whose places differ by fixed rows and columns within one pane: b lies `down` below and `across`
 * right of a. Ties of one `source` (a multiple, a match) stand or fall together. */
typedef struct gl_tie {
    uint32_t a, b;
    int32_t down, across;
    bool same_state; /* of one printing: the stamps of a multiple */
    uint32_t source;
} gl_tie;

/* What rests on what: node n rests on the nodes to[first[n]] … to[first[n + 1] - 1]. */
typedef struct gl_grounds {
    uint32_t count;
    const uint32_t *first, *to;
    const uint32_t *statement; /* of a node that is a counting claim; else GL_NONE */
} gl_grounds;

typedef struct gl_standing_plate {
    const gl_plan *plan;
    uint32_t states; /* recorded ones; 0: none */
} gl_standing_plate;

typedef struct gl_plate_list {
    const uint32_t *plates;
    uint32_t count;
} gl_plate_list;

typedef struct gl_standing_question {
    const gl_standing_plate *plates;
    uint32_t plate_count;
    uint32_t stamp_count;
    const gl_plate_list *plates_of; /* for each stamp: the plates of its design; may be shared */
    const gl_statement *statements; /* in an order that does not depend on their arrival */
    uint32_t statement_count;
    const gl_tie *ties;
    uint32_t tie_count;
    uint32_t source_count; /* sources are 0 … count-1 */
    gl_grounds grounds;
} gl_standing_question;

typedef enum gl_standing_word {
    GL_UNPLACED,
    GL_NARROWED,
    GL_PLACED,
    GL_CORROBORATED,
    GL_DISPUTED
} gl_standing_word;
const char *gl_standing_name(gl_standing_word word);

/* Statements that cannot all be true: one of each side will not do together with one of every other, given
 * the sources of ties. The statements of one side say the same. */
typedef struct gl_side {
    const uint32_t *statements;
    uint32_t count;
} gl_side;

typedef struct gl_group {
    const gl_side *sides;
    uint32_t side_count;
    const uint32_t *sources; /* of ties, ascending */
    uint32_t source_count;
} gl_group;

/* The one place that somebody's own view of a disputed stamp leaves. */
typedef struct gl_sole_place {
    uint32_t plate, position;
} gl_sole_place;

typedef struct gl_joint gl_joint;

typedef struct gl_standing {
    uint32_t stamp;
    gl_standing_word place;
    uint32_t candidates;      /* pairs of plate and position */
    uint32_t plate, position; /* the one; GL_NONE */
    gl_standing_word state;
    uint32_t state_candidates;
    uint32_t state_plate, state_number; /* the one; GL_NONE */
    uint32_t claims, blind_claims;      /* that count */
    uint32_t voices;                    /* contributors whose own view is this one place */
    uint32_t independent;               /* those of them whose view does not rest on another's */
    uint32_t blind_voices;              /* those of these who made a claim blind */
    uint32_t independent_on_state;
    const uint32_t *in_two_minds; /* contributors whose own claims disagree */
    uint32_t in_two_minds_count;
    const gl_sole_place *sole; /* where it is disputed: of each contributor, and of what the item shows */
    uint32_t sole_count;
    const uint32_t *idle; /* statements that allow nothing on the stamp's plates: they do not count */
    uint32_t idle_count;
    const gl_group *groups; /* where it, or its state, is disputed: smallest first */
    uint32_t group_count;
    bool groups_complete; /* the search found every group it looks for */
    const gl_joint *joint;
    uint32_t member;
} gl_standing;

/* The positions on `plate` that are left; a set over the plate, made by the caller. */
void gl_standing_positions(const gl_standing *standing, uint32_t plate, gl_posset *out);
/* The states of `plate` that are left, as bits. */
uint64_t gl_standing_states(const gl_standing *standing, uint32_t plate);

/* Gets every stamp's standing: stamps that are tied together one after another, else in their order. What it
 * is handed lives until it returns; a status other than GLASSINE_OK ends the work. */
typedef glassine_status (*gl_standing_sink)(void *context, const gl_standing *standing,
                                            glassine_error *error);

glassine_status gl_standing_run(const gl_standing_question *question, gl_standing_sink sink, void *context,
                                glassine_error *error);

#endif
