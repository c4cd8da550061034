/* The report on where a stamp may come from, by what was seen on it. */
#include <math.h>
#include <stdlib.h>

#include "base/error.h"
#include "plating/dates.h"
#include "plating/locate.h"
#include "plating/standings.h"
#include "report/report.h"

#define PLACES_TOLD 10u
#define WEIGHT_TOLD 0.00005 /* 0.0001 when rounded */
#define REASONED 3u         /* places whose reasons text shows */
#define LEADING_SHARE 0.95  /* of the weight: the places that are compared */
#define LEADING_MOST 20u

typedef struct locating {
    gl_survey *survey;
    const glassine_locate_options *options;
    glassine_standings *standings; /* with_claims; else NULL */
    glassine_ranking ranking;
    uint32_t stamp;
    gl_sight sight;
    const gl_survey_observation *seen;
    uint32_t *plates; /* of the question -> of the survey */
    gl_ranked_plate *ranked;
    uint32_t plate_count;
    gl_known_mark *marks;
    uint32_t *mark_of; /* of the question -> of the survey */
    uint32_t mark_count;
    gl_locate_question question;
    gl_locate found;
} locating;

/* ---- the question ---- */

static glassine_status look_at_stamp(locating *l, glassine_error *error) {
    uint32_t count;
    l->seen = gl_survey_seen_on(l->survey, l->stamp, &count);
    gl_observation *all = calloc((size_t)count + 1, sizeof *all);
    if (!all)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < count; i++)
        all[i] = l->seen[i].seen;
    glassine_status status = gl_sight_make(all, count, l->ranking.together, &l->sight, error);
    free(all);
    return status;
}

/* Was the stamp posted certainly before the state began? It may have been used late, never early. */
static bool too_early(const locating *l, glassine_record *state) {
    gl_date from;
    gl_span text = gl_survey_text(l->survey, state, "from");
    if (!text.text || !gl_edtf_parse(text, &from, NULL, NULL) || from.uncertain || from.approximate)
        return false;
    uint32_t count;
    const gl_survey_date *dates = gl_survey_dated(l->survey, l->stamp, &count);
    for (uint32_t i = 0; i < count; i++) {
        const gl_dated dated = {dates[i].date, gl_date_proven(&dates[i].date, dates[i].dated_by)};
        if (gl_date_earlier(&dated, &from) == GL_EARLIER)
            return true;
    }
    return false;
}

static glassine_status within_of(const locating *l, uint32_t plate, const gl_posset **within, bool *fits,
                                 const char **fault, glassine_error *error) {
    *within = NULL;
    *fits = true;
    if (!l->options->within)
        return GLASSINE_OK;
    const gl_posset *set;
    uint32_t state;
    glassine_status status =
        gl_survey_expression(l->survey, plate, gl_span_of(l->options->within), &set, &state, fault, error);
    *fits = !status && set;
    if (!*fits)
        return status;
    gl_posset *copy = GL_ARENA_NEW(l->survey->arena, gl_posset);
    if (!copy)
        return gl_fail_memory(error);
    *copy = *set;
    *within = copy;
    return GLASSINE_OK;
}

/* Of `within` (NULL: all), the positions of the plate that the stamp's standing leaves. */
static glassine_status leave_claimed(const locating *l, uint32_t plate, const gl_posset **within, bool *fits,
                                     glassine_error *error) {
    const gl_survey_plate *from = &l->survey->plates[plate];
    size_t index = glassine_standings_find(l->standings, l->survey->stamps[l->stamp].record);
    *fits = false;
    for (uint32_t i = 0; index != SIZE_MAX && i < gl_standings_plates(l->standings, (uint32_t)index); i++) {
        gl_left left = gl_standings_left(l->standings, (uint32_t)index, i);
        if (left.count == 0 || l->standings->survey.plates[left.plate].record != from->record)
            continue;
        *fits = true;
        if (!left.positions)
            return GLASSINE_OK;
        size_t words = ((size_t)left.positions->size + 63) / 64;
        gl_posset *both = GL_ARENA_NEW(l->survey->arena, gl_posset);
        uint64_t *bits = GL_ARENA_ARRAY(l->survey->arena, uint64_t, words + 1);
        if (!both || !bits)
            return gl_fail_memory(error);
        *both = (gl_posset){bits, left.positions->size};
        gl_posset_assign(both, left.positions);
        if (*within)
            gl_posset_and(both, *within);
        *fits = !gl_posset_empty(both);
        *within = both;
        return GLASSINE_OK;
    }
    return GLASSINE_OK;
}

static glassine_status add_plate(locating *l, uint32_t plate, const char **fault, glassine_error *error) {
    const gl_survey_plate *from = &l->survey->plates[plate];
    const gl_posset *within;
    bool fits, *begun = GL_ARENA_ARRAY(l->survey->arena, bool, (size_t)from->state_count + 1);
    if (!begun)
        return gl_fail_memory(error);
    glassine_status status = within_of(l, plate, &within, &fits, fault, error);
    if (!status && fits && l->standings)
        status = leave_claimed(l, plate, &within, &fits, error);
    if (status || !fits)
        return status;
    for (uint32_t i = 0; i < from->state_count; i++)
        begun[i] = !too_early(l, from->states[i]);
    l->plates[l->plate_count] = plate;
    l->ranked[l->plate_count++] = (gl_ranked_plate){.plan = from->plan,
                                                    .within = within,
                                                    .states = from->state_count ? from->state_count : 1,
                                                    .begun = from->state_count ? begun : NULL,
                                                    .pitch_x = from->pitch_x,
                                                    .pitch_y = from->pitch_y};
    return GLASSINE_OK;
}

static glassine_status choose_plates(locating *l, glassine_error *error) {
    const gl_survey_design *design = gl_survey_plates_of(l->survey, l->stamp);
    uint32_t only = GL_NONE;
    const char *fault = NULL;
    if (l->options->plate)
        only = gl_map_find(l->survey->plate_of, gl_survey_id(l->survey, l->options->plate));
    if (l->options->plate && only == GL_NONE)
        return gl_survey_no_plate(l->survey, l->options->plate, error);
    l->plates = GL_ARENA_ARRAY(l->survey->arena, uint32_t, (size_t)design->count + 1);
    l->ranked = GL_ARENA_ARRAY(l->survey->arena, gl_ranked_plate, (size_t)design->count + 1);
    if (!l->plates || !l->ranked)
        return gl_fail_memory(error);
    glassine_status status = only != GL_NONE ? add_plate(l, only, &fault, error) : GLASSINE_OK;
    for (uint32_t i = 0; i < design->count && only == GL_NONE && !status; i++)
        status = add_plate(l, design->plates[i], &fault, error);
    if (!status && l->plate_count == 0 && fault)
        return gl_fail(error, GLASSINE_REFUSED, NULL, NULL, "%s", fault);
    return status;
}

static glassine_status choose_marks(locating *l, glassine_error *error) {
    const gl_survey *survey = l->survey;
    l->marks = GL_ARENA_ARRAY(survey->arena, gl_known_mark, (size_t)survey->mark_count + 1);
    l->mark_of = GL_ARENA_ARRAY(survey->arena, uint32_t, (size_t)survey->mark_count + 1);
    if (!l->marks || !l->mark_of)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < survey->mark_count; i++) {
        const gl_survey_mark *mark = &survey->marks[i];
        for (uint32_t p = 0; p < l->plate_count && mark->positions; p++) {
            if (l->plates[p] != mark->plate)
                continue;
            l->mark_of[l->mark_count] = i;
            l->marks[l->mark_count++] = (gl_known_mark){p,
                                                        mark->positions,
                                                        mark->first_state,
                                                        mark->last_state,
                                                        mark->appearance,
                                                        mark->re_entry,
                                                        mark->spot,
                                                        mark->spread,
                                                        mark->visibility};
        }
    }
    l->question =
        (gl_locate_question){&l->ranking, &l->sight, l->ranked, l->plate_count, l->marks, l->mark_count};
    return GLASSINE_OK;
}

/* ---- words ---- */

static void tell_spot(gl_spot spot, gl_buf *out) {
    if (spot.known)
        gl_buf_printf(out, " at %.0f, %.0f", spot.x, spot.y);
}

/* Appearances are told with spaces: "guide line". */
static void tell_appearance(const gl_survey *survey, glassine_record *record, gl_buf *out) {
    gl_span name = glassine_record_text(survey->bundle, record, "appearance");
    for (size_t i = 0; i < name.length; i++)
        gl_buf_add_char(out, name.text[i] == '_' ? ' ' : name.text[i]);
    if (!name.length)
        gl_buf_add_text(out, "something");
}

static void tell_thing(const locating *l, uint32_t thing, gl_buf *out) {
    const gl_seen *seen = &l->sight.things[thing];
    tell_appearance(l->survey, l->seen[seen->members[0]].record, out);
    tell_spot(seen->spot, out);
    if (seen->member_count > 1)
        gl_buf_printf(out, " (%u people)", seen->member_count);
}

static void tell_mark(const locating *l, const gl_shown_mark *mark, gl_buf *out) {
    glassine_record *record = l->survey->marks[l->mark_of[mark->mark]].record;
    gl_span name = glassine_record_text(l->survey->bundle, record, "name");
    if (name.length)
        gl_buf_printf(out, "%.*s, ", GL_SPAN_ARGS(name));
    tell_appearance(l->survey, record, out);
    tell_spot(mark->spot, out);
    if (mark->down || mark->across)
        gl_buf_add_text(out, ", of the neighbour");
}

/* ---- reasons ---- */

typedef struct reasons {
    const locating *l;
    glassine_node *list, *phrases; /* phrases NULL: JSON alone */
} reasons;

static glassine_node *add_reason(const reasons *r, bool supports, double log_factor, const gl_buf *words) {
    glassine_node *one = glassine_node_object(r->list, NULL, NULL);
    gl_node_check(one, words);
    glassine_node_truth(one, "supports", NULL, supports);
    glassine_node_real(one, "factor", NULL, exp(log_factor), 4);
    glassine_node_text(one, "says", NULL, gl_buf_span(words));
    glassine_node_format(r->phrases, NULL, NULL, "%s %.*s", supports ? "+" : "-",
                         GL_SPAN_ARGS(gl_buf_span(words)));
    return one;
}

static void name_mark(const locating *l, const gl_shown_mark *mark, glassine_node *one) {
    glassine_record *record = l->survey->marks[l->mark_of[mark->mark]].record;
    glassine_node_text(one, "mark", NULL, glassine_record_id(l->survey->bundle, record));
}

static void name_observations(const locating *l, uint32_t thing, glassine_node *one) {
    glassine_node *list = glassine_node_list(one, "observations", NULL);
    const gl_seen *seen = &l->sight.things[thing];
    for (uint32_t i = 0; i < seen->member_count; i++)
        glassine_node_text(list, NULL, NULL,
                           glassine_record_id(l->survey->bundle, l->seen[seen->members[i]].record));
}

/* Is a re-entry of the place met, so that what is left over may be another trace of it? */
static bool meets_re_entry(const gl_explanation *why, const gl_shown_list *shown) {
    for (uint32_t i = 0; i < shown->count; i++)
        if (shown->marks[i].re_entry && why->verdict[i] == GL_MARK_MET)
            return true;
    return false;
}

static void reason_of_thing(const reasons *r, const gl_explanation *why, const gl_shown_list *shown,
                            uint32_t thing) {
    const locating *l = r->l;
    if (l->sight.things[thing].presence != GL_PRESENT)
        return;
    gl_buf words = GL_BUF_EMPTY;
    uint32_t met = why->mark_of[thing];
    const gl_shown_mark *mark = met == GL_NONE ? NULL : &shown->marks[met];
    bool trace = !mark && l->sight.things[thing].trace && meets_re_entry(why, shown);
    tell_thing(l, thing, &words);
    gl_buf_add_text(&words, mark    ? " meets "
                            : trace ? " is a trace of a re-entry that was met"
                                    : " meets nothing known there");
    double distance = -1;
    if (mark) {
        tell_mark(l, mark, &words);
        if (mark->spot.known && l->sight.things[thing].spot.known) {
            distance = gl_spot_distance(mark->spot, l->sight.things[thing].spot);
            gl_buf_printf(&words, ", %.0f off", distance);
        }
    }
    glassine_node *one = add_reason(r, mark || trace, why->log_seen[thing], &words);
    name_observations(l, thing, one);
    if (mark)
        name_mark(l, mark, one);
    if (distance >= 0)
        glassine_node_real(one, "distance", NULL, distance, 1);
    gl_buf_free(&words);
}

static void reason_of_mark(const reasons *r, const gl_explanation *why, const gl_shown_list *shown,
                           uint32_t mark) {
    static const char *const left[] = {[GL_MARK_DENIED] = " is said not to be there",
                                       [GL_MARK_UNCLEAR] = " could not be seen",
                                       [GL_MARK_SILENT] = ": nobody spoke of it"};
    if (why->verdict[mark] == GL_MARK_MET)
        return;
    gl_buf words = GL_BUF_EMPTY;
    tell_mark(r->l, &shown->marks[mark], &words);
    gl_buf_add_text(&words, left[why->verdict[mark]]);
    name_mark(r->l, &shown->marks[mark], add_reason(r, false, why->log_mark[mark], &words));
    gl_buf_free(&words);
}

static glassine_status tell_reasons(const locating *l, gl_ranker *ranker, const gl_ranked_place *place,
                                    gl_shown_list *shown, glassine_node *list, glassine_node *phrases,
                                    glassine_error *error) {
    const gl_explanation *why = NULL;
    if (gl_locate_shown(&l->question, place->plate, place->position, place->state, shown))
        why = gl_rank(ranker, shown->marks, shown->count);
    if (!why)
        return gl_fail_memory(error);
    reasons r = {l, list, phrases};
    for (uint32_t i = 0; i < l->sight.count; i++)
        reason_of_thing(&r, why, shown, i);
    for (uint32_t i = 0; i < shown->count; i++)
        reason_of_mark(&r, why, shown, i);
    return GLASSINE_OK;
}

/* ---- places ---- */

static void place_words(const locating *l, const gl_ranked_place *place, gl_buf *out) {
    const gl_survey_plate *plate = &l->survey->plates[l->plates[place->plate]];
    gl_tell_plate(l->survey, l->plates[place->plate], out);
    gl_buf_add_text(out, ", ");
    gl_plan_add_number(plate->plan, place->position, out);
    if (plate->state_count)
        gl_buf_printf(out, ", %.*s", GL_SPAN_ARGS(plate->state_names[place->state]));
}

/* A row of the list that programs read, and of the table that people read (NULL: not in it). */
static glassine_node *place_row(const locating *l, const gl_ranked_place *from, glassine_node *list,
                                glassine_node *table) {
    const gl_survey_plate *plate = &l->survey->plates[l->plates[from->plate]];
    glassine_place place = gl_plan_place(plate->plan, from->position);
    gl_buf number = GL_BUF_EMPTY;
    gl_plan_add_number(plate->plan, from->position, &number);
    glassine_node *row = glassine_node_object(list, NULL, NULL);
    glassine_node *told = table ? glassine_node_object(table, NULL, NULL) : NULL;
    gl_span label = gl_tell_label(l->survey, plate->record);
    gl_node_check(list, &number);
    glassine_node_text(row, "plate", NULL, glassine_record_id(l->survey->bundle, plate->record));
    glassine_node_text(row, "label", NULL, label);
    glassine_node_integer(row, "position", NULL, place.number);
    glassine_node_text(told, NULL, "plate", label);
    glassine_node_text(told, NULL, "position", gl_buf_span(&number));
    if (place.pane_name)
        glassine_node_string(row, "pane", NULL, place.pane_name);
    bool stated = plate->state_count > 0;
    glassine_node_text(row, "state", NULL,
                       stated ? glassine_record_id(l->survey->bundle, plate->states[from->state])
                              : GL_NO_SPAN);
    gl_span state = stated ? plate->state_names[from->state] : GL_SPAN("");
    glassine_node_text(row, "state_name", NULL, state);
    glassine_node_real(row, "weight", NULL, from->weight, 4);
    glassine_node_text(told, NULL, "state", state);
    glassine_node_real(told, NULL, "weight", from->weight, 4);
    gl_buf_free(&number);
    return row;
}

/* People are spared what would read as a weight of 0, unless they ask for so many places. */
static bool is_told(const locating *l, const gl_ranked_place *place) {
    return l->options->most || place->weight >= fmin(WEIGHT_TOLD, l->found.places[0].weight);
}

static glassine_status tell_places(const locating *l, glassine_node *result, glassine_error *error) {
    uint32_t most = l->options->most ? l->options->most : PLACES_TOLD;
    glassine_node *all = glassine_node_list(result, "places", NULL);
    glassine_node *table = glassine_node_table(result, NULL, "Places");
    gl_ranker *ranker = gl_ranker_new(&l->ranking, &l->sight, gl_locate_pairs(&l->question));
    gl_shown_list shown = {NULL, 0, 0};
    glassine_status status = ranker ? GLASSINE_OK : gl_fail_memory(error);
    for (uint32_t i = 0; i < l->found.count && i < most && !status; i++) {
        const gl_ranked_place *place = &l->found.places[i];
        bool told = is_told(l, place);
        gl_buf title = GL_BUF_EMPTY;
        place_words(l, place, &title);
        glassine_node *list =
            glassine_node_list(place_row(l, place, all, told ? table : NULL), "reasons", NULL);
        gl_node_check(result, &title);
        bool reasoned = told && i < REASONED && !title.failed;
        glassine_node *phrases = reasoned ? glassine_node_list(result, NULL, title.text) : NULL;
        status = tell_reasons(l, ranker, place, &shown, list, phrases, error);
        gl_buf_free(&title);
    }
    gl_ranker_free(ranker);
    free(shown.marks);
    return status;
}

static bool says_nothing(const locating *l, const bool *separates, uint32_t thing) {
    return !separates[thing] && l->sight.things[thing].presence == GL_PRESENT;
}

/* What was seen alike at all leading places does not help to choose between them. */
static glassine_status tell_separation(const locating *l, glassine_node *result, glassine_error *error) {
    uint32_t leading = gl_locate_leading(&l->found, LEADING_SHARE, LEADING_MOST), idle = 0;
    bool *separates = calloc((size_t)l->sight.count + 1, sizeof *separates);
    if (!separates)
        return gl_fail_memory(error);
    glassine_status status = gl_locate_separates(&l->question, &l->found, leading, separates, error);
    for (uint32_t i = 0; i < l->sight.count && leading > 1; i++)
        idle += says_nothing(l, separates, i);
    glassine_node *list = glassine_node_list(result, "does_not_separate",
                                             idle ? "says nothing between the leading places" : NULL);
    for (uint32_t i = 0; i < l->sight.count && idle; i++) {
        if (!says_nothing(l, separates, i))
            continue;
        gl_buf words = GL_BUF_EMPTY;
        tell_thing(l, i, &words);
        gl_node_buf(list, NULL, NULL, &words);
    }
    free(separates);
    return status;
}

static glassine_status tell_next_look(const locating *l, glassine_node *result, glassine_error *error) {
    gl_look look;
    glassine_status status = gl_locate_next(&l->question, &l->found, &look, error);
    if (status || look.mark == GL_NONE)
        return status;
    const gl_shown_mark mark = {
        .mark = look.mark, .spot = look.spot, .down = look.down, .across = look.across};
    gl_buf words = GL_BUF_EMPTY;
    tell_mark(l, &mark, &words);
    glassine_node *next = glassine_node_object(result, "look_next", NULL);
    name_mark(l, &mark, next);
    gl_node_check(next, &words);
    glassine_node_text(next, "says", NULL, gl_buf_span(&words));
    glassine_node_real(next, "bits", NULL, look.bits, 3);
    glassine_node_real(next, "weight", NULL, look.weight, 3);
    glassine_node_text(result, NULL, "look next for", gl_buf_span(&words));
    gl_buf_free(&words);
    return GLASSINE_OK;
}

static void tell_findings(const locating *l, glassine_report *report, const char *label) {
    if (l->found.count == 0 && l->found.states_out)
        glassine_report_finding(report, GLASSINE_WARNING, NULL, label,
                                "Look at its date, and at when the states began",
                                "no place is left: it was posted before every state of the plates began");
    else if (l->found.count == 0)
        glassine_report_finding(report, GLASSINE_WARNING, NULL, label, NULL, "no plate comes in question");
    else if (l->found.states_out)
        glassine_report_finding(report, GLASSINE_NOTE, NULL, label, NULL,
                                "%u state%s of the plates ruled out: it was posted before",
                                l->found.states_out, l->found.states_out == 1 ? "" : "s");
    if (l->found.count && l->sight.count == 0)
        glassine_report_finding(
            report, GLASSINE_NOTE, NULL, label, "say what you see with `glassine observe`",
            "nothing was observed on it, so that nothing but the known marks' silence counts");
}

static glassine_status report_it(locating *l, glassine_report *report, glassine_error *error) {
    glassine_record *record = l->survey->stamps[l->stamp].record;
    glassine_node *result = glassine_report_result(report);
    glassine_node_text(result, "stamp", NULL, glassine_record_id(l->survey->bundle, record));
    glassine_node_text(result, "label", "stamp", gl_tell_label(l->survey, record));
    glassine_node_integer(result, "places_in_all", NULL, l->found.count);
    glassine_node_integer(result, "states_ruled_out", NULL, l->found.states_out);
    tell_findings(l, report, gl_tell_label(l->survey, record).text);
    glassine_status status = tell_places(l, result, error);
    if (!status)
        status = tell_separation(l, result, error);
    return status ? status : tell_next_look(l, result, error);
}

glassine_status glassine_locate(glassine_bundle *bundle, glassine_record *stamp,
                                const glassine_locate_options *options, glassine_report *report,
                                glassine_error *error) {
    gl_survey survey;
    const glassine_locate_options none = {0};
    locating l = {.survey = &survey, .options = options ? options : &none};
    l.ranking = l.options->ranking ? *l.options->ranking : glassine_ranking_default();
    glassine_status status = gl_ranking_check(&l.ranking, error);
    if (!status)
        status = gl_survey_make(bundle, NULL, report, NULL, &survey, error);
    if (status)
        return status;
    l.stamp = gl_survey_stamp_of(&survey, stamp);
    if (l.stamp == GL_NONE)
        status = gl_fail(error, GLASSINE_REFUSED, NULL, gl_tell_label(&survey, stamp).text,
                         "it or its item is set aside, so nothing is worked out for it");
    if (!status && l.options->with_claims)
        status = glassine_standings_new(bundle, NULL, &l.standings, error);
    if (!status)
        status = look_at_stamp(&l, error);
    if (!status)
        status = choose_plates(&l, error);
    if (!status)
        status = choose_marks(&l, error);
    if (!status)
        status = gl_locate_make(&l.question, &l.found, error);
    if (!status)
        status = report_it(&l, report, error);
    gl_locate_free(&l.found);
    gl_sight_free(&l.sight);
    glassine_standings_free(l.standings);
    gl_survey_free(&survey);
    return gl_bundle_end(bundle, report, status, error);
}
