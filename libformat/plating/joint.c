#include "plating/joint.h"

#include <stdlib.h>

#include "base/buf.h"

uint64_t gl_states_of(const gl_standing_plate *plate) {
    return plate->states == 0 || plate->states >= GL_STATES_MOST ? GL_STATES_ALL
                                                                 : (UINT64_C(1) << plate->states) - 1;
}

bool gl_joint_make(const gl_standing_question *question, gl_joint *joint) {
    size_t plates = (size_t)question->plate_count + 1;
    uint32_t largest = 0;
    for (uint32_t i = 0; i < question->plate_count; i++)
        if (question->plates[i].plan->count > largest)
            largest = question->plates[i].plan->count;
    *joint = (gl_joint){.question = question};
    joint->plates = calloc(plates, sizeof *joint->plates);
    joint->local = calloc(plates, sizeof *joint->local);
    joint->possible = calloc(plates, sizeof *joint->possible);
    joint->touched = calloc(plates, sizeof *joint->touched);
    joint->positions = calloc(plates, sizeof *joint->positions);
    joint->alive = calloc(plates, sizeof *joint->alive);
    joint->counts = calloc(plates, sizeof *joint->counts);
    if (!joint->plates || !joint->local || !joint->possible || !joint->touched || !joint->positions ||
        !joint->alive || !joint->counts)
        return false;
    for (uint32_t i = 0; i < question->plate_count; i++)
        joint->local[i] = GL_NONE;
    return gl_posset_init(&joint->scratch, largest);
}

void gl_joint_free(gl_joint *joint) {
    for (uint32_t i = 0; joint->positions && i < joint->question->plate_count; i++)
        gl_posset_free(&joint->positions[i]);
    gl_posset_free(&joint->scratch);
    free(joint->plates);
    free(joint->local);
    free(joint->possible);
    free(joint->touched);
    free(joint->positions);
    free(joint->states);
    free(joint->alive);
    free(joint->counts);
}

static bool listed(const gl_plate_list *list, uint32_t plate) {
    for (uint32_t i = 0; i < list->count; i++)
        if (list->plates[i] == plate)
            return true;
    return false;
}

/* The plates that the designs of all members share. */
static void choose_plates(gl_joint *joint) {
    const gl_frame *frame = joint->frame;
    for (uint32_t i = 0; i < joint->plate_count; i++)
        joint->local[joint->plates[i]] = GL_NONE;
    joint->plate_count = 0;
    const gl_piece *piece = &frame->pieces[joint->piece];
    const gl_plate_list *list = &joint->question->plates_of[frame->members[piece->first].stamp], *last = list;
    for (uint32_t i = 0; i < list->count; i++)
        joint->plates[joint->plate_count++] = list->plates[i];
    for (uint32_t m = piece->first + 1; m < frame->member_count; m++) {
        const gl_plate_list *other = &joint->question->plates_of[frame->members[m].stamp];
        if (frame->members[m].piece != joint->piece || other->plates == last->plates)
            continue;
        uint32_t kept = 0;
        for (uint32_t i = 0; i < joint->plate_count; i++)
            if (listed(other, joint->plates[i]))
                joint->plates[kept++] = joint->plates[i];
        joint->plate_count = kept;
        last = other;
    }
    for (uint32_t i = 0; i < joint->plate_count; i++)
        joint->local[joint->plates[i]] = i;
}

/* Places of the first member from which every other lies in the same pane. */
static void fill_fitting(const gl_plan *plan, const gl_piece *piece, gl_posset *set) {
    if (!piece->torn && piece->least_down == 0 && piece->most_down == 0 && piece->least_across == 0 &&
        piece->most_across == 0) {
        gl_posset_fill(set);
        return;
    }
    gl_posset_clear(set);
    for (uint32_t i = 0; i < plan->count && !piece->torn; i++)
        if (gl_plan_step(plan, i, piece->least_down, piece->least_across) != GL_NONE &&
            gl_plan_step(plan, i, piece->most_down, piece->most_across) != GL_NONE)
            gl_posset_add(set, i);
}

bool gl_joint_start(gl_joint *joint, const gl_frame *frame, uint32_t piece) {
    joint->frame = frame;
    joint->piece = piece;
    choose_plates(joint);
    size_t cells = (size_t)frame->printing_count * joint->plate_count;
    uint64_t *states = gl_grow(joint->states, &joint->states_room, cells, sizeof *states);
    if (!states && cells)
        return false;
    joint->states = states ? states : joint->states;
    for (uint32_t i = 0; i < joint->plate_count; i++) {
        const gl_standing_plate *plate = &joint->question->plates[joint->plates[i]];
        gl_posset *set = &joint->positions[joint->plates[i]];
        if (!set->words && !gl_posset_init(set, plate->plan->count))
            return false;
        fill_fitting(plate->plan, &frame->pieces[piece], set);
        joint->possible[i] = true;
        for (uint32_t printing = 0; printing < frame->printing_count; printing++)
            joint->states[(size_t)printing * joint->plate_count + i] = gl_states_of(plate);
    }
    return true;
}

void gl_joint_shift(const gl_plan *plan, const gl_posset *from, int64_t down, int64_t across,
                    gl_posset *out) {
    gl_posset_clear(out);
    for (uint32_t q = gl_posset_next(from, 0); q != GL_NONE; q = gl_posset_next(from, q + 1)) {
        uint32_t root = gl_plan_step(plan, q, -down, -across);
        if (root != GL_NONE)
            gl_posset_add(out, root);
    }
}

static void apply_positions(gl_joint *joint, uint32_t plate, const gl_posset *allowed,
                            const gl_member *member) {
    gl_posset *set = &joint->positions[plate];
    if (member->down == 0 && member->across == 0) {
        gl_posset_and(set, allowed);
        return;
    }
    gl_posset shifted = {joint->scratch.words, set->size};
    gl_joint_shift(joint->question->plates[plate].plan, allowed, member->down, member->across, &shifted);
    gl_posset_and(set, &shifted);
}

void gl_joint_apply(gl_joint *joint, const gl_statement *statement, uint32_t number) {
    const gl_member *member = &joint->frame->members[number];
    if (!statement->allowed)
        return;
    for (uint32_t i = 0; i < joint->plate_count; i++)
        joint->touched[i] = false;
    for (uint32_t i = 0; i < statement->allowed_count; i++) {
        const gl_allowance *allowed = &statement->allowed[i];
        uint32_t local = joint->local[allowed->plate];
        if (local == GL_NONE)
            continue;
        joint->touched[local] = true;
        joint->states[(size_t)member->printing * joint->plate_count + local] &= allowed->states;
        if (allowed->positions)
            apply_positions(joint, allowed->plate, allowed->positions, member);
    }
    for (uint32_t i = 0; i < joint->plate_count; i++)
        joint->possible[i] &= joint->touched[i];
}

/* Every printing of the piece has a state left on the plate. */
static bool states_alive(const gl_joint *joint, uint32_t local) {
    const gl_frame *frame = joint->frame;
    for (uint32_t m = frame->pieces[joint->piece].first; m < frame->member_count; m++)
        if (frame->members[m].piece == joint->piece &&
            joint->states[(size_t)frame->members[m].printing * joint->plate_count + local] == 0)
            return false;
    return true;
}

static unsigned bit(gl_aspect aspect) {
    return 1u << aspect;
}

void gl_joint_settle(gl_joint *joint) {
    for (uint32_t i = 0; i < joint->plate_count; i++) {
        joint->counts[i] = gl_posset_count(&joint->positions[joint->plates[i]]);
        bool places = joint->possible[i] && joint->counts[i] > 0;
        bool states = joint->possible[i] && states_alive(joint, i);
        joint->alive[i] = (uint8_t)((places && states ? bit(GL_PLACE_AND_STATE) : 0) |
                                    (places ? bit(GL_PLACE_ALONE) : 0) | (states ? bit(GL_STATE_ALONE) : 0));
    }
}

bool gl_joint_alive(const gl_joint *joint, uint32_t local, gl_aspect aspect) {
    return (joint->alive[local] & bit(aspect)) != 0;
}

bool gl_joint_any(const gl_joint *joint, gl_aspect aspect) {
    for (uint32_t i = 0; i < joint->plate_count; i++)
        if (gl_joint_alive(joint, i, aspect))
            return true;
    return false;
}

uint32_t gl_joint_places(const gl_joint *joint, uint32_t member, gl_aspect aspect, uint32_t *plate,
                         uint32_t *position) {
    const gl_member *m = &joint->frame->members[member];
    uint32_t count = 0;
    *plate = *position = GL_NONE;
    for (uint32_t i = 0; i < joint->plate_count; i++) {
        if (!gl_joint_alive(joint, i, aspect))
            continue;
        uint32_t number = joint->plates[i];
        const gl_posset *set = &joint->positions[number];
        if (count == 0) {
            *plate = number;
            *position = gl_plan_step(joint->question->plates[number].plan, gl_posset_next(set, 0), m->down,
                                     m->across);
        }
        count += joint->counts[i];
    }
    return count;
}

uint32_t gl_joint_states(const gl_joint *joint, uint32_t member, gl_aspect aspect, uint32_t *plate,
                         uint32_t *state) {
    uint32_t count = 0, printing = joint->frame->members[member].printing;
    *plate = *state = GL_NONE;
    for (uint32_t i = 0; i < joint->plate_count; i++) {
        if (joint->question->plates[joint->plates[i]].states == 0 || !gl_joint_alive(joint, i, aspect))
            continue;
        uint64_t left = joint->states[(size_t)printing * joint->plate_count + i];
        if (count == 0 && left) {
            *plate = joint->plates[i];
            *state = (uint32_t)__builtin_ctzll(left);
        }
        count += (uint32_t)__builtin_popcountll(left);
    }
    return count;
}
