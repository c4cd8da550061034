/* The report on standings: a table of all stamps, or some of them in full. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/standings.h"
#include "report/report.h"

#define CANDIDATES_IN_FULL 240u /* places that are listed one by one for a stamp that was asked for */
#define CANDIDATES_IN_TABLE 24u /* and in the table of all; `places` has them in any case */
#define NUMBERS_IN_TABLE 6u

typedef struct telling {
    glassine_standings *standings;
    const gl_survey *survey;
    bool full; /* the stamps were asked for by name */
    /* Claims that count and do not bind, by stamp: those of stamp i are from first[i] to before first[i + 1].
     */
    uint32_t *possible, *first;
} telling;

static bool is_possible(const gl_survey_claim *claim) {
    return claim->counts && claim->possible;
}

static bool sort_possible(telling *t) {
    const gl_survey *survey = t->survey;
    t->first = calloc((size_t)survey->stamp_count + 2, sizeof *t->first);
    t->possible = calloc((size_t)survey->claim_count + 1, sizeof *t->possible);
    if (!t->first || !t->possible)
        return false;
    for (uint32_t i = 0; i < survey->claim_count; i++)
        t->first[survey->claims[i].stamp + 2] += is_possible(&survey->claims[i]);
    for (uint32_t i = 2; i < survey->stamp_count + 2; i++)
        t->first[i] += t->first[i - 1];
    for (uint32_t i = 0; i < survey->claim_count; i++)
        if (is_possible(&survey->claims[i]))
            t->possible[t->first[survey->claims[i].stamp + 1]++] = i;
    return true;
}

static void tell_position(const gl_survey *survey, uint32_t plate, uint32_t position, glassine_node *row) {
    const gl_survey_plate *on = &survey->plates[plate];
    glassine_place place = gl_plan_place(on->plan, position);
    glassine_node_text(row, "plate", NULL, glassine_record_id(survey->bundle, on->record));
    glassine_node_text(row, "label", NULL, gl_tell_label(survey, on->record));
    glassine_node_integer(row, "position", NULL, place.number);
    if (place.pane_name)
        glassine_node_string(row, "pane", NULL, place.pane_name);
}

/* Every place that is left, where they are few enough and anything is said. */
static void tell_candidates(const telling *t, uint32_t stamp, glassine_node *row) {
    const gl_standing *s = &t->standings->all[stamp].s;
    glassine_node *list = glassine_node_list(row, "candidates", NULL);
    if (s->place == GL_UNPLACED || s->candidates > (t->full ? CANDIDATES_IN_FULL : CANDIDATES_IN_TABLE))
        return;
    for (uint32_t i = 0; i < gl_standings_plates(t->standings, stamp); i++) {
        gl_left left = gl_standings_left(t->standings, stamp, i);
        const gl_plan *plan = t->survey->plates[left.plate].plan;
        for (uint32_t at = 0; left.count && at < plan->count; at++)
            if (!left.positions || gl_posset_has(left.positions, at))
                tell_position(t->survey, left.plate, at, glassine_node_object(list, NULL, NULL));
    }
}

static void tell_places(const telling *t, uint32_t stamp, glassine_node *row) {
    glassine_node *list = glassine_node_list(row, "places", NULL);
    glassine_record *plate;
    const char *expression;
    uint32_t count;
    for (size_t i = 0; glassine_standings_places(t->standings, stamp, i, &plate, &expression, &count); i++) {
        if (count == 0)
            continue;
        glassine_node *on = glassine_node_object(list, NULL, NULL);
        glassine_node_text(on, "plate", NULL, glassine_record_id(t->survey->bundle, plate));
        glassine_node_text(on, "label", NULL, gl_tell_label(t->survey, plate));
        glassine_node_string(on, "positions", NULL, expression);
        glassine_node_integer(on, "count", NULL, count);
    }
}

static void tell_state(const telling *t, uint32_t stamp, glassine_node *row) {
    const gl_standing *s = &t->standings->all[stamp].s;
    gl_buf names = GL_BUF_EMPTY;
    glassine_node_string(row, "state", t->full ? "state" : NULL, gl_standing_name(s->state));
    glassine_node *list = glassine_node_list(row, "states", NULL);
    for (uint32_t i = 0; s->state != GL_UNPLACED && i < gl_standings_plates(t->standings, stamp); i++) {
        gl_left left = gl_standings_left(t->standings, stamp, i);
        const gl_survey_plate *plate = &t->survey->plates[left.plate];
        for (uint32_t n = 0; n < plate->state_count; n++) {
            if (!(left.states >> n & 1))
                continue;
            glassine_node *one = glassine_node_object(list, NULL, NULL);
            glassine_node_text(one, "state", NULL, glassine_record_id(t->survey->bundle, plate->states[n]));
            glassine_node_text(one, "name", NULL, plate->state_names[n]);
            gl_buf_printf(&names, "%s%.*s", names.length ? ", " : "", GL_SPAN_ARGS(plate->state_names[n]));
        }
    }
    bool told = names.length > 0 && !names.failed;
    glassine_node_text(row, NULL, "of state", told ? gl_buf_span(&names) : GL_NO_SPAN);
    gl_buf_free(&names);
}

static void tell_counts(const telling *t, const gl_standing *s, glassine_node *row) {
    glassine_node_integer(row, "claims", "claims", s->claims);
    glassine_node_integer(row, "blind", t->full && s->blind_claims ? "of these blind" : NULL,
                          s->blind_claims);
    glassine_node_integer(row, "voices", NULL, s->voices);
    glassine_node_integer(row, "independent", t->full && s->voices ? "independent of each other" : NULL,
                          s->independent);
    glassine_node_integer(row, "independent_blind", NULL, s->blind_voices);
}

/* What somebody thinks possible is shown, and binds nothing. */
static glassine_status tell_possible(const telling *t, uint32_t stamp, glassine_node *row,
                                     glassine_error *error) {
    glassine_node *list = glassine_node_list(row, "possible", NULL);
    gl_buf words = GL_BUF_EMPTY;
    glassine_status status = GLASSINE_OK;
    for (uint32_t i = t->first[stamp]; i < t->first[stamp + 1] && !status; i++) {
        const gl_survey_claim *claim = &t->survey->claims[t->possible[i]];
        gl_survey_allowed allowed;
        gl_buf places = GL_BUF_EMPTY;
        status = gl_survey_allow(&t->standings->survey, claim->record, stamp, &allowed, error);
        if (!status && allowed.count)
            gl_tell_allowed(t->survey, allowed.list, allowed.count, &places);
        else if (!status && allowed.fault)
            gl_buf_add_text(&places, allowed.fault);
        glassine_node *one = glassine_node_object(list, NULL, NULL);
        glassine_node_text(one, "claim", NULL, glassine_record_id(t->survey->bundle, claim->record));
        glassine_node_string(one, "by", NULL, gl_survey_name(t->survey, claim->author));
        gl_node_check(one, &places);
        glassine_node_text(one, "says", NULL, gl_buf_span(&places));
        gl_buf_printf(&words, "%s%.*s (%s)", words.length ? "; " : "", GL_SPAN_ARGS(gl_buf_span(&places)),
                      gl_survey_name(t->survey, claim->author));
        gl_buf_free(&places);
    }
    gl_node_check(row, &words);
    if (t->full && words.length && !words.failed)
        glassine_node_text(row, NULL, "thought possible", gl_buf_span(&words));
    gl_buf_free(&words);
    return status;
}

/* ---- disputes ---- */

static void tell_side(const gl_survey *survey, const gl_side *side, uint32_t about, glassine_node *sides,
                      glassine_node *phrases) {
    glassine_node *list = glassine_node_list(sides, NULL, NULL);
    for (uint32_t i = 0; i < side->count; i++) {
        const gl_source *source = &survey->sources[side->statements[i]];
        gl_buf words = GL_BUF_EMPTY;
        gl_tell_statement(survey, side->statements[i], about, &words);
        glassine_node *one = glassine_node_object(list, NULL, NULL);
        glassine_node_text(one, "record", NULL, glassine_record_id(survey->bundle, source->record));
        glassine_node_text(one, "says", NULL, gl_buf_span(&words));
        glassine_node_text(phrases, NULL, NULL, gl_buf_span(&words));
        gl_buf_free(&words);
    }
}

static void tell_group(const telling *t, const gl_group *group, uint32_t about, glassine_node *groups,
                       glassine_node *row) {
    const gl_survey *survey = t->survey;
    glassine_node *one = glassine_node_object(groups, NULL, NULL),
                  *sides = glassine_node_list(one, "sides", NULL);
    glassine_node *ties = glassine_node_list(one, "ties", NULL);
    glassine_node *phrases = t->full ? glassine_node_list(row, NULL, "cannot all be true") : NULL;
    for (uint32_t i = 0; i < group->side_count; i++)
        tell_side(survey, &group->sides[i], about, sides, phrases);
    for (uint32_t i = 0; i < group->source_count; i++) {
        const gl_tie_source *source = &survey->tie_sources[group->sources[i]];
        gl_buf words = GL_BUF_EMPTY;
        gl_tell_tie(survey, group->sources[i], &words);
        glassine_node *tie = glassine_node_object(ties, NULL, NULL);
        glassine_node_text(tie, "record", NULL,
                           source->match ? glassine_record_id(survey->bundle, source->match) : source->item);
        glassine_node_text(tie, "says", NULL, gl_buf_span(&words));
        glassine_node_text(phrases, NULL, NULL, gl_buf_span(&words));
        gl_buf_free(&words);
    }
}

static void tell_disputes(const telling *t, const gl_standing *s, glassine_node *row) {
    glassine_node *groups = glassine_node_list(row, "cannot_all_be_true", NULL);
    for (uint32_t i = 0; i < s->group_count; i++)
        tell_group(t, &s->groups[i], s->stamp, groups, row);
    glassine_node_truth(row, "groups_complete", NULL, s->groups_complete);
    if (t->full && !s->groups_complete)
        glassine_node_string(row, NULL, "and perhaps", "other groups: not all combinations were tried");
    glassine_node *minds = glassine_node_list(row, "in_two_minds", NULL);
    for (uint32_t i = 0; i < s->in_two_minds_count; i++)
        glassine_node_string(minds, NULL, NULL, gl_survey_name(t->survey, s->in_two_minds[i]));
    glassine_node *idle =
        glassine_node_list(row, "do_not_count", t->full && s->idle_count ? "does not count" : NULL);
    for (uint32_t i = 0; i < s->idle_count; i++) {
        gl_buf words = GL_BUF_EMPTY;
        gl_tell_statement(t->survey, s->idle[i], s->stamp, &words);
        glassine_node_text(idle, NULL, NULL, gl_buf_span(&words));
        gl_buf_free(&words);
    }
}

/* ---- conclusions ---- */

static bool concludes_within(const telling *t, const gl_survey_conclusion *conclusion, uint32_t stamp) {
    if (t->standings->all[stamp].s.candidates == 0)
        return false;
    for (uint32_t i = 0; i < gl_standings_plates(t->standings, stamp); i++) {
        gl_left left = gl_standings_left(t->standings, stamp, i);
        for (uint32_t j = 0; j < conclusion->allowed_count && left.count; j++) {
            const gl_allowance *allowed = &conclusion->allowed[j];
            if (allowed->plate == left.plate && (!allowed->positions || !left.positions ||
                                                 gl_posset_meets(allowed->positions, left.positions)))
                return true;
        }
    }
    return false;
}

static void tell_conclusions(const telling *t, uint32_t stamp, glassine_node *row) {
    const glassine_standings *all = t->standings;
    glassine_node *list = glassine_node_list(row, "conclusions", NULL);
    gl_buf words = GL_BUF_EMPTY;
    for (uint32_t i = all->conclusion_first[stamp]; i < all->conclusion_first[stamp + 1]; i++) {
        const gl_survey_conclusion *conclusion = &t->survey->conclusions[all->conclusions[i]];
        gl_buf places = GL_BUF_EMPTY;
        gl_tell_allowed(t->survey, conclusion->allowed, conclusion->allowed_count, &places);
        glassine_node *one = glassine_node_object(list, NULL, NULL);
        glassine_node_text(one, "conclusion", NULL,
                           glassine_record_id(t->survey->bundle, conclusion->record));
        glassine_node_string(one, "by", NULL, gl_survey_name(t->survey, conclusion->author));
        gl_node_check(one, &places);
        glassine_node_text(one, "says", NULL, gl_buf_span(&places));
        glassine_node_truth(one, "agrees", NULL, concludes_within(t, conclusion, stamp));
        gl_buf_printf(&words, "%s%.*s (%s)", words.length ? "; " : "", GL_SPAN_ARGS(gl_buf_span(&places)),
                      gl_survey_name(t->survey, conclusion->author));
        gl_buf_free(&places);
    }
    glassine_node_text(row, NULL, "concluded",
                       words.length && !words.failed ? gl_buf_span(&words)
                       : t->full                     ? GL_NO_SPAN
                                                     : GL_SPAN(""));
    gl_buf_free(&words);
}

/* ---- rows ---- */

static glassine_status tell_stamp(const telling *t, uint32_t stamp, glassine_node *list,
                                  glassine_error *error) {
    const gl_standing *s = &t->standings->all[stamp].s;
    glassine_record *record = t->survey->stamps[stamp].record;
    glassine_node *row = glassine_node_object(list, NULL, NULL);
    const char *where = glassine_standings_shown(t->standings, stamp, t->full ? 0 : NUMBERS_IN_TABLE);
    if (!where)
        return gl_fail_memory(error);
    if (!t->full && s->place == GL_UNPLACED)
        where = ""; /* every plate of the design, at length */
    glassine_node_text(row, "stamp", NULL, glassine_record_id(t->survey->bundle, record));
    glassine_node_text(row, "label", "stamp", gl_tell_label(t->survey, record));
    glassine_node_string(row, "standing", "standing", gl_standing_name(s->place));
    glassine_node_integer(row, "count", NULL, s->candidates);
    glassine_node_string(row, "shown", *where || !t->full ? "where" : NULL, where);
    tell_candidates(t, stamp, row);
    tell_places(t, stamp, row);
    tell_state(t, stamp, row);
    tell_counts(t, s, row);
    glassine_status status = tell_possible(t, stamp, row, error);
    if (status)
        return status;
    tell_disputes(t, s, row);
    tell_conclusions(t, stamp, row);
    return GLASSINE_OK;
}

static glassine_status tell_all(const telling *t, glassine_report *report, glassine_error *error) {
    glassine_node *list = glassine_report_result_list(report, NULL, true);
    glassine_status status = GLASSINE_OK;
    for (uint32_t i = 0; i < t->survey->stamp_count && !status; i++)
        status = tell_stamp(t, i, list, error);
    return status;
}

static glassine_status tell_some(const telling *t, glassine_record *const *stamps, size_t count,
                                 glassine_report *report, glassine_error *error) {
    glassine_node *list = glassine_report_result_list(report, NULL, false);
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i++) {
        size_t number = glassine_standings_find(t->standings, stamps[i]);
        status = number == SIZE_MAX
                     ? gl_fail(error, GLASSINE_REFUSED, NULL, gl_tell_label(t->survey, stamps[i]).text,
                               "it or its item is set aside, so nothing is worked out for it")
                     : tell_stamp(t, (uint32_t)number, list, error);
    }
    return status;
}

glassine_status glassine_standing(glassine_bundle *bundle, glassine_record *const *stamps, size_t count,
                                  glassine_report *report, glassine_error *error) {
    glassine_standings *standings;
    glassine_status status = glassine_standings_new(bundle, report, &standings, error);
    if (status)
        return status;
    telling t = {.standings = standings, .survey = &standings->survey, .full = stamps != NULL};
    status = !sort_possible(&t) ? gl_fail_memory(error)
             : stamps           ? tell_some(&t, stamps, count, report, error)
                                : tell_all(&t, report, error);
    free(t.first);
    free(t.possible);
    glassine_standings_free(standings);
    return gl_bundle_end(bundle, report, status, error);
}
