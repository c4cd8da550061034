/* Dated markings, and the stamps that they date. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/survey.h"

static bool add_date(gl_survey *survey, uint32_t stamp, const gl_survey_date *from) {
    gl_survey_date *date = GL_SURVEY_ADD(survey, dates, date_count);
    if (!date)
        return false;
    *date = *from;
    date->stamp = stamp;
    return true;
}

/* The stamps that a marking touches, where it says so. */
static bool date_touched(gl_survey *survey, glassine_value stamps, const gl_survey_date *date) {
    glassine_value item;
    size_t at = 0;
    while (glassine_value_next(stamps, &at, NULL, &item)) {
        uint32_t stamp = gl_survey_find_stamp(survey, gl_json_raw(item));
        if (stamp != GL_NONE && !add_date(survey, stamp, date))
            return false;
    }
    return true;
}

static glassine_status visit_marking(gl_survey *survey, glassine_record *record, glassine_error *error) {
    gl_survey_date date = {.marking = record, .id = glassine_record_id(survey->bundle, record)};
    gl_span on = gl_survey_text(survey, record, "on"), item = gl_survey_ref(survey, record, "item");
    if (!on.text || !gl_edtf_parse(on, &date.date, NULL, NULL))
        return GLASSINE_OK;
    date.dated_by = gl_survey_text(survey, record, "dated_by");
    glassine_value stamps = gl_survey_get(survey, record, "stamps");
    bool room = true;
    if (stamps.text && gl_json_kind_of(stamps) == GL_JSON_ARRAY) {
        room = date_touched(survey, stamps, &date);
    } else {
        uint32_t stamp = item.text ? gl_survey_first_on(survey, item) : GL_NONE;
        for (; stamp != GL_NONE && room; stamp = survey->stamps[stamp].next_on)
            room = add_date(survey, stamp, &date);
    }
    return room ? GLASSINE_OK : gl_fail_memory(error);
}

static int date_order(const void *left, const void *right) {
    const gl_survey_date *a = left, *b = right;
    if (a->stamp != b->stamp)
        return a->stamp < b->stamp ? -1 : 1;
    if (a->date.last != b->date.last)
        return a->date.last < b->date.last ? -1 : 1;
    if (a->date.first != b->date.first)
        return a->date.first < b->date.first ? -1 : 1;
    return gl_span_compare(a->id, b->id);
}

glassine_status gl_survey_dates(gl_survey *survey, glassine_error *error) {
    glassine_status status = gl_survey_each(survey, "marking", visit_marking, error);
    if (!status && survey->date_count)
        qsort(survey->dates, survey->date_count, sizeof *survey->dates, date_order);
    return status;
}

const gl_survey_date *gl_survey_dated(const gl_survey *survey, uint32_t stamp, uint32_t *count) {
    uint32_t low = 0, high = survey->date_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (survey->dates[middle].stamp < stamp)
            low = middle + 1;
        else
            high = middle;
    }
    *count = 0;
    while (low + *count < survey->date_count && survey->dates[low + *count].stamp == stamp)
        ++*count;
    return survey->dates + low;
}
