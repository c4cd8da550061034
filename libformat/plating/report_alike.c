/* The report on stamps that show the same marks: they may come from one position, placed or not. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/alike.h"
#include "plating/standings.h"

#define STAMPS_TOLD 20u

/* Another stamp that shows something of the same. */
typedef struct likeness {
    uint32_t stamp;
    gl_alike alike;
    gl_sight sight;
} likeness;

typedef struct comparing {
    glassine_standings *standings;
    const gl_survey *survey;
    glassine_ranking ranking;
    uint32_t stamp, most;
    gl_sight sight;
    likeness *found;
    size_t count, room;
} comparing;

static glassine_status sight_of(const comparing *c, uint32_t stamp, gl_sight *sight, glassine_error *error) {
    uint32_t count;
    const gl_survey_observation *seen = gl_survey_seen_on(c->survey, stamp, &count);
    gl_observation *all = calloc((size_t)count + 1, sizeof *all);
    if (!all)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < count; i++)
        all[i] = seen[i].seen;
    glassine_status status = gl_sight_make(all, count, c->ranking.together, sight, error);
    free(all);
    return status;
}

static void likeness_free(likeness *of) {
    gl_alike_free(&of->alike);
    gl_sight_free(&of->sight);
}

/* Stamps of another design cannot come from the same plate. */
static bool of_one_design(const gl_survey *survey, uint32_t a, uint32_t b) {
    uint32_t one = survey->stamps[a].design, other = survey->stamps[b].design;
    return one == GL_NONE || other == GL_NONE || one == other;
}

static glassine_status compare_with(comparing *c, uint32_t stamp, glassine_error *error) {
    likeness other = {.stamp = stamp};
    if (stamp == c->stamp || !of_one_design(c->survey, c->stamp, stamp))
        return GLASSINE_OK;
    glassine_status status = sight_of(c, stamp, &other.sight, error);
    if (!status && !gl_alike_compare(&c->ranking, &c->sight, &other.sight, &other.alike))
        status = gl_fail_memory(error);
    likeness *moved = NULL;
    if (!status && other.alike.pair_count > 0) {
        moved = gl_grow(c->found, &c->room, c->count + 1, sizeof *moved);
        status = moved ? GLASSINE_OK : gl_fail_memory(error);
    }
    if (!moved) {
        likeness_free(&other);
        return status;
    }
    c->found = moved;
    c->found[c->count++] = other;
    return GLASSINE_OK;
}

/* Only stamps on which something was observed are looked at, each once. */
static glassine_status compare_all(comparing *c, glassine_error *error) {
    glassine_status status = sight_of(c, c->stamp, &c->sight, error);
    uint32_t last = GL_NONE;
    for (uint32_t i = 0; i < c->survey->observation_count && !status; i++) {
        uint32_t stamp = c->survey->observations[i].stamp;
        if (stamp != last)
            status = compare_with(c, stamp, error);
        last = stamp;
    }
    return status;
}

static int likeness_order(const void *left, const void *right) {
    const likeness *a = left, *b = right;
    if (a->alike.score != b->alike.score)
        return a->alike.score > b->alike.score ? -1 : 1;
    return a->stamp < b->stamp ? -1 : a->stamp > b->stamp;
}

/* ---- telling ---- */

static void tell_thing(const comparing *c, uint32_t thing, glassine_node *row) {
    uint32_t count;
    const gl_survey_observation *seen = gl_survey_seen_on(c->survey, c->stamp, &count);
    const gl_seen *what = &c->sight.things[thing];
    gl_span name = glassine_record_text(c->survey->bundle, seen[what->members[0]].record, "appearance");
    glassine_node_text(row, "appearance", "seen", name.text ? name : GL_SPAN("other"));
    if (what->spot.known) {
        glassine_node_real(row, "x", "x", what->spot.x, 0);
        glassine_node_real(row, "y", "y", what->spot.y, 0);
    }
}

/* A place that is known counts once, however many stamps stand there. */
static uint32_t known_places(const comparing *c, uint32_t thing) {
    uint32_t places = 0;
    for (size_t i = 0; i < c->count; i++) {
        const gl_standing *s = &c->standings->all[c->found[i].stamp].s;
        bool shows = false, told = s->candidates != 1;
        for (uint32_t p = 0; p < c->found[i].alike.pair_count; p++)
            shows |= c->found[i].alike.pairs[p].thing == thing;
        for (size_t j = 0; j < i && !told; j++) {
            const gl_standing *other = &c->standings->all[c->found[j].stamp].s;
            for (uint32_t p = 0; p < c->found[j].alike.pair_count; p++)
                told |= c->found[j].alike.pairs[p].thing == thing && other->candidates == 1 &&
                        other->plate == s->plate && other->position == s->position;
        }
        places += shows && !told;
    }
    return places;
}

/* One occurrence may be ink or dust; seen on several copies it is constant. At several known positions it is
 * of the die or the relief. */
static void tell_constancy(const comparing *c, glassine_node *result) {
    glassine_node *table = glassine_node_table(result, "marks", "What was seen");
    for (uint32_t thing = 0; thing < c->sight.count; thing++) {
        if (c->sight.things[thing].presence != GL_PRESENT)
            continue;
        uint32_t copies = 1;
        for (size_t i = 0; i < c->count; i++)
            for (uint32_t p = 0; p < c->found[i].alike.pair_count; p++)
                copies += c->found[i].alike.pairs[p].thing == thing;
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        tell_thing(c, thing, row);
        glassine_node_integer(row, "copies", "copies", copies);
        glassine_node_integer(row, "known_places", "known positions", known_places(c, thing));
        glassine_node_truth(row, "constant", "constant", copies > 1);
    }
}

static void tell_pairs(const likeness *other, glassine_node *row) {
    glassine_node *list = glassine_node_list(row, "pairs", NULL);
    for (uint32_t i = 0; i < other->alike.pair_count; i++) {
        const gl_alike_pair *pair = &other->alike.pairs[i];
        glassine_node *one = glassine_node_object(list, NULL, NULL);
        glassine_node_integer(one, "mark", NULL,
                              pair->thing); /* its place among "marks" of all things seen */
        if (pair->distance >= 0)
            glassine_node_real(one, "distance", NULL, pair->distance, 1);
    }
}

static glassine_status tell_stamps(const comparing *c, glassine_node *result, glassine_error *error) {
    glassine_node *table = glassine_node_table(result, "alike", "Stamps that show the same");
    for (size_t i = 0; i < c->count && i < c->most; i++) {
        const likeness *other = &c->found[i];
        glassine_record *record = c->survey->stamps[other->stamp].record;
        const gl_standing *s = &c->standings->all[other->stamp].s;
        const char *where = glassine_standings_shown(c->standings, other->stamp, 3);
        if (!where)
            return gl_fail_memory(error);
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        glassine_node_text(row, "stamp", NULL, glassine_record_id(c->survey->bundle, record));
        glassine_node_text(row, "label", "stamp", gl_tell_label(c->survey, record));
        glassine_node_real(row, "score", "score", other->alike.score, 2);
        glassine_node_integer(row, "shared", "marks shared", other->alike.pair_count);
        glassine_node_integer(row, "against", "against", other->alike.against);
        glassine_node_string(row, "standing", "standing", gl_standing_name(s->place));
        glassine_node_string(row, "shown", "where", s->place == GL_UNPLACED ? "" : where);
        tell_pairs(other, row);
    }
    return GLASSINE_OK;
}

static glassine_status report_it(const comparing *c, glassine_report *report, glassine_error *error) {
    glassine_record *record = c->survey->stamps[c->stamp].record;
    glassine_node *result = glassine_report_result(report);
    glassine_node_text(result, "stamp", NULL, glassine_record_id(c->survey->bundle, record));
    glassine_node_text(result, "label", "stamp", gl_tell_label(c->survey, record));
    if (c->sight.count == 0)
        glassine_report_finding(report, GLASSINE_NOTE, NULL, gl_tell_label(c->survey, record).text,
                                "say what you see with `glassine observe`", "nothing was observed on it");
    tell_constancy(c, result);
    return tell_stamps(c, result, error);
}

glassine_status glassine_alike(glassine_bundle *bundle, glassine_record *stamp,
                               const glassine_ranking *ranking, uint32_t most, glassine_report *report,
                               glassine_error *error) {
    comparing c = {.most = most ? most : STAMPS_TOLD};
    c.ranking = ranking ? *ranking : glassine_ranking_default();
    glassine_status status = gl_ranking_check(&c.ranking, error);
    if (!status)
        status = glassine_standings_new(bundle, report, &c.standings, error);
    if (status)
        return status;
    c.survey = &c.standings->survey;
    size_t number = glassine_standings_find(c.standings, stamp);
    c.stamp = (uint32_t)number;
    status = number == SIZE_MAX ? gl_fail(error, GLASSINE_REFUSED, NULL, gl_tell_label(c.survey, stamp).text,
                                          "it or its item is set aside, so nothing is worked out for it")
                                : compare_all(&c, error);
    if (!status && c.count)
        qsort(c.found, c.count, sizeof *c.found, likeness_order);
    if (!status)
        status = report_it(&c, report, error);
    for (size_t i = 0; i < c.count; i++)
        likeness_free(&c.found[i]);
    free(c.found);
    gl_sight_free(&c.sight);
    glassine_standings_free(c.standings);
    return gl_bundle_end(bundle, report, status, error);
}
