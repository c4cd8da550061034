#include "plating/standing.h"

#include <stdlib.h>
#include <string.h>

#include "plating/dispute.h"
#include "plating/joint.h"
#include "plating/views.h"

const char *gl_standing_name(gl_standing_word word) {
    static const char *const names[] = {"unplaced", "narrowed", "placed", "corroborated", "disputed"};
    return names[word];
}

/* ---- the work in hand ---- */

typedef struct standing_work {
    const gl_standing_question *question;
    gl_standing_sink sink;
    void *context;
    glassine_error *error;
    gl_tied tied;
    gl_joint joint;
    gl_views views;
    uint32_t *first, *statements; /* of stamp s: statements[first[s]] … that count */
    uint32_t *idle_first, *idle;  /* likewise those that allow nothing */
    bool *seen;
    uint32_t *stamps; /* of the component in hand */
    bool *state_said; /* of a printing of it: something speaks of its state */
} standing_work;

static bool allows_something(const gl_standing_question *question, const gl_statement *statement) {
    const gl_plate_list *list = &question->plates_of[statement->stamp];
    if (!statement->allowed)
        return true;
    for (uint32_t i = 0; i < statement->allowed_count; i++) {
        const gl_allowance *allowed = &statement->allowed[i];
        bool places = !allowed->positions || !gl_posset_empty(allowed->positions);
        bool states = (allowed->states & gl_states_of(&question->plates[allowed->plate])) != 0;
        for (uint32_t j = 0; j < list->count && places && states; j++)
            if (list->plates[j] == allowed->plate)
                return true;
    }
    return false;
}

/* Statements of each stamp, in their order, apart by whether they allow anything. */
static bool sort_statements(standing_work *w) {
    const gl_standing_question *q = w->question;
    size_t stamps = q->stamp_count, count = q->statement_count;
    bool *idle = calloc(count + 1, sizeof *idle);
    w->first = calloc(stamps + 2, sizeof *w->first);
    w->idle_first = calloc(stamps + 2, sizeof *w->idle_first);
    w->statements = calloc(count + 1, sizeof *w->statements);
    w->idle = calloc(count + 1, sizeof *w->idle);
    bool room = idle && w->first && w->idle_first && w->statements && w->idle;
    for (size_t i = 0; room && i < count; i++) {
        idle[i] = !allows_something(q, &q->statements[i]);
        (idle[i] ? w->idle_first : w->first)[q->statements[i].stamp + 2]++;
    }
    for (size_t s = 2; room && s < stamps + 2; s++) {
        w->first[s] += w->first[s - 1];
        w->idle_first[s] += w->idle_first[s - 1];
    }
    for (size_t i = 0; room && i < count; i++) {
        uint32_t *at = &(idle[i] ? w->idle_first : w->first)[q->statements[i].stamp + 1];
        (idle[i] ? w->idle : w->statements)[(*at)++] = (uint32_t)i;
    }
    free(idle);
    return room;
}

/* ---- one stamp ---- */

static gl_standing_word word_of(uint32_t candidates, uint32_t total, bool anything_said,
                                uint32_t independent) {
    if (total == 0)
        return GL_UNPLACED;
    if (candidates == 0)
        return GL_DISPUTED;
    if (candidates == total && (total > 1 || !anything_said))
        return GL_UNPLACED;
    if (candidates > 1)
        return GL_NARROWED;
    return independent >= 2 ? GL_CORROBORATED : GL_PLACED;
}

static uint32_t places_in_all(const gl_standing_question *question, uint32_t stamp) {
    const gl_plate_list *list = &question->plates_of[stamp];
    uint32_t total = 0;
    for (uint32_t i = 0; i < list->count; i++)
        total += question->plates[list->plates[i]].plan->count;
    return total;
}

static void count_claims(const standing_work *w, uint32_t stamp, gl_standing *standing) {
    for (uint32_t i = w->first[stamp]; i < w->first[stamp + 1]; i++) {
        const gl_statement *statement = &w->question->statements[w->statements[i]];
        standing->claims += statement->contributor != GL_NONE;
        standing->blind_claims += statement->contributor != GL_NONE && statement->blind;
    }
}

/* The aspects under which place and state are told: both together, or where no triple is left each by itself.
 */
typedef struct aspects {
    gl_aspect place, state;
} aspects;

static glassine_status tell(standing_work *w, const gl_frame *frame, uint32_t member, aspects told,
                            const gl_disputes *disputes) {
    uint32_t stamp = frame->members[member].stamp;
    gl_standing s = {.stamp = stamp, .joint = &w->joint, .member = member};
    s.candidates = gl_joint_places(&w->joint, member, told.place, &s.plate, &s.position);
    s.state_candidates = gl_joint_states(&w->joint, member, told.state, &s.state_plate, &s.state_number);
    if (s.candidates != 1)
        s.plate = s.position = GL_NONE;
    if (s.state_candidates != 1)
        s.state_plate = s.state_number = GL_NONE;
    count_claims(w, stamp, &s);
    gl_span_of_statements own = {w->statements + w->first[stamp], w->first[stamp + 1] - w->first[stamp]};
    if (!gl_views_look(&w->views, stamp, own, &s))
        return gl_fail_memory(w->error);
    s.idle = w->idle + w->idle_first[stamp];
    s.idle_count = w->idle_first[stamp + 1] - w->idle_first[stamp];
    s.groups = disputes->groups;
    s.group_count = disputes->group_count;
    s.groups_complete = disputes->complete;
    s.place = word_of(s.candidates, places_in_all(w->question, stamp), own.count > 0, s.independent);
    s.state = !w->state_said[frame->members[member].printing] ? GL_UNPLACED
              : s.state_candidates == 0                       ? GL_DISPUTED
              : s.state_candidates > 1                        ? GL_NARROWED
              : s.independent_on_state >= 2                   ? GL_CORROBORATED
                                                              : GL_PLACED;
    return w->sink(w->context, &s, w->error);
}

/* ---- one component ---- */

/* Of stamps whose designs have no plates nothing can be said, and so nothing be disputed. */
static bool has_plates(const standing_work *w, uint32_t count) {
    for (uint32_t i = 0; i < count; i++)
        if (w->question->plates_of[w->stamps[i]].count > 0)
            return true;
    return false;
}

static void apply_all(standing_work *w, const gl_frame *frame) {
    memset(w->state_said, 0, frame->printing_count * sizeof *w->state_said);
    for (uint32_t m = 0; m < frame->member_count; m++) {
        uint32_t stamp = frame->members[m].stamp;
        for (uint32_t i = w->first[stamp]; i < w->first[stamp + 1]; i++) {
            const gl_statement *statement = &w->question->statements[w->statements[i]];
            gl_joint_apply(&w->joint, statement, m);
            w->state_said[frame->members[m].printing] |= statement->says_state;
        }
    }
    gl_joint_settle(&w->joint);
}

static glassine_status solve_component(standing_work *w, uint32_t count) {
    gl_frame frame;
    gl_disputes disputes = {.complete = true};
    if (!gl_frame_lay(&w->tied, w->stamps, count, NULL, &frame))
        return gl_fail_memory(w->error);
    glassine_status status = GLASSINE_OK;
    if (!gl_joint_start(&w->joint, &frame, 0))
        status = gl_fail_memory(w->error);
    if (!status) {
        apply_all(w, &frame);
        aspects told = {GL_PLACE_AND_STATE, GL_PLACE_AND_STATE};
        if (has_plates(w, count) && !gl_joint_any(&w->joint, GL_PLACE_AND_STATE)) {
            told = (aspects){GL_PLACE_ALONE, GL_STATE_ALONE};
            const gl_dispute_scope scope = {w->question, &w->tied, w->stamps, count, w->first, w->statements};
            status = gl_disputes_find(&scope, &disputes, w->error);
        }
        for (uint32_t m = 0; m < count && !status; m++)
            status = tell(w, &frame, m, told, &disputes);
    }
    gl_disputes_free(&disputes);
    gl_frame_free(&frame);
    return status;
}

static bool work_make(standing_work *w) {
    const gl_standing_question *q = w->question;
    w->seen = calloc((size_t)q->stamp_count + 1, sizeof *w->seen);
    w->stamps = calloc((size_t)q->stamp_count + 1, sizeof *w->stamps);
    w->state_said = calloc((size_t)q->stamp_count + 1, sizeof *w->state_said);
    return w->seen && w->stamps && w->state_said && sort_statements(w) && gl_tied_make(q, &w->tied) &&
           gl_joint_make(q, &w->joint) && gl_views_make(q, &w->views);
}

static void work_free(standing_work *w) {
    gl_tied_free(&w->tied);
    gl_joint_free(&w->joint);
    gl_views_free(&w->views);
    free(w->first);
    free(w->statements);
    free(w->idle_first);
    free(w->idle);
    free(w->seen);
    free(w->stamps);
    free(w->state_said);
}

glassine_status gl_standing_run(const gl_standing_question *question, gl_standing_sink sink, void *context,
                                glassine_error *error) {
    standing_work w = {.question = question, .sink = sink, .context = context, .error = error};
    w.joint.question = question;
    glassine_status status = work_make(&w) ? GLASSINE_OK : gl_fail_memory(error);
    for (uint32_t stamp = 0; stamp < question->stamp_count && !status; stamp++)
        if (!w.seen[stamp])
            status = solve_component(&w, gl_tied_component(&w.tied, stamp, w.seen, w.stamps));
    work_free(&w);
    return status;
}

/* ---- what is left ---- */

static gl_aspect aspect_of(const gl_joint *joint, gl_aspect otherwise) {
    return gl_joint_any(joint, GL_PLACE_AND_STATE) ? GL_PLACE_AND_STATE : otherwise;
}

void gl_standing_positions(const gl_standing *standing, uint32_t plate, gl_posset *out) {
    const gl_joint *joint = standing->joint;
    const gl_member *member = &joint->frame->members[standing->member];
    uint32_t local = joint->local[plate];
    gl_posset_clear(out);
    if (local != GL_NONE && gl_joint_alive(joint, local, aspect_of(joint, GL_PLACE_ALONE)))
        gl_joint_shift(joint->question->plates[plate].plan, &joint->positions[plate], -member->down,
                       -member->across, out);
}

uint64_t gl_standing_states(const gl_standing *standing, uint32_t plate) {
    const gl_joint *joint = standing->joint;
    uint32_t local = joint->local[plate], printing = joint->frame->members[standing->member].printing;
    if (local == GL_NONE || !gl_joint_alive(joint, local, aspect_of(joint, GL_STATE_ALONE)))
        return 0;
    return joint->states[(size_t)printing * joint->plate_count + local];
}
