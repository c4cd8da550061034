/* The records of a type that take part: all of the bundle's, or those of a scope. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/scope.h"
#include "plating/survey.h"
#include "records/table.h"

static const char *const taking_part[] = {"claim",       "conclusion", "design",      "mark", "match",
                                          "observation", "plate",      "plate_state", "stamp"};

typedef struct sort_key {
    gl_span id, author;
    glassine_record *record;
} sort_key;

static int by_id(const void *a, const void *b) {
    const sort_key *x = a, *y = b;
    int order = gl_span_compare(x->id, y->id);
    return order ? order : gl_span_compare(x->author, y->author);
}

static gl_span type_at(const gl_survey *survey, size_t index) {
    return glassine_record_type(survey->bundle, survey->within[index]);
}

/* The first that is of this type or a later one. */
static size_t first_of(const gl_survey *survey, gl_span type) {
    size_t low = 0, high = survey->within_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (gl_span_compare(type_at(survey, middle), type) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static void find_range(const gl_survey *survey, const char *type, size_t *first, size_t *end) {
    *first = *end = first_of(survey, gl_span_of(type));
    while (*end < survey->within_count && gl_span_is(type_at(survey, *end), type))
        ++*end;
}

bool gl_type_bears(const glassine_bundle *bundle, const char *type) {
    uint8_t mark = (uint8_t)gl_type_place(glassine_type_find("mark"));
    if (strcmp(type, "observation") != 0)
        return true;
    for (size_t i = 0; i < bundle->record_count; i++)
        if (bundle->records[i]->type == mark)
            return true;
    return false;
}

/* By place in the table of types. */
static void find_taking_part(const glassine_bundle *bundle, bool takes[UINT8_MAX + 1]) {
    memset(takes, 0, (UINT8_MAX + 1) * sizeof *takes);
    for (size_t i = 0; i < sizeof taking_part / sizeof taking_part[0]; i++)
        takes[gl_type_place(glassine_type_find(taking_part[i]))] = gl_type_bears(bundle, taking_part[i]);
}

/* What is found does not depend on the order of claims and what else there is of each stamp; on that of
 * plates and what joined stamps say it does, so these come as a cursor gives them. */
static void sort_some(gl_survey *survey) {
    static const char *const types[] = {"design", "plate", "plate_state", "mark", "stamp"};
    for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
        size_t first, end;
        if (strcmp(types[i], "stamp") == 0 && !gl_joins_any(survey->joins))
            continue;
        find_range(survey, types[i], &first, &end);
        gl_records_sort(survey->bundle, survey->within + first, end - first);
    }
}

glassine_status gl_survey_keep_within(gl_survey *survey, const bool *marks, glassine_error *error) {
    glassine_bundle *bundle = survey->bundle;
    size_t count = 0, room = 0;
    sort_key *keys = NULL;
    bool takes[UINT8_MAX + 1];
    find_taking_part(bundle, takes);
    for (size_t i = 0; i < bundle->record_count; i++) {
        glassine_record *record = bundle->records[i];
        if (!marks[record->subject] || !takes[record->type] || gl_record_left_out(bundle, record))
            continue;
        sort_key *grown = gl_grow(keys, &room, count + 1, sizeof *keys);
        if (!grown) {
            free(keys);
            return gl_fail_memory(error);
        }
        keys = grown;
        keys[count++] =
            (sort_key){gl_record_id(bundle, record), glassine_record_author(bundle, record), record};
    }
    survey->within = GL_ARENA_ARRAY(survey->arena, glassine_record *, count + 1);
    if (count)
        qsort(keys, count, sizeof *keys, by_id);
    for (size_t i = 0; survey->within && i < count; i++)
        survey->within[i] = keys[i].record;
    free(keys);
    if (!survey->within)
        return gl_fail_memory(error);
    survey->within_count = count;
    sort_some(survey);
    return GLASSINE_OK;
}

glassine_status gl_survey_walk_begin(const gl_survey *survey, const char *type, gl_survey_walk *walk,
                                     glassine_error *error) {
    *walk = (gl_survey_walk){0};
    if (!survey->within)
        return glassine_cursor_new(survey->bundle, type, false, &walk->cursor, error);
    size_t first, end;
    find_range(survey, type, &first, &end);
    walk->next = survey->within + first;
    walk->end = survey->within + end;
    return GLASSINE_OK;
}

glassine_record *gl_survey_walk_next(gl_survey_walk *walk) {
    if (walk->cursor)
        return glassine_cursor_next(walk->cursor);
    return walk->next < walk->end ? *walk->next++ : NULL;
}

void gl_survey_walk_end(gl_survey_walk *walk) {
    glassine_cursor_free(walk->cursor);
}

glassine_status gl_survey_each(gl_survey *survey, const char *type, gl_survey_visit visit,
                               glassine_error *error) {
    gl_survey_walk walk;
    glassine_status status = gl_survey_walk_begin(survey, type, &walk, error);
    if (status)
        return status;
    glassine_record *record;
    while (!status && (record = gl_survey_walk_next(&walk)) != NULL)
        status = visit(survey, record, error);
    gl_survey_walk_end(&walk);
    return status;
}
