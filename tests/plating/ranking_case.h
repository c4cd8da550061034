/* A ranking question out of a JSON vector (testvectors/ranking/README.md). */
#ifndef TEST_PLATING_RANKING_CASE_H
#define TEST_PLATING_RANKING_CASE_H

#include "plating/locate.h"
#include "vectors.h"

#define CASE_MOST 64

typedef struct ranking_case {
    glassine_ranking parameters;
    gl_ranked_plate plates[8];
    bool begun[8][16];
    gl_plan *plans[8];
    gl_posset within[8];
    gl_known_mark marks[CASE_MOST];
    gl_expression positions[CASE_MOST];
    gl_observation observations[CASE_MOST];
    gl_sight sight;
    gl_locate_question question;
} ranking_case;

static inline uint32_t appearance_of(const char *name) {
    static const char *const names[] = {"dot",     "guide_line", "doubling",     "remains", "flaw",
                                        "scratch", "crack",      "recut",        "retouch", "burr",
                                        "wear",    "imprint",    "plate_number", "other"};
    for (uint32_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(name, names[i]) == 0)
            return i;
    fail_msg("appearance %s", name);
    return 0;
}

static inline gl_spot spot_of(const json_t *thing) {
    const json_t *x = json_object_get(thing, "x"), *y = json_object_get(thing, "y");
    return (gl_spot){x && y, json_number_value(x), json_number_value(y)};
}

static inline double real_of(const json_t *object, const char *key, double otherwise) {
    const json_t *value = json_object_get(object, key);
    return value ? json_number_value(value) : otherwise;
}

static inline uint32_t plate_called(const json_t *plates, const char *label) {
    for (uint32_t i = 0; i < json_array_size(plates); i++)
        if (!label || strcmp(label, text_of(json_array_get(plates, i), "label")) == 0)
            return i;
    fail_msg("plate %s", label);
    return 0;
}

static inline uint32_t state_called(const json_t *plate, const char *name, uint32_t otherwise) {
    const json_t *states = json_object_get(plate, "states");
    for (uint32_t i = 0; name && i < json_array_size(states); i++)
        if (strcmp(name, json_string_value(json_array_get(states, i))) == 0)
            return i;
    if (name)
        fail_msg("state %s", name);
    return otherwise;
}

static inline void case_plate(ranking_case *c, uint32_t i, const json_t *plate) {
    const json_t *states = json_object_get(plate, "states"), *out = json_object_get(plate, "not_begun");
    const char *within = text_of(plate, "within");
    c->plans[i] = plan_from(plate);
    c->plates[i] = (gl_ranked_plate){.plan = c->plans[i],
                                     .states = states ? (uint32_t)json_array_size(states) : 1,
                                     .begun = c->begun[i],
                                     .pitch_x = real_of(plate, "pitch_x", 0),
                                     .pitch_y = real_of(plate, "pitch_y", 0)};
    for (uint32_t s = 0; s < c->plates[i].states; s++)
        c->begun[i][s] = !states || !is_named(out, json_string_value(json_array_get(states, s)));
    if (!within)
        return;
    gl_expression expression;
    assert_int_equal(gl_expression_parse(c->plans[i], NULL, gl_span_of(within), &expression, NULL, NULL), 0);
    c->within[i] = expression.set;
    c->plates[i].within = &c->within[i];
}

static inline void case_mark(ranking_case *c, uint32_t i, const json_t *mark, const json_t *plates) {
    uint32_t plate = plate_called(plates, text_of(mark, "plate"));
    const json_t *of = json_array_get(plates, plate);
    const char *cause = text_of(mark, "cause"), *positions = text_of(mark, "positions");
    if (positions)
        assert_int_equal(
            gl_expression_parse(c->plans[plate], NULL, gl_span_of(positions), &c->positions[i], NULL, NULL),
            0);
    c->marks[i] = (gl_known_mark){.plate = plate,
                                  .positions = positions ? &c->positions[i].set : NULL,
                                  .first_state = state_called(of, text_of(mark, "first_state"), 0),
                                  .last_state = state_called(of, text_of(mark, "last_state"), GL_NONE),
                                  .appearance = appearance_of(text_of(mark, "appearance")),
                                  .re_entry = cause && strcmp(cause, "re_entry") == 0,
                                  .spot = spot_of(mark),
                                  .spread = real_of(mark, "spread", -1),
                                  .visibility = real_of(mark, "visibility", -1)};
}

static inline void case_observation(ranking_case *c, uint32_t i, const json_t *seen) {
    const char *presence = text_of(seen, "seen"), *appearance = text_of(seen, "appearance");
    c->observations[i] =
        (gl_observation){.id = gl_span_of(text_of(seen, "id")),
                         .contributor = (uint32_t)(unsigned char)text_of(seen, "by")[0],
                         .appearance = appearance_of(appearance),
                         .trace = strcmp(appearance, "doubling") == 0 || strcmp(appearance, "remains") == 0,
                         .spot = spot_of(seen),
                         .presence = !presence || strcmp(presence, "present") == 0 ? GL_PRESENT
                                     : strcmp(presence, "absent") == 0             ? GL_ABSENT
                                                                                   : GL_UNCLEAR};
}

static inline void case_load(ranking_case *c, const json_t *test) {
    const json_t *plates = json_object_get(test, "plates"), *marks = json_object_get(test, "marks");
    const json_t *observations = json_object_get(test, "observations");
    *c = (ranking_case){.parameters = glassine_ranking_default()};
    assert_true(json_array_size(marks) <= CASE_MOST && json_array_size(observations) <= CASE_MOST);
    for (uint32_t i = 0; i < json_array_size(plates); i++)
        case_plate(c, i, json_array_get(plates, i));
    for (uint32_t i = 0; i < json_array_size(marks); i++)
        case_mark(c, i, json_array_get(marks, i), plates);
    for (uint32_t i = 0; i < json_array_size(observations); i++)
        case_observation(c, i, json_array_get(observations, i));
    assert_int_equal(gl_sight_make(c->observations, json_array_size(observations), c->parameters.together,
                                   &c->sight, NULL),
                     0);
    c->question = (gl_locate_question){.parameters = &c->parameters,
                                       .sight = &c->sight,
                                       .plates = c->plates,
                                       .plate_count = (uint32_t)json_array_size(plates),
                                       .marks = c->marks,
                                       .mark_count = (uint32_t)json_array_size(marks)};
}

static inline void case_free(ranking_case *c) {
    for (size_t i = 0; i < 8; i++) {
        gl_plan_free(c->plans[i]);
        gl_posset_free(&c->within[i]);
    }
    for (size_t i = 0; i < CASE_MOST; i++)
        gl_expression_free(&c->positions[i]);
    gl_sight_free(&c->sight);
}

#endif
