/* Expressions of positions: what they name, what is refused and where, and the way back. */
#include <stdio.h>

#include "vectors.h"

typedef struct layout_in_use {
    gl_plan *plan;
    gl_span names[8];
    gl_state_names states;
} layout_in_use;

static void layout_use(layout_in_use *use, const json_t *root, const json_t *test) {
    const json_t *layout = json_object_get(json_object_get(root, "layouts"), text_of(test, "layout"));
    assert_non_null(layout);
    use->plan = plan_from(layout);
    const json_t *states = json_object_get(layout, "states");
    use->states = (gl_state_names){states ? use->names : NULL, json_array_size(states)};
    for (size_t i = 0; i < use->states.count; i++)
        use->names[i] = gl_span_of(json_string_value(json_array_get(states, i)));
}

static void check_members(const gl_plan *plan, const gl_posset *set, const json_t *positions) {
    assert_int_equal(gl_posset_count(set), json_array_size(positions));
    for (size_t i = 0; i < json_array_size(positions); i++) {
        const json_t *place = json_array_get(positions, i);
        uint32_t index = gl_plan_from_pane(plan, (uint32_t)json_integer_value(json_array_get(place, 0)),
                                           (uint32_t)json_integer_value(json_array_get(place, 1)),
                                           (uint32_t)json_integer_value(json_array_get(place, 2)));
        assert_true(gl_posset_has(set, index));
    }
}

static void check_print(const gl_plan *plan, const gl_posset *set, const char *wanted) {
    gl_buf text = GL_BUF_EMPTY;
    assert_int_equal(gl_expression_print(plan, set, &text, NULL), GLASSINE_OK);
    if (wanted)
        assert_string_equal(text.text, wanted);
    assert_true(text.length <= gl_expression_most(plan));
    gl_expression back;
    glassine_error error;
    size_t at;
    if (gl_expression_parse(plan, NULL, gl_buf_span(&text), &back, &at, &error))
        fail_msg("%.100s: %s", text.text, error.message);
    assert_true(gl_posset_equal(&back.set, set));
    gl_expression_free(&back);
    gl_buf_free(&text);
}

static void good_ones(void **state) {
    (void)state;
    json_t *root = vectors_load("expressions/good.json");
    const json_t *cases = json_object_get(root, "cases");
    assert_true(json_array_size(cases) >= 30);
    for (size_t i = 0; i < json_array_size(cases); i++) {
        const json_t *test = json_array_get(cases, i), *positions = json_object_get(test, "positions");
        layout_in_use use;
        layout_use(&use, root, test);
        gl_expression expression;
        glassine_error error;
        const char *text = text_of(test, "expression");
        if (gl_expression_parse(use.plan, &use.states, gl_span_of(text), &expression, NULL, &error))
            fail_msg("%s: %s", text, error.message);
        if (positions)
            check_members(use.plan, &expression.set, positions);
        else
            assert_int_equal(gl_posset_count(&expression.set), whole_of(test, "count", 0));
        const char *said = text_of(test, "state");
        assert_true(gl_span_equal(expression.state_said, gl_span_of(said)));
        assert_true((expression.state == GL_NONE) == (said == NULL));
        check_print(use.plan, &expression.set, text_of(test, "prints"));
        gl_expression_free(&expression);
        gl_plan_free(use.plan);
    }
    json_decref(root);
}

static void refused_at_the_right_character(void **state) {
    (void)state;
    json_t *root = vectors_load("expressions/bad.json");
    const json_t *cases = json_object_get(root, "cases");
    assert_true(json_array_size(cases) >= 60);
    for (size_t i = 0; i < json_array_size(cases); i++) {
        const json_t *test = json_array_get(cases, i);
        layout_in_use use;
        layout_use(&use, root, test);
        gl_expression expression;
        glassine_error error;
        size_t at;
        const char *text = text_of(test, "expression");
        glassine_status status =
            gl_expression_parse(use.plan, &use.states, gl_span_of(text), &expression, &at, &error);
        if (status != GLASSINE_REFUSED || strcmp(error.rule, text_of(test, "rule")) != 0 ||
            at != whole_of(test, "character", 0))
            fail_msg("\"%s\": status %d, rule %s, character %zu: %s", text, status, error.rule, at,
                     error.message);
        assert_null(expression.set.words);
        gl_plan_free(use.plan);
    }
    json_decref(root);
}

static void an_error_says_what_and_where(void **state) {
    (void)state;
    gl_plan *plan = plan_of(12, 10);
    gl_expression expression;
    glassine_error error;
    char line[1024];
    assert_int_equal(gl_expression_parse(plan, NULL, GL_SPAN("131"), &expression, NULL, &error),
                     GLASSINE_REFUSED);
    glassine_error_line(&error, line, sizeof line);
    assert_string_equal(line, "positions \"131\": plate 1 has 120 positions (R201)");
    gl_plan_free(plan);
}

/* A set of whole lines, boxes and single places, as people make them, or any at all. */
static void random_set(const gl_plan *plan, uint64_t *seed, gl_posset *set) {
    gl_posset_clear(set);
    uint32_t kind = random_below(seed, 6), share = 1 + random_below(seed, 20);
    for (uint32_t i = 0; i < plan->count; i++) {
        glassine_place place = gl_plan_place(plan, i);
        gl_cell cell = gl_plan_cell(plan, i);
        bool in = kind == 0   ? random_below(seed, share) == 0
                  : kind == 1 ? cell.row % (share + 1) == 0
                  : kind == 2 ? cell.column % (share + 1) == 0 && cell.row > share / 3
                  : kind == 3 ? cell.row % 3 != 0 && cell.column > share % 4
                  : kind == 4 ? place.pane == share % plan->panes || cell.row == share % plan->field_rows
                              : i / (share + 1) % 2 == 0;
        if (in != (random_below(seed, 100) == 0))
            gl_posset_add(set, i);
    }
    if (gl_posset_empty(set))
        gl_posset_add(set, random_below(seed, plan->count));
}

static void random_sets_there_and_back(void **state) {
    (void)state;
    uint64_t seed = 18610914;
    for (int round = 0; round < 10000; round++) {
        gl_plan *plan = plan_make((glassine_layout){.rows = 1 + random_below(&seed, 12),
                                                    .columns = 1 + random_below(&seed, 12),
                                                    .panes_across = 1 + random_below(&seed, 2),
                                                    .panes_down = 1 + random_below(&seed, 2),
                                                    .numbering = random_below(&seed, 3)});
        gl_posset set;
        assert_true(gl_posset_init(&set, plan->count));
        random_set(plan, &seed, &set);
        check_print(plan, &set, NULL);
        gl_posset_free(&set);
        gl_plan_free(plan);
    }
}

/* Equal sets print alike however they were written; the text is never longer than the list of numbers. */
static void shortest_of_its_kind(void **state) {
    (void)state;
    const struct {
        const char *written, *prints;
    } cases[] = {
        {"1-10, 11-20", "1-20"},
        {"R1/1, R1/2", "1-2"},
        {"4,14,24,34,44,54,64,74,84,94,104,114", "column 4"},
        {"any but not 7", "1-6, 8-120"},
        {"1-6, 8-17, 19-28, 30-120", "any but not 7, 18, 29"},
        {"row 2-9 and column 3-5", "row 2-9 and column 3-5"},
        {"row 3, column 4 and row 5-6", "21-30, 44, 54"},
        {"column 4-6 but not row 2-5", "column 4-6 but not 14-46"},
    };
    gl_plan *plan = plan_of(12, 10);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gl_expression expression;
        assert_int_equal(
            gl_expression_parse(plan, NULL, gl_span_of(cases[i].written), &expression, NULL, NULL),
            GLASSINE_OK);
        check_print(plan, &expression.set, cases[i].prints);
        gl_expression_free(&expression);
    }
    gl_plan_free(plan);
}

static void the_largest_plate(void **state) {
    (void)state;
    const glassine_layout layouts[] = {{.rows = 1000, .columns = 100},
                                       {.rows = 1, .columns = 100000},
                                       {.rows = 100000, .columns = 1},
                                       {.rows = 5, .columns = 50, .panes_across = 20, .panes_down = 20}};
    uint64_t seed = 7;
    for (size_t i = 0; i < sizeof layouts / sizeof layouts[0]; i++) {
        gl_plan *plan = plan_make(layouts[i]);
        gl_posset set;
        assert_true(gl_posset_init(&set, plan->count));
        for (uint32_t index = 0; index < plan->count; index++)
            if (random_below(&seed, 2))
                gl_posset_add(&set, index);
        check_print(plan, &set, NULL);
        gl_posset_free(&set);
        gl_plan_free(plan);
    }
}

/* However long it is, reading touches each position a bounded number of times. */
static void repetition_is_refused(void **state) {
    (void)state;
    gl_plan *plan = plan_of(1000, 100);
    gl_buf text = GL_BUF_EMPTY;
    while (text.length < gl_expression_most(plan) - 10)
        gl_buf_add_text(&text, "column 7,");
    gl_buf_add_text(&text, "1");
    gl_expression expression;
    glassine_error error;
    assert_int_equal(gl_expression_parse(plan, NULL, gl_buf_span(&text), &expression, NULL, &error),
                     GLASSINE_REFUSED);
    assert_string_equal(error.rule, "R209");
    while (text.length <= gl_expression_most(plan))
        gl_buf_add_text(&text, "         ");
    assert_int_equal(gl_expression_parse(plan, NULL, gl_buf_span(&text), &expression, NULL, &error),
                     GLASSINE_REFUSED);
    assert_string_equal(error.rule, "R209");
    gl_buf_free(&text);
    gl_plan_free(plan);
}

static void any_bytes_at_all(void **state) {
    (void)state;
    static const char *const pieces[] = {"row ", "column ", "any", "7",     "R",         "1",  "-",
                                         "/",    " and ",   ",",   "pane ", " but not ", "L",  "E",
                                         "(",    ")",       "é",   "\x80",  "\n",        "100"};
    uint64_t seed = 99;
    gl_plan *plan = plan_of_panes("1");
    for (int round = 0; round < 20000; round++) {
        gl_buf text = GL_BUF_EMPTY;
        for (uint32_t i = random_below(&seed, 12); i > 0; i--)
            gl_buf_add_text(&text, pieces[random_below(&seed, sizeof pieces / sizeof pieces[0])]);
        gl_expression expression;
        size_t at = 0;
        if (gl_expression_parse(plan, NULL, gl_buf_span(&text), &expression, &at, NULL) == GLASSINE_OK) {
            assert_false(gl_posset_empty(&expression.set));
            gl_expression_free(&expression);
        } else {
            assert_in_range(at, 1, text.length + 1);
        }
        gl_buf_free(&text);
    }
    gl_plan_free(plan);
}

static void echoes(void **state) {
    (void)state;
    const struct {
        const char *expression;
        uint32_t most;
        const char *echo;
    } cases[] = {{"row 3-12 and column 4", 3, "10 positions: 24, 34, 44 …"},
                 {"7", 3, "1 position: 7"},
                 {"1-3", 3, "3 positions: 1, 2, 3"},
                 {"1-4", 0, "4 positions: 1, 2, 3, 4"}};
    gl_plan *plan = plan_of(12, 10);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gl_expression expression;
        assert_int_equal(
            gl_expression_parse(plan, NULL, gl_span_of(cases[i].expression), &expression, NULL, NULL),
            GLASSINE_OK);
        gl_buf echo = GL_BUF_EMPTY;
        gl_expression_echo(plan, &expression.set, cases[i].most, &echo);
        assert_string_equal(echo.text, cases[i].echo);
        gl_buf_free(&echo);
        gl_expression_free(&expression);
    }
    gl_plan_free(plan);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(good_ones),
        cmocka_unit_test(refused_at_the_right_character),
        cmocka_unit_test(an_error_says_what_and_where),
        cmocka_unit_test(random_sets_there_and_back),
        cmocka_unit_test(shortest_of_its_kind),
        cmocka_unit_test(the_largest_plate),
        cmocka_unit_test(repetition_is_refused),
        cmocka_unit_test(any_bytes_at_all),
        cmocka_unit_test(echoes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
