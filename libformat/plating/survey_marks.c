/* Known marks, and what was observed on stamps. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/survey.h"

/* Appearances by their place in the field's list of choices, so that the table of types alone knows them. */
static uint32_t appearance(gl_survey *survey, glassine_record *record, const char *type) {
    gl_span name = gl_survey_text(survey, record, "appearance");
    const glassine_field_info *field = glassine_type_field(glassine_type_find(type), "appearance");
    for (uint32_t i = 0; name.text && field && field->choices[i]; i++)
        if (gl_span_is(name, field->choices[i]))
            return i;
    return GL_NONE;
}

static gl_spot spot(gl_survey *survey, glassine_record *record) {
    int64_t x, y;
    bool known = gl_survey_integer(survey, record, "x", &x) && gl_survey_integer(survey, record, "y", &y);
    return known ? (gl_spot){true, (double)x, (double)y} : (gl_spot){false, 0, 0};
}

static double whole(gl_survey *survey, glassine_record *record, const char *field) {
    int64_t value;
    return gl_survey_integer(survey, record, field, &value) ? (double)value : -1;
}

static uint32_t state_said(gl_survey *survey, glassine_record *record, const char *field, uint32_t plate,
                           uint32_t otherwise) {
    gl_span id = gl_survey_ref(survey, record, field);
    uint32_t state = id.text ? gl_map_find(survey->state_of, id) : GL_NONE;
    return state == GL_NONE || survey->states[state].plate != plate ? otherwise
                                                                    : survey->states[state].number;
}

static glassine_status mark_positions(gl_survey *survey, gl_survey_mark *mark, glassine_error *error) {
    gl_span text = gl_survey_text(survey, mark->record, "positions");
    const gl_posset *set;
    uint32_t state;
    const char *fault;
    if (!text.text)
        return GLASSINE_OK;
    glassine_status status = gl_survey_expression(survey, mark->plate, text, &set, &state, &fault, error);
    if (status)
        return status;
    if (!set) {
        if (survey->report)
            glassine_report_finding(survey->report, GLASSINE_WARNING, NULL,
                                    glassine_record_label(survey->bundle, mark->record).text, NULL,
                                    "the mark takes no part: %s", fault);
        return GLASSINE_OK;
    }
    gl_posset *copy = GL_ARENA_NEW(survey->arena, gl_posset);
    if (!copy)
        return gl_fail_memory(error);
    *copy = *set;
    mark->positions = copy;
    return GLASSINE_OK;
}

static glassine_status visit_mark(gl_survey *survey, glassine_record *record, glassine_error *error) {
    gl_span id = glassine_record_id(survey->bundle, record), plate = gl_survey_ref(survey, record, "plate");
    uint32_t on = plate.text ? gl_map_find(survey->plate_of, plate) : GL_NONE;
    if (on == GL_NONE || !gl_span_equal(id, gl_survey_id(survey, record)))
        return GLASSINE_OK;
    gl_survey_mark *mark = GL_SURVEY_ADD(survey, marks, mark_count);
    if (!mark || !gl_map_set(survey->mark_of, id, survey->mark_count - 1))
        return gl_fail_memory(error);
    *mark = (gl_survey_mark){.record = record, .plate = on};
    mark->first_state = state_said(survey, record, "first_state", on, 0);
    mark->last_state = state_said(survey, record, "last_state", on, GL_NONE);
    mark->appearance = appearance(survey, record, "mark");
    mark->re_entry = gl_span_is(gl_survey_text(survey, record, "cause"), "re_entry");
    mark->spot = spot(survey, record);
    mark->spread = whole(survey, record, "spread");
    mark->visibility = whole(survey, record, "visibility");
    return mark_positions(survey, mark, error);
}

/* ---- observations ---- */

/* The stamp that is spoken of; of an item, where it has only one. */
static uint32_t stamp_seen(gl_survey *survey, glassine_record *record) {
    gl_span stamp = gl_survey_ref(survey, record, "stamp");
    if (stamp.text)
        return gl_survey_find_stamp(survey, stamp);
    gl_span item = gl_survey_ref(survey, record, "item");
    uint32_t first = item.text ? gl_survey_first_on(survey, item) : GL_NONE;
    return first != GL_NONE && survey->stamps[first].next_on == GL_NONE ? first : GL_NONE;
}

static gl_presence presence(gl_span said) {
    if (gl_span_is(said, "absent"))
        return GL_ABSENT;
    return gl_span_is(said, "unclear") ? GL_UNCLEAR : GL_PRESENT;
}

static glassine_status visit_observation(gl_survey *survey, glassine_record *record, glassine_error *error) {
    uint32_t stamp = stamp_seen(survey, record), kind = appearance(survey, record, "observation");
    gl_span mark = gl_survey_ref(survey, record, "mark");
    if (stamp == GL_NONE)
        return GLASSINE_OK;
    gl_survey_observation *seen = GL_SURVEY_ADD(survey, observations, observation_count);
    if (!seen)
        return gl_fail_memory(error);
    gl_span what = gl_survey_text(survey, record, "appearance");
    *seen = (gl_survey_observation){.stamp = stamp, .record = record};
    seen->mark = mark.text ? gl_map_find(survey->mark_of, mark) : GL_NONE;
    seen->seen = (gl_observation){
        .id = glassine_record_id(survey->bundle, record),
        .contributor = gl_survey_person(survey, glassine_record_author(survey->bundle, record)),
        .appearance = kind,
        .trace = gl_span_is(what, "doubling") || gl_span_is(what, "remains"),
        .spot = spot(survey, record),
        .presence = presence(gl_survey_text(survey, record, "seen"))};
    return seen->seen.contributor == GL_NONE ? gl_fail_memory(error) : GLASSINE_OK;
}

static int observation_order(const void *left, const void *right) {
    const gl_survey_observation *a = left, *b = right;
    if (a->stamp != b->stamp)
        return a->stamp < b->stamp ? -1 : 1;
    int order = gl_span_compare(a->seen.id, b->seen.id);
    return order ? order
                 : (a->seen.contributor > b->seen.contributor) - (a->seen.contributor < b->seen.contributor);
}

glassine_status gl_survey_marks(gl_survey *survey, glassine_error *error) {
    glassine_status status = gl_survey_each(survey, "mark", visit_mark, error);
    if (!status)
        status = gl_survey_each(survey, "observation", visit_observation, error);
    if (!status && survey->observation_count)
        qsort(survey->observations, survey->observation_count, sizeof *survey->observations,
              observation_order);
    return status;
}

const gl_survey_observation *gl_survey_seen_on(const gl_survey *survey, uint32_t stamp, uint32_t *count) {
    uint32_t low = 0, high = survey->observation_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (survey->observations[middle].stamp < stamp)
            low = middle + 1;
        else
            high = middle;
    }
    *count = 0;
    while (low + *count < survey->observation_count && survey->observations[low + *count].stamp == stamp)
        ++*count;
    return survey->observations + low;
}
