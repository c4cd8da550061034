/* What is left possible for a piece of tied stamps: positions of its first member and states of its
 * printings, plate by plate. Since ties shift a whole pane's grid, one set does for all members. Private to
 * the standings. */
#ifndef GL_PLATING_JOINT_H
#define GL_PLATING_JOINT_H

#include "plating/frame.h"

struct gl_joint {
    const gl_standing_question *question;
    const gl_frame *frame;
    uint32_t piece;
    uint32_t *plates; /* of the piece: those that all its members' designs have */
    uint32_t plate_count;
    uint32_t *local;      /* of a plate: its place in `plates`; GL_NONE */
    bool *possible;       /* of a local plate: nothing rules it out whole */
    bool *touched;        /* of a local plate, while a statement is applied */
    gl_posset *positions; /* by plate, made when first wanted */
    gl_posset scratch;    /* room for the largest plate */
    uint64_t *states;     /* printing × local plate */
    size_t states_room;
    uint8_t *alive;   /* of a local plate, once settled: a bit for each aspect */
    uint32_t *counts; /* likewise: positions left */
};

/* What must be left for there to be a candidate. */
typedef enum gl_aspect { GL_PLACE_AND_STATE, GL_PLACE_ALONE, GL_STATE_ALONE } gl_aspect;

bool gl_joint_make(const gl_standing_question *question, gl_joint *joint);
void gl_joint_free(gl_joint *joint);

/* Everything that the plates and the ties of the piece allow. */
bool gl_joint_start(gl_joint *joint, const gl_frame *frame, uint32_t piece);
void gl_joint_apply(gl_joint *joint, const gl_statement *statement, uint32_t member);
/* After the last statement, before what follows is asked. */
void gl_joint_settle(gl_joint *joint);
bool gl_joint_alive(const gl_joint *joint, uint32_t local, gl_aspect aspect);
bool gl_joint_any(const gl_joint *joint, gl_aspect aspect);

/* Of one member, over the plates that are alive under the aspect; *plate and *which get the first. */
uint32_t gl_joint_places(const gl_joint *joint, uint32_t member, gl_aspect aspect, uint32_t *plate,
                         uint32_t *position);
uint32_t gl_joint_states(const gl_joint *joint, uint32_t member, gl_aspect aspect, uint32_t *plate,
                         uint32_t *state);
/* Positions that a member's allowance leaves to the piece's first member: q shifted back. */
void gl_joint_shift(const gl_plan *plan, const gl_posset *from, int64_t down, int64_t across, gl_posset *out);
/* The states of a plate as bits; every bit where none is recorded. */
uint64_t gl_states_of(const gl_standing_plate *plate);

#endif
