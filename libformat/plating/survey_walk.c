/* The records of a type that take part: all of the bundle's, or those of a scope. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/scope.h"
#include "plating/survey.h"
#include "records/table.h"

static void find_range(const gl_survey *survey, const char *type, size_t *first, size_t *end) {
    size_t place = gl_type_place(glassine_type_find(type));
    *first = survey->within_first[place];
    *end = survey->within_first[place + 1];
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

/* Those that are marked and take part, in order of arrival; how many there are, and of each type. */
static size_t list_marked(const gl_survey *survey, const bool *marks, glassine_record **list,
                          size_t *of_type) {
    glassine_bundle *bundle = survey->bundle;
    size_t marked = gl_scope_records(bundle, marks, list), count = 0;
    for (size_t i = 0; i < marked; i++) {
        gl_records_expect(bundle, list, marked, i);
        if (gl_record_left_out(bundle, list[i]))
            continue;
        of_type[list[i]->type]++;
        list[count++] = list[i];
    }
    return count;
}

glassine_status gl_survey_keep_within(gl_survey *survey, const bool *marks, glassine_error *error) {
    size_t types = glassine_type_count(), of_type[UINT8_MAX + 1] = {0};
    glassine_record **list = malloc((survey->bundle->record_count + 1) * sizeof(glassine_record *));
    size_t count = list ? list_marked(survey, marks, list, of_type) : 0;
    survey->within = GL_ARENA_ARRAY(survey->arena, glassine_record *, count + 1);
    size_t *first = survey->within_first = GL_ARENA_ARRAY(survey->arena, size_t, types + 2);
    bool room = list && survey->within && first;
    if (room) {
        first[0] = 0;
        for (size_t type = 0; type <= types; type++)
            first[type + 1] = first[type] + of_type[type];
        for (size_t i = count; i-- > 0;)
            survey->within[first[list[i]->type] + --of_type[list[i]->type]] = list[i];
        sort_some(survey);
    }
    free(list);
    return room ? GLASSINE_OK : gl_fail_memory(error);
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

/* Several threads count together: each of them now and then. */
glassine_status gl_survey_done(gl_survey *survey, glassine_error *error) {
    enum { NOW_AND_THEN = 64 };
    if (!survey->watch || ++survey->done % NOW_AND_THEN)
        return GLASSINE_OK;
    return gl_watch_add(survey->watch, NOW_AND_THEN) ? GLASSINE_OK : gl_watch_fail(error);
}

/* A stamp is done with once it is told where it stands; on what says when it was used no standing depends. */
static bool is_counted(const char *type) {
    return strcmp(type, "stamp") != 0 && strcmp(type, "marking") != 0;
}

glassine_status gl_survey_each(gl_survey *survey, const char *type, gl_survey_visit visit,
                               glassine_error *error) {
    gl_survey_walk walk;
    glassine_status status = gl_survey_walk_begin(survey, type, &walk, error);
    if (status)
        return status;
    bool counted = is_counted(type);
    glassine_record *record;
    while (!status && (record = gl_survey_walk_next(&walk)) != NULL) {
        status = visit(survey, record, error);
        if (!status && counted)
            status = gl_survey_done(survey, error);
    }
    gl_survey_walk_end(&walk);
    return status;
}
