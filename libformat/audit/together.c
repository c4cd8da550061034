#include "audit/together.h"

#include <stdio.h>

#include "base/error.h"
#include "plating/from_bundle.h"
#include "plating/locate.h"
#include "plating/survey.h"
#include "records/value.h"

typedef struct exam {
    glassine_bundle *bundle;
    glassine_record *record;
    glassine_error *error;
} exam;

static glassine_status broken(const exam *it, const char *rule, const char *what) {
    gl_buf place = GL_BUF_EMPTY;
    gl_record_shown(it->bundle, it->record, &place);
    gl_fail(it->error, GLASSINE_REFUSED, rule, place.failed ? NULL : place.text, "%s", what);
    gl_buf_free(&place);
    return GLASSINE_REFUSED;
}

static glassine_record *referred(const exam *it, const char *field) {
    gl_span id = glassine_record_text(it->bundle, it->record, field);
    return id.text ? glassine_bundle_record(it->bundle, id, GL_NO_SPAN) : NULL;
}

/* The `index`-th reference of a list, absent behind the last. */
static gl_span reference_at(const exam *it, const char *field, size_t index) {
    glassine_value list = glassine_record_get(it->bundle, it->record, field, NULL), item = GL_NO_SPAN;
    size_t at = 0;
    for (size_t i = 0; list.text && glassine_value_next(list, &at, NULL, &item); i++)
        if (i == index)
            return gl_json_raw(item);
    return GL_NO_SPAN;
}

static glassine_status check_match(const exam *it) {
    gl_span one = reference_at(it, "stamps", 0), other = reference_at(it, "stamps", 1);
    return one.text && other.text && gl_span_equal(one, other) ? broken(it, "R043", "both stamps are one")
                                                               : GLASSINE_OK;
}

/* Plates that are one have one layout. A plate whose layout is unsettled contradicts nothing. */
static bool layouts_differ(const exam *it, gl_span one, gl_span other) {
    glassine_record *a = glassine_bundle_record(it->bundle, one, GL_NO_SPAN);
    glassine_record *b = glassine_bundle_record(it->bundle, other, GL_NO_SPAN);
    gl_plan *first = NULL, *second = NULL;
    bool differ = a && b && !gl_plan_of_plate(it->bundle, a, &first, NULL) &&
                  !gl_plan_of_plate(it->bundle, b, &second, NULL) && !gl_plan_same(first, second);
    gl_plan_free(first);
    gl_plan_free(second);
    return differ;
}

static glassine_status check_join(const exam *it) {
    gl_span first = reference_at(it, "records", 0), type, uuid, one, kind;
    if (!first.text || !gl_record_id_split(first, &type, &uuid))
        return GLASSINE_OK;
    for (size_t i = 1; (one = reference_at(it, "records", i)).text; i++) {
        if (!gl_record_id_split(one, &kind, &uuid) || !gl_span_equal(kind, type))
            return broken(it, "R044", "it joins records of different types");
        if (gl_span_is(type, "plate") && layouts_differ(it, first, one))
            return broken(it, "R045", "it joins plates of different layouts");
    }
    return GLASSINE_OK;
}

static glassine_status check_claim(const exam *it) {
    gl_span earlier = glassine_record_text(it->bundle, it->record, "instead_of");
    gl_span author = glassine_record_author(it->bundle, it->record);
    glassine_record *claim = earlier.text ? glassine_bundle_record(it->bundle, earlier, author) : NULL;
    if (!earlier.text || !glassine_bundle_record(it->bundle, earlier, GL_NO_SPAN))
        return GLASSINE_OK;
    if (!claim)
        return broken(it, "R046", "the claim that it replaces is somebody else's");
    gl_span there = glassine_record_text(it->bundle, claim, "stamp");
    gl_span here = glassine_record_text(it->bundle, it->record, "stamp");
    return gl_span_equal(here, there) ? GLASSINE_OK
                                      : broken(it, "R046", "the claim that it replaces is on another stamp");
}

/* Its layout is one, and its states can be told apart. What is contested or not said yet is not wrong. */
static glassine_status check_plate(const exam *it) {
    glassine_record *const *states;
    size_t count;
    if (!glassine_record_referrers(it->bundle, it->record, "plate_state", false, &states, &count, NULL) &&
        count > GL_STATES_MOST)
        return broken(it, "R222", "it has more than 64 states");
    gl_plan *plan;
    glassine_error error;
    glassine_status status = gl_plan_of_plate(it->bundle, it->record, &plan, &error);
    if (!status)
        gl_plan_free(plan);
    if (status != GLASSINE_REFUSED || strcmp(error.rule, "R040") == 0 || strcmp(error.rule, "R041") == 0)
        return GLASSINE_OK;
    return broken(it, error.rule, error.message);
}

static glassine_status check_selection(const exam *it) {
    size_t items = gl_json_count(glassine_record_get(it->bundle, it->record, "items", NULL));
    glassine_value captions = glassine_record_get(it->bundle, it->record, "captions", NULL);
    if (!captions.text || gl_json_count(captions) == items)
        return GLASSINE_OK;
    return broken(it, "R047", "it has not as many captions as items");
}

/* Places to rank: the positions of all plates, in each of their states. One without a layout has none yet. */
static glassine_status check_design(const exam *it) {
    glassine_record *const *plates, *const *states;
    size_t count, state_count;
    uint64_t places = 0;
    if (glassine_record_referrers(it->bundle, it->record, "plate", false, &plates, &count, NULL))
        return GLASSINE_OK;
    for (size_t i = 0; i < count; i++) {
        gl_plan *plan;
        if (gl_plan_of_plate(it->bundle, plates[i], &plan, NULL))
            continue;
        if (glassine_record_referrers(it->bundle, plates[i], "plate_state", false, &states, &state_count,
                                      NULL))
            state_count = 0;
        size_t told = state_count > GL_STATES_MOST ? GL_STATES_MOST : state_count;
        places += (uint64_t)plan->count * (told ? told : 1);
        gl_plan_free(plan);
    }
    return places > GL_PLACES_MOST
               ? broken(it, "R221", "its plates have more than 10000000 positions and states")
               : GLASSINE_OK;
}

static size_t observations_of(const exam *it, glassine_record *record, bool without_stamp) {
    glassine_record *const *seen;
    size_t count, fitting = 0;
    if (glassine_record_referrers(it->bundle, record, "observation", false, &seen, &count, NULL))
        return 0;
    for (size_t i = 0; i < count; i++)
        fitting += !without_stamp || !glassine_record_text(it->bundle, seen[i], "stamp").text;
    return fitting;
}

/* Does another stamp of the item, with a smaller id, have the same place? So each pair is told of once. */
static glassine_status check_stamp(const exam *it) {
    glassine_record *item = referred(it, "item");
    int64_t row, column, other_row, other_column;
    glassine_record *const *stamps;
    size_t count, seen = observations_of(it, it->record, false);
    if (item && !glassine_record_referrers(it->bundle, item, "stamp", false, &stamps, &count, NULL) &&
        count == 1)
        seen += observations_of(it, item, true);
    if (seen > GL_SEEN_MOST)
        return broken(it, "R220", "it has more than 1000 observations");
    if (!item || !glassine_record_integer(it->bundle, it->record, "row", &row) ||
        !glassine_record_integer(it->bundle, it->record, "column", &column) ||
        glassine_record_referrers(it->bundle, item, "stamp", false, &stamps, &count, NULL))
        return GLASSINE_OK;
    for (size_t i = 0; i < count; i++)
        if (stamps[i] != it->record && glassine_record_integer(it->bundle, stamps[i], "row", &other_row) &&
            glassine_record_integer(it->bundle, stamps[i], "column", &other_column) && row == other_row &&
            column == other_column &&
            gl_span_compare(gl_record_id(it->bundle, stamps[i]), gl_record_id(it->bundle, it->record)) < 0)
            return broken(it, "R056", "another stamp of the item has the same row and column");
    return GLASSINE_OK;
}

static glassine_status check_mark(const exam *it) {
    glassine_record *first = referred(it, "first_state"), *last = referred(it, "last_state");
    int64_t from, to;
    if (!first || !last || !glassine_record_integer(it->bundle, first, "order", &from) ||
        !glassine_record_integer(it->bundle, last, "order", &to) || from <= to)
        return GLASSINE_OK;
    return broken(it, "R213", "its first state is later than its last");
}

static glassine_status check_state(const exam *it) {
    glassine_record *plate = referred(it, "plate");
    int64_t order, other;
    glassine_record *const *states;
    size_t count;
    if (!plate || !glassine_record_integer(it->bundle, it->record, "order", &order) ||
        glassine_record_referrers(it->bundle, plate, "plate_state", false, &states, &count, NULL))
        return GLASSINE_OK;
    for (size_t i = 0; i < count; i++)
        if (states[i] != it->record && glassine_record_integer(it->bundle, states[i], "order", &other) &&
            order == other &&
            gl_span_compare(gl_record_id(it->bundle, states[i]), gl_record_id(it->bundle, it->record)) < 0)
            return broken(it, "R214", "another state of the plate has the same order");
    return GLASSINE_OK;
}

/* A purchase or sale is private in every field, and nothing else has a private kind. */
static glassine_status check_event(const exam *it) {
    const glassine_field *fields;
    size_t count;
    gl_span kind = glassine_record_text(it->bundle, it->record, "kind");
    bool trade = gl_span_is(kind, "acquired") || gl_span_is(kind, "sold");
    if (!kind.text || glassine_record_fields(it->bundle, it->record, &fields, &count, NULL))
        return GLASSINE_OK;
    for (size_t i = 0; i < count; i++) {
        bool private = fields[i].reach == GLASSINE_PRIVATE;
        if (trade && !private && !gl_span_is(fields[i].name, "set_aside"))
            return broken(it, "R049", "it is a purchase or sale, and not every field of it is private");
        if (!trade && private && gl_span_is(fields[i].name, "kind"))
            return broken(it, "R049", "it was a purchase or sale before");
    }
    return GLASSINE_OK;
}

glassine_status gl_together_rules(glassine_bundle *bundle, glassine_record *record, glassine_error *error) {
    static const struct {
        const char *type;
        glassine_status (*check)(const exam *it);
    } checks[] = {{"match", check_match}, {"join", check_join},           {"claim", check_claim},
                  {"mark", check_mark},   {"selection", check_selection}, {"design", check_design},
                  {"plate", check_plate}, {"stamp", check_stamp},         {"plate_state", check_state},
                  {"event", check_event}};
    exam it = {bundle, record, error};
    gl_span type = glassine_record_type(bundle, record);
    for (size_t i = 0; i < sizeof checks / sizeof checks[0]; i++)
        if (gl_span_is(type, checks[i].type))
            return checks[i].check(&it);
    return GLASSINE_OK;
}
