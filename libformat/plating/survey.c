#include "plating/survey.h"

#include <stdlib.h>

#include "base/error.h"

bool gl_survey_grow(void **array, size_t *room, uint32_t count, size_t size) {
    void *moved = gl_grow(*array, room, (size_t)count + 1, size);
    if (moved)
        *array = moved;
    return moved != NULL;
}

/* ---- reading records ---- */

glassine_value gl_survey_get(gl_survey *survey, glassine_record *record, const char *field) {
    bool contested;
    glassine_value value = glassine_record_get(survey->bundle, record, field, &contested);
    if (contested && survey->report)
        glassine_report_finding(survey->report, GLASSINE_WARNING, "R041",
                                glassine_record_label(survey->bundle, record).text, "settle it",
                                "%s is contested, and counts as unsaid here", field);
    return value;
}

gl_span gl_survey_text(gl_survey *survey, glassine_record *record, const char *field) {
    return glassine_value_text(survey->bundle, gl_survey_get(survey, record, field));
}

bool gl_survey_integer(gl_survey *survey, glassine_record *record, const char *field, int64_t *value) {
    return glassine_value_integer(gl_survey_get(survey, record, field), value);
}

bool gl_survey_truth(gl_survey *survey, glassine_record *record, const char *field) {
    glassine_value value = gl_survey_get(survey, record, field);
    return value.text && gl_json_true(value);
}

gl_span gl_survey_ref(gl_survey *survey, glassine_record *record, const char *field) {
    glassine_value value = gl_survey_get(survey, record, field);
    if (!value.text || gl_json_kind_of(value) != GL_JSON_STRING)
        return GL_NO_SPAN;
    return gl_joins_of(survey->joins, gl_json_raw(value));
}

gl_span gl_survey_id(const gl_survey *survey, glassine_record *record) {
    return gl_joins_of(survey->joins, glassine_record_id(survey->bundle, record));
}

static uint32_t subject_of(const gl_survey *survey, gl_span id) {
    return gl_store_record_find(survey->bundle->store, gl_joins_of(survey->joins, id));
}

/* Numbers from 1, of which 0 is none. What came to the bundle after the survey has none. */
static uint32_t number_at(const gl_survey *survey, const uint32_t *numbers, uint32_t subject) {
    return subject >= survey->subjects || !numbers[subject] ? GL_NONE : numbers[subject] - 1;
}

uint32_t gl_survey_subject(const gl_survey *survey, const glassine_record *record) {
    return gl_joins_any(survey->joins) ? subject_of(survey, gl_record_id(survey->bundle, record))
                                       : record->subject;
}

uint32_t gl_survey_find_stamp(const gl_survey *survey, gl_span id) {
    return number_at(survey, survey->stamp_on, subject_of(survey, id));
}

uint32_t gl_survey_stamp_of(const gl_survey *survey, const glassine_record *record) {
    return number_at(survey, survey->stamp_on, gl_survey_subject(survey, record));
}

uint32_t gl_survey_first_on(const gl_survey *survey, gl_span item) {
    uint32_t subject = gl_store_record_find(survey->bundle->store, item);
    return subject == GL_NONE ? gl_map_find(survey->first_absent, item)
                              : number_at(survey, survey->first_on, subject);
}

uint32_t gl_survey_person(gl_survey *survey, gl_span id) {
    gl_span stands = gl_joins_of(survey->joins, id);
    uint32_t number = gl_map_find(survey->person_of, stands);
    if (number != GL_NONE)
        return number;
    gl_span *person = GL_SURVEY_ADD(survey, people, people_count);
    if (!person)
        return GL_NONE;
    *person = stands;
    number = survey->people_count - 1;
    return gl_map_set(survey->person_of, stands, number) ? number : GL_NONE;
}

const char *gl_survey_name(const gl_survey *survey, uint32_t person) {
    glassine_record *record = glassine_bundle_record(survey->bundle, survey->people[person], GL_NO_SPAN);
    gl_span name = record ? glassine_record_label(survey->bundle, record) : GL_NO_SPAN;
    return name.text ? name.text : "somebody unknown";
}

/* ---- making one ---- */

static bool make_indexes(gl_survey *survey) {
    survey->arena = gl_arena_new();
    survey->cache = gl_survey_cache_new();
    survey->plate_of = gl_map_new();
    survey->design_of = gl_map_new();
    survey->state_of = gl_map_new();
    survey->subjects = gl_store_records(survey->bundle->store);
    survey->stamp_on = calloc(survey->subjects + (size_t)1, sizeof *survey->stamp_on);
    survey->first_on = calloc(survey->subjects + (size_t)1, sizeof *survey->first_on);
    survey->first_absent = gl_map_new();
    survey->person_of = gl_map_new();
    survey->mark_of = gl_map_new();
    return survey->arena && survey->cache && survey->plate_of && survey->design_of && survey->state_of &&
           survey->stamp_on && survey->first_on && survey->first_absent && survey->person_of &&
           survey->mark_of;
}

static void report_joins(const gl_survey *survey) {
    const gl_join_fault *faults;
    size_t count = gl_joins_faults(survey->joins, &faults);
    for (size_t i = 0; i < count && survey->report; i++)
        glassine_report_finding(survey->report, GLASSINE_WARNING, faults[i].rule,
                                glassine_record_label(survey->bundle, faults[i].join).text,
                                "withdraw the join that is wrong", "the join is not applied: %s",
                                faults[i].what);
}

static bool question_arrays(gl_survey *survey) {
    survey->standing_plates =
        GL_ARENA_ARRAY(survey->arena, gl_standing_plate, (size_t)survey->plate_count + 1);
    survey->plates_of = GL_ARENA_ARRAY(survey->arena, gl_plate_list, (size_t)survey->stamp_count + 1);
    if (!survey->standing_plates || !survey->plates_of)
        return false;
    for (uint32_t i = 0; i < survey->plate_count; i++)
        survey->standing_plates[i] =
            (gl_standing_plate){survey->plates[i].plan, survey->plates[i].state_count};
    for (uint32_t i = 0; i < survey->stamp_count; i++) {
        const gl_survey_design *design = gl_survey_plates_of(survey, i);
        survey->plates_of[i] = (gl_plate_list){design->plates, design->count};
    }
    return true;
}

glassine_status gl_survey_make(glassine_bundle *bundle, const bool *marks, glassine_report *report,
                               gl_watch *watch, gl_survey *survey, glassine_error *error) {
    static glassine_status (*const steps[])(gl_survey *, glassine_error *) = {
        gl_survey_plates, gl_survey_stamps, gl_survey_marks,   gl_survey_facts,
        gl_survey_claims, gl_survey_ties,   gl_survey_grounds, gl_survey_dates};
    *survey = (gl_survey){.bundle = bundle, .report = report, .watch = watch};
    glassine_status status =
        make_indexes(survey) ? gl_bundle_joins(bundle, &survey->joins, error) : gl_fail_memory(error);
    if (!status)
        report_joins(survey);
    if (!status && marks)
        status = gl_survey_keep_within(survey, marks, error);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0] && !status; i++)
        status = steps[i](survey, error);
    if (!status && !question_arrays(survey))
        status = gl_fail_memory(error);
    if (status)
        gl_survey_free(survey);
    return status;
}

void gl_survey_free(gl_survey *survey) {
    for (uint32_t i = 0; i < survey->plate_count; i++)
        gl_plan_free(survey->plates[i].plan);
    for (uint32_t i = 0; i < survey->design_count; i++)
        free(survey->designs[i].plates);
    void *const arrays[] = {survey->plates,      survey->designs,    survey->all.plates,   survey->states,
                            survey->stamps,      survey->entries,    survey->people,       survey->claims,
                            survey->conclusions, survey->statements, survey->sources,      survey->ties,
                            survey->tie_sources, survey->marks,      survey->observations, survey->dates,
                            survey->stamp_on,    survey->first_on};
    for (size_t i = 0; i < sizeof arrays / sizeof arrays[0]; i++)
        free(arrays[i]);
    gl_map *const maps[] = {survey->plate_of,     survey->design_of, survey->state_of,
                            survey->first_absent, survey->person_of, survey->mark_of};
    for (size_t i = 0; i < sizeof maps / sizeof maps[0]; i++)
        gl_map_free(maps[i]);
    gl_survey_cache_free(survey->cache);
    gl_arena_free(survey->arena);
    *survey = (gl_survey){0};
}

gl_standing_question gl_survey_question(const gl_survey *survey) {
    return (gl_standing_question){
        .plates = survey->standing_plates,
        .plate_count = survey->plate_count,
        .stamp_count = survey->stamp_count,
        .plates_of = survey->plates_of,
        .statements = survey->statements,
        .statement_count = survey->statement_count,
        .ties = survey->ties,
        .tie_count = survey->tie_count,
        .source_count = survey->tie_source_count,
        .grounds = {survey->ground_count, survey->ground_first, survey->ground_to, survey->ground_statement}};
}
