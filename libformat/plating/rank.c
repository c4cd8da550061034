#include "plating/rank.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plating/assignment.h"

#define LOG_LEAST (-1000.0) /* of a pair: far below any that is worth making, and safe to add */

struct gl_ranker {
    const glassine_ranking *parameters;
    const gl_sight *sight;
    double stray;          /* factor of a thing that no mark explains */
    unsigned margins_seen; /* sides of the margin in which anything was observed */
    uint32_t *present;     /* things that are present */
    uint32_t present_count;
    gl_explanation best, trial;
    uint32_t mark_room;
    double *gain;     /* present things × marks */
    double *pair;     /* logarithm of visibility × fit, likewise */
    double *left_out; /* logarithm of the factor of a mark left over, under the trial's view of silence */
    uint32_t *match;
};

/* ---- the factors ---- */

double gl_rank_sigma(const glassine_ranking *parameters, const gl_shown_mark *mark) {
    return mark->spread > parameters->spread_least ? mark->spread : parameters->spread_least;
}

double gl_rank_visibility(const glassine_ranking *parameters, const gl_shown_mark *mark) {
    double said = mark->visibility < 0 ? parameters->visibility : mark->visibility / 100;
    return fmin(fmax(said, parameters->visibility_least), parameters->visibility_most);
}

double gl_rank_log_fit(const glassine_ranking *parameters, const gl_seen *thing, const gl_shown_mark *mark) {
    double log_kind = thing->appearance == mark->appearance ? 0 : log(parameters->other_appearance);
    if (!thing->spot.known || !mark->spot.known)
        return log_kind + log(parameters->no_place);
    double sigma = gl_rank_sigma(parameters, mark), distance = gl_spot_distance(thing->spot, mark->spot);
    return log_kind + 2 * log(parameters->spread_least / sigma) - distance * distance / (2 * sigma * sigma);
}

/* One without a place speaks of the whole stamp. */
bool gl_rank_reaches(const glassine_ranking *parameters, const gl_seen *thing, const gl_shown_mark *mark) {
    if (thing->appearance != mark->appearance)
        return false;
    if (!thing->spot.known)
        return true;
    return mark->spot.known &&
           gl_spot_distance(thing->spot, mark->spot) <= parameters->reach * gl_rank_sigma(parameters, mark);
}

static bool reached(const gl_ranker *r, const gl_shown_mark *mark, gl_presence presence) {
    for (uint32_t i = 0; i < r->sight->count; i++)
        if (r->sight->things[i].presence == presence &&
            gl_rank_reaches(r->parameters, &r->sight->things[i], mark))
            return true;
    return false;
}

static gl_verdict verdict_left(const gl_ranker *r, const gl_shown_mark *mark) {
    if (reached(r, mark, GL_ABSENT))
        return GL_MARK_DENIED;
    unsigned margins = gl_spot_margins(mark->spot);
    if (reached(r, mark, GL_UNCLEAR) || (margins && !(margins & r->margins_seen)))
        return GL_MARK_UNCLEAR;
    return GL_MARK_SILENT;
}

static double log_left(const gl_ranker *r, const gl_shown_mark *mark, gl_verdict verdict, bool hasty) {
    double visibility = gl_rank_visibility(r->parameters, mark);
    if (verdict == GL_MARK_DENIED)
        return log(1 - visibility);
    if (verdict == GL_MARK_SILENT && !hasty)
        return log(1 - visibility * r->parameters->silent);
    return 0;
}

static double log_stray(const gl_ranker *r, const gl_seen *thing, bool re_entry_met) {
    return log(re_entry_met && thing->trace ? r->parameters->trace : r->stray);
}

/* Whoever noted several things did look: each of them speaks against haste anew. */
static double log_haste(const gl_ranker *r) {
    return log(r->parameters->hasty) * (r->present_count ? r->present_count : 1);
}

/* ---- the greatest product ---- */

/* Gains over leaving both out. A forced mark's column is raised beyond anything else, so that it is taken. */
static void fill_gains(gl_ranker *r, uint32_t count, bool re_entry_met, uint32_t forced) {
    double greatest = 0;
    for (uint32_t i = 0; i < r->present_count; i++) {
        double stray = log_stray(r, &r->sight->things[r->present[i]], re_entry_met);
        for (uint32_t j = 0; j < count; j++) {
            size_t at = (size_t)i * count + j;
            r->gain[at] = r->pair[at] - stray - r->left_out[j];
            greatest = fmax(greatest, fabs(r->gain[at]));
        }
    }
    double lift = 2 * (greatest + 1) * (r->present_count + 1);
    for (uint32_t i = 0; i < r->present_count && forced != GL_NONE; i++)
        r->gain[(size_t)i * count + forced] += lift;
}

/* Takes the found assignment down as an explanation, its product made anew from the factors. */
static void explain(gl_ranker *r, const gl_verdict *left, uint32_t count, bool re_entry_met,
                    gl_explanation *out) {
    out->log_product = 0;
    for (uint32_t i = 0; i < r->sight->count; i++) {
        out->mark_of[i] = GL_NONE;
        out->log_seen[i] = 0;
    }
    for (uint32_t j = 0; j < count; j++) {
        out->verdict[j] = left[j];
        out->log_mark[j] = r->left_out[j];
    }
    for (uint32_t i = 0; i < r->present_count; i++) {
        uint32_t thing = r->present[i], mark = r->match[i];
        out->mark_of[thing] = mark;
        out->log_seen[thing] = mark == GL_NONE ? log_stray(r, &r->sight->things[thing], re_entry_met)
                                               : r->pair[(size_t)i * count + mark];
        out->log_product += out->log_seen[thing];
        if (mark == GL_NONE)
            continue;
        out->verdict[mark] = GL_MARK_MET;
        out->log_mark[mark] = 0;
    }
    for (uint32_t j = 0; j < count; j++)
        out->log_product += out->log_mark[j];
}

static bool try_one(gl_ranker *r, const gl_verdict *left, uint32_t count, uint32_t forced, double log_share,
                    bool hasty) {
    bool met = forced != GL_NONE;
    fill_gains(r, count, met, forced);
    if (!gl_assign(r->gain, r->present_count, count, r->match))
        return false;
    explain(r, left, count, met, &r->trial);
    r->trial.log_product += log_share;
    r->trial.hasty = hasty;
    if (r->trial.log_product > r->best.log_product) {
        gl_explanation swap = r->best;
        r->best = r->trial;
        r->trial = swap;
    }
    return true;
}

static bool sees_traces(const gl_ranker *r) {
    for (uint32_t i = 0; i < r->present_count; i++)
        if (r->sight->things[r->present[i]].trace)
            return true;
    return false;
}

/* Left-over traces cost less once a re-entry of the place is met. So the greatest product is the greatest of:
 * no relief at all (never more than the truth), and for each re-entry, the best one in which it is met. */
static bool try_all(gl_ranker *r, const gl_shown_mark *marks, const gl_verdict *left, uint32_t count,
                    double log_share, bool hasty) {
    for (uint32_t j = 0; j < count; j++)
        r->left_out[j] = log_left(r, &marks[j], left[j], hasty);
    if (!try_one(r, left, count, GL_NONE, log_share, hasty))
        return false;
    bool traces = sees_traces(r);
    for (uint32_t j = 0; traces && j < count; j++)
        if (marks[j].re_entry && !try_one(r, left, count, j, log_share, hasty))
            return false;
    return true;
}

/* ---- memory ---- */

static bool explanation_grow(gl_explanation *e, uint32_t marks) {
    gl_verdict *verdict = realloc(e->verdict, marks * sizeof *verdict);
    if (verdict)
        e->verdict = verdict;
    double *log_mark = realloc(e->log_mark, marks * sizeof *log_mark);
    if (log_mark)
        e->log_mark = log_mark;
    return verdict && log_mark;
}

static bool grow(gl_ranker *r, uint32_t count) {
    if (count <= r->mark_room)
        return true;
    uint32_t room = count + 16;
    size_t pairs = (size_t)room * (r->present_count ? r->present_count : 1);
    free(r->gain);
    free(r->pair);
    free(r->left_out);
    r->gain = calloc(pairs, sizeof *r->gain);
    r->pair = calloc(pairs, sizeof *r->pair);
    r->left_out = calloc(room, sizeof *r->left_out);
    r->mark_room = 0;
    if (!r->gain || !r->pair || !r->left_out || !explanation_grow(&r->best, room) ||
        !explanation_grow(&r->trial, room))
        return false;
    r->mark_room = room;
    return true;
}

static bool explanation_make(gl_explanation *e, uint32_t things) {
    e->mark_of = calloc(things + 1, sizeof *e->mark_of);
    e->log_seen = calloc(things + 1, sizeof *e->log_seen);
    return e->mark_of && e->log_seen;
}

static void explanation_free(gl_explanation *e) {
    free(e->mark_of);
    free(e->log_seen);
    free(e->verdict);
    free(e->log_mark);
}

gl_ranker *gl_ranker_new(const glassine_ranking *parameters, const gl_sight *sight, uint64_t places) {
    gl_ranker *r = calloc(1, sizeof *r);
    if (!r)
        return NULL;
    r->parameters = parameters;
    r->sight = sight;
    r->stray = parameters->stray;
    if (places)
        r->stray = fmin(r->stray, fmax(parameters->stray_shared / (double)places, parameters->stray_least));
    r->present = calloc(sight->count + 1, sizeof *r->present);
    r->match = calloc(sight->count + 1, sizeof *r->match);
    if (!r->present || !r->match || !explanation_make(&r->best, sight->count) ||
        !explanation_make(&r->trial, sight->count)) {
        gl_ranker_free(r);
        return NULL;
    }
    for (uint32_t i = 0; i < sight->count; i++) {
        r->margins_seen |= gl_spot_margins(sight->things[i].spot);
        if (sight->things[i].presence == GL_PRESENT)
            r->present[r->present_count++] = i;
    }
    return r;
}

void gl_ranker_free(gl_ranker *r) {
    if (!r)
        return;
    explanation_free(&r->best);
    explanation_free(&r->trial);
    free(r->present);
    free(r->match);
    free(r->gain);
    free(r->pair);
    free(r->left_out);
    free(r);
}

const gl_explanation *gl_rank(gl_ranker *r, const gl_shown_mark *marks, uint32_t count) {
    if (!grow(r, count + 1))
        return NULL;
    gl_verdict *left = calloc(count + 1, sizeof *left);
    if (!left)
        return NULL;
    for (uint32_t j = 0; j < count; j++) {
        left[j] = verdict_left(r, &marks[j]);
        double log_visibility = log(gl_rank_visibility(r->parameters, &marks[j]));
        for (uint32_t i = 0; i < r->present_count; i++)
            r->pair[(size_t)i * count + j] = fmax(
                LOG_LEAST,
                log_visibility + gl_rank_log_fit(r->parameters, &r->sight->things[r->present[i]], &marks[j]));
    }
    r->best.log_product = -INFINITY;
    bool done =
        try_all(r, marks, left, count, 0, false) && try_all(r, marks, left, count, log_haste(r), true);
    free(left);
    return done ? &r->best : NULL;
}
