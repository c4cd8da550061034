#include "plating/views.h"

#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "plating/joint.h"

/* Grounds that one claim's basis may lead through; where it leads further, the claim counts as resting on
 * others. */
#define GROUNDS_MOST 4096u

bool gl_views_make(const gl_standing_question *question, gl_views *views) {
    uint32_t largest = 0;
    for (uint32_t i = 0; i < question->plate_count; i++)
        if (question->plates[i].plan->count > largest)
            largest = question->plates[i].plan->count;
    *views = (gl_views){.question = question};
    views->reached = calloc((size_t)question->grounds.count + 1, sizeof *views->reached);
    views->queue = calloc(GROUNDS_MOST, sizeof *views->queue);
    return views->reached && views->queue && gl_posset_init(&views->scratch, largest);
}

void gl_views_free(gl_views *views) {
    gl_posset_free(&views->scratch);
    free(views->sorted);
    free(views->voice);
    free(views->free_standing);
    free(views->in_two_minds);
    free(views->sole);
    free(views->reached);
    free(views->queue);
}

static bool grow(gl_views *views, size_t count) {
    if (count <= views->room)
        return true;
    size_t room = count * 2;
    uint32_t *sorted = realloc(views->sorted, room * sizeof *sorted);
    views->sorted = sorted ? sorted : views->sorted;
    bool *voice = realloc(views->voice, room * sizeof *voice);
    views->voice = voice ? voice : views->voice;
    bool *free_standing = realloc(views->free_standing, room * sizeof *free_standing);
    views->free_standing = free_standing ? free_standing : views->free_standing;
    uint32_t *in_two_minds = realloc(views->in_two_minds, room * sizeof *in_two_minds);
    views->in_two_minds = in_two_minds ? in_two_minds : views->in_two_minds;
    gl_sole_place *sole = realloc(views->sole, room * sizeof *sole);
    views->sole = sole ? sole : views->sole;
    if (!sorted || !voice || !free_standing || !in_two_minds || !sole)
        return false;
    views->room = room;
    return true;
}

/* ---- one view ---- */

static const gl_statement *statement_at(const gl_views *views, uint32_t i) {
    return &views->question->statements[views->sorted[i]];
}

/* A run of `sorted`: one contributor's claims; with `only_free` those that rest on nobody else. */
typedef struct run {
    uint32_t first, end;
    bool only_free;
} run;

static const gl_allowance *allowance_on(const gl_statement *statement, uint32_t plate) {
    for (uint32_t i = 0; i < statement->allowed_count; i++)
        if (statement->allowed[i].plate == plate)
            return &statement->allowed[i];
    return NULL;
}

/* What the run leaves on one plate: positions in views->scratch, states returned; false: ruled out. */
static bool left_on(gl_views *views, run of, uint32_t plate, gl_posset *set, uint64_t *states) {
    *states = gl_states_of(&views->question->plates[plate]);
    gl_posset_fill(set);
    for (uint32_t i = of.first; i < of.end; i++) {
        const gl_statement *statement = statement_at(views, i);
        if (!statement->allowed || (of.only_free && !views->free_standing[i]))
            continue;
        const gl_allowance *allowed = allowance_on(statement, plate);
        if (!allowed)
            return false;
        *states &= allowed->states;
        if (allowed->positions)
            gl_posset_and(set, allowed->positions);
    }
    return true;
}

static gl_view view_of(gl_views *views, uint32_t stamp, run of) {
    const gl_standing_question *q = views->question;
    const gl_plate_list *list = &q->plates_of[stamp];
    gl_view view = {.contributor = statement_at(views, of.first)->contributor};
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t plate = list->plates[i];
        gl_posset set = {views->scratch.words, q->plates[plate].plan->count};
        uint64_t states;
        if (!left_on(views, of, plate, &set, &states) || states == 0 || gl_posset_empty(&set))
            continue;
        if (view.places == 0) {
            view.plate = plate;
            view.position = gl_posset_next(&set, 0);
        }
        view.places += gl_posset_count(&set);
        if (q->plates[plate].states == 0)
            continue;
        if (view.states == 0) {
            view.state_plate = plate;
            view.state = (uint32_t)__builtin_ctzll(states);
        }
        view.states += (uint32_t)__builtin_popcountll(states);
    }
    for (uint32_t i = of.first; i < of.end; i++)
        view.blind |= statement_at(views, i)->blind && (!of.only_free || views->free_standing[i]);
    return view;
}

static bool is_place(const gl_view *view, const gl_standing *standing) {
    return view->places == 1 && standing->candidates == 1 && view->plate == standing->plate &&
           view->position == standing->position;
}

static bool is_state(const gl_view *view, const gl_standing *standing) {
    return view->states == 1 && standing->state_candidates == 1 &&
           view->state_plate == standing->state_plate && view->state == standing->state_number;
}

/* ---- who rests on whom ---- */

/* Is this contributor one of those in the hand's sorted claims whose view is marked as a voice? */
static bool is_voice(const gl_views *views, uint32_t contributor, uint32_t count) {
    uint32_t low = 0, high = count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (statement_at(views, middle)->contributor < contributor)
            low = middle + 1;
        else
            high = middle;
    }
    return low < count && statement_at(views, low)->contributor == contributor && views->voice[low];
}

/* Does the basis of the claim lead, directly or through others, to a counting claim on this stamp by another
 * of the voices? Breadth first, over at most GROUNDS_MOST grounds. */
static bool rests_on_another(gl_views *views, const gl_statement *claim, uint32_t count) {
    const gl_grounds *grounds = &views->question->grounds;
    if (claim->ground == GL_NONE)
        return false;
    uint32_t queued = 0;
    views->round++;
    views->queue[queued++] = claim->ground;
    views->reached[claim->ground] = views->round;
    for (uint32_t next = 0; next < queued; next++) {
        uint32_t node = views->queue[next];
        for (uint32_t i = grounds->first[node]; i < grounds->first[node + 1]; i++) {
            uint32_t to = grounds->to[i], number = grounds->statement[to];
            if (views->reached[to] == views->round)
                continue;
            const gl_statement *other = number == GL_NONE ? NULL : &views->question->statements[number];
            if (queued == GROUNDS_MOST ||
                (other && other->stamp == claim->stamp && other->contributor != claim->contributor &&
                 is_voice(views, other->contributor, count)))
                return true;
            views->reached[to] = views->round;
            views->queue[queued++] = to;
        }
    }
    return false;
}

/* ---- all of them ---- */

/* Stable, so that the order of statements within a contributor stays: few of them on one stamp as a rule, and
 * merge sort for when they are not. */
static void sort_by_contributor(gl_views *views, uint32_t count, uint32_t *spare) {
    const gl_statement *all = views->question->statements;
    uint32_t *from = views->sorted, *to = spare;
    for (uint32_t width = 1; width < count; width *= 2) {
        for (uint32_t start = 0; start < count; start += 2 * width) {
            uint32_t a = start, middle = start + width < count ? start + width : count;
            uint32_t b = middle, end = middle + width < count ? middle + width : count;
            for (uint32_t i = start; i < end; i++) {
                bool left = a < middle && (b >= end || all[from[a]].contributor <= all[from[b]].contributor);
                to[i] = left ? from[a++] : from[b++];
            }
        }
        uint32_t *swap = from;
        from = to;
        to = swap;
    }
    if (from != views->sorted)
        memcpy(views->sorted, from, count * sizeof *from);
}

/* Of people, or of what the item shows. */
static uint32_t gather(gl_views *views, gl_span_of_statements statements, bool of_people) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < statements.count; i++)
        if ((views->question->statements[statements.at[i]].contributor != GL_NONE) == of_people)
            views->sorted[count++] = statements.at[i];
    return count;
}

static bool gather_claims(gl_views *views, gl_span_of_statements statements, uint32_t *count) {
    if (!grow(views, (size_t)statements.count + 1))
        return false;
    *count = gather(views, statements, true);
    sort_by_contributor(views, *count, views->in_two_minds);
    return true;
}

static run run_at(const gl_views *views, uint32_t first, uint32_t count) {
    run of = {first, first + 1, false};
    while (of.end < count &&
           statement_at(views, of.end)->contributor == statement_at(views, first)->contributor)
        of.end++;
    return of;
}

typedef bool (*fits)(const gl_view *view, const gl_standing *standing);

/* Contributors whose own view is the one place (or state) that is left; marks their claims. */
static uint32_t count_voices(gl_views *views, uint32_t stamp, uint32_t count, fits fit,
                             const gl_standing *standing) {
    uint32_t voices = 0;
    for (uint32_t i = 0; i < count;) {
        run of = run_at(views, i, count);
        gl_view view = view_of(views, stamp, of);
        bool voice = fit(&view, standing);
        voices += voice;
        for (; i < of.end; i++)
            views->voice[i] = voice;
    }
    return voices;
}

/* Those of them that still say so when every claim that rests on another of them is left out. */
static uint32_t count_independent(gl_views *views, uint32_t stamp, uint32_t count, fits fit,
                                  const gl_standing *standing, uint32_t *blind) {
    uint32_t independent = 0;
    for (uint32_t i = 0; i < count; i++)
        views->free_standing[i] = views->voice[i] && !rests_on_another(views, statement_at(views, i), count);
    for (uint32_t i = 0; i < count;) {
        run of = run_at(views, i, count);
        of.only_free = true;
        i = of.end;
        if (!views->voice[of.first])
            continue;
        gl_view view = view_of(views, stamp, of);
        independent += fit(&view, standing);
        *blind += fit(&view, standing) && view.blind;
    }
    return independent;
}

static void add_sole(gl_views *views, const gl_view *view, gl_standing *standing) {
    if (view->places == 1)
        views->sole[standing->sole_count++] = (gl_sole_place){view->plate, view->position};
}

/* Whose claims disagree with each other, and whose leave one place. */
static void look_at_dispute(gl_views *views, uint32_t stamp, uint32_t count, gl_standing *standing) {
    for (uint32_t i = 0; i < count;) {
        run of = run_at(views, i, count);
        gl_view view = view_of(views, stamp, of);
        if (view.places == 0)
            views->in_two_minds[standing->in_two_minds_count++] = view.contributor;
        add_sole(views, &view, standing);
        i = of.end;
    }
    standing->in_two_minds = views->in_two_minds;
    standing->sole = views->sole;
}

/* Takes the hand's sorted claims away. */
static void look_at_item(gl_views *views, uint32_t stamp, gl_span_of_statements statements,
                         gl_standing *standing) {
    uint32_t count = gather(views, statements, false);
    if (count == 0)
        return;
    gl_view view = view_of(views, stamp, (run){0, count, false});
    add_sole(views, &view, standing);
}

bool gl_views_look(gl_views *views, uint32_t stamp, gl_span_of_statements statements, gl_standing *standing) {
    uint32_t count, blind_on_state = 0;
    if (!gather_claims(views, statements, &count))
        return false;
    if (standing->candidates == 0 || standing->state_candidates == 0)
        look_at_dispute(views, stamp, count, standing);
    if (standing->candidates == 1) {
        standing->voices = count_voices(views, stamp, count, is_place, standing);
        standing->independent =
            count_independent(views, stamp, count, is_place, standing, &standing->blind_voices);
    }
    if (standing->state_candidates == 1) {
        count_voices(views, stamp, count, is_state, standing);
        standing->independent_on_state =
            count_independent(views, stamp, count, is_state, standing, &blind_on_state);
    }
    if (standing->candidates == 0)
        look_at_item(views, stamp, statements, standing);
    return true;
}
