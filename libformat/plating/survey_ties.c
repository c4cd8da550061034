/* What ties stamps together: multiples, and matches. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/survey.h"

static bool add_tie(gl_survey *survey, gl_tie tie) {
    gl_tie *added = GL_SURVEY_ADD(survey, ties, tie_count);
    if (added)
        *added = tie;
    return added != NULL;
}

static gl_tie_source *add_source(gl_survey *survey, gl_span item, glassine_record *match) {
    gl_tie_source *source = GL_SURVEY_ADD(survey, tie_sources, tie_source_count);
    if (source)
        *source = (gl_tie_source){item, match};
    return source;
}

/* ---- multiples: stamps of one item and design that have a row and a column in it ---- */

typedef struct in_multiple {
    const gl_survey *survey;
    uint32_t stamp;
} in_multiple;

static int multiple_order(const void *left, const void *right) {
    const in_multiple *x = left, *y = right;
    const gl_survey_stamp *a = &x->survey->stamps[x->stamp], *b = &y->survey->stamps[y->stamp];
    int order = gl_span_compare(a->item, b->item);
    if (order)
        return order;
    if (a->design != b->design)
        return a->design < b->design ? -1 : 1;
    if (a->row != b->row)
        return a->row < b->row ? -1 : 1;
    if (a->column != b->column)
        return a->column < b->column ? -1 : 1;
    return x->stamp < y->stamp ? -1 : x->stamp > y->stamp;
}

static bool one_multiple(const gl_survey_stamp *a, const gl_survey_stamp *b) {
    return gl_span_equal(a->item, b->item) && a->design == b->design;
}

/* Two stamps in one place of the item: it is not known which of them lies where. */
static bool places_differ(const gl_survey *survey, const in_multiple *list, size_t first, size_t end) {
    for (size_t i = first + 1; i < end; i++) {
        const gl_survey_stamp *a = &survey->stamps[list[i - 1].stamp], *b = &survey->stamps[list[i].stamp];
        if (a->row != b->row || a->column != b->column)
            continue;
        if (survey->report)
            glassine_report_finding(
                survey->report, GLASSINE_WARNING, "R056",
                glassine_record_label(survey->bundle, b->record).text,
                "correct row and column of one of them",
                "two stamps have one place in their item, so that none is placed by the others");
        return false;
    }
    return true;
}

static bool tie_multiple(gl_survey *survey, const in_multiple *list, size_t first, size_t end) {
    if (end - first < 2 || !places_differ(survey, list, first, end))
        return true;
    const gl_survey_stamp *lead = &survey->stamps[list[first].stamp];
    if (!add_source(survey, lead->item, NULL))
        return false;
    for (size_t i = first + 1; i < end; i++) {
        const gl_survey_stamp *other = &survey->stamps[list[i].stamp];
        gl_tie tie = {.a = list[first].stamp,
                      .b = list[i].stamp,
                      .down = (int32_t)(other->row - lead->row),
                      .across = (int32_t)(other->column - lead->column),
                      .same_state = true,
                      .source = survey->tie_source_count - 1};
        if (!add_tie(survey, tie))
            return false;
    }
    return true;
}

static bool tie_multiples(gl_survey *survey) {
    in_multiple *list = calloc((size_t)survey->stamp_count + 1, sizeof *list);
    size_t count = 0;
    bool room = list != NULL;
    for (uint32_t i = 0; room && i < survey->stamp_count; i++)
        if (survey->stamps[i].item.text && survey->stamps[i].row > 0 && survey->stamps[i].column > 0)
            list[count++] = (in_multiple){survey, i};
    if (count)
        qsort(list, count, sizeof *list, multiple_order);
    for (size_t first = 0, end; room && first < count; first = end) {
        for (end = first + 1; end < count && one_multiple(&survey->stamps[list[first].stamp],
                                                          &survey->stamps[list[end].stamp]);
             end++)
            ;
        room = tie_multiple(survey, list, first, end);
    }
    free(list);
    return room;
}

/* ---- matches ---- */

/* The two stamps that it names; false where they are not two stamps that are there. */
static bool two_stamps(gl_survey *survey, glassine_record *match, uint32_t stamps[2]) {
    glassine_value list = gl_survey_get(survey, match, "stamps"), item;
    size_t at = 0, count = 0;
    if (!list.text || gl_json_kind_of(list) != GL_JSON_ARRAY)
        return false;
    while (glassine_value_next(list, &at, NULL, &item)) {
        if (count == 2)
            return false;
        stamps[count++] = gl_survey_find_stamp(survey, gl_json_raw(item));
    }
    return count == 2 && stamps[0] != GL_NONE && stamps[1] != GL_NONE && stamps[0] != stamps[1];
}

static bool offset(gl_survey *survey, glassine_record *match, const char *field, int32_t *out) {
    int64_t value = 0;
    bool said = gl_survey_integer(survey, match, field, &value);
    *out = (int32_t)(value > INT32_MAX ? INT32_MAX : value < -INT32_MAX ? -INT32_MAX : value);
    return said;
}

static glassine_status visit_match(gl_survey *survey, glassine_record *match, glassine_error *error) {
    uint32_t stamps[2];
    gl_survey_note_basis(survey, match);
    gl_span relation = gl_survey_text(survey, match, "relation");
    bool apart = gl_span_is(relation, "neighbour");
    if ((!apart && !gl_span_is(relation, "same")) || gl_survey_truth(survey, match, "withdrawn") ||
        gl_span_is(gl_survey_text(survey, match, "confidence"), "possible") ||
        !two_stamps(survey, match, stamps))
        return GLASSINE_OK;
    gl_tie tie = {.a = stamps[0], .b = stamps[1], .source = survey->tie_source_count};
    /* neighbours of which neither offset is said are somewhere side by side, which ties nothing */
    if (apart) {
        bool down = offset(survey, match, "down", &tie.down),
             across = offset(survey, match, "across", &tie.across);
        if (!down && !across)
            return GLASSINE_OK;
    }
    return add_source(survey, GL_NO_SPAN, match) && add_tie(survey, tie) ? GLASSINE_OK
                                                                         : gl_fail_memory(error);
}

glassine_status gl_survey_ties(gl_survey *survey, glassine_error *error) {
    if (!tie_multiples(survey))
        return gl_fail_memory(error);
    return gl_survey_each(survey, "match", visit_match, error);
}
