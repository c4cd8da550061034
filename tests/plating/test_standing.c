/* Standings: a table by hand and random cases, both worked out by an independent program as well; and how the
 * work grows. */
#include "standing_case.h"

typedef struct checking {
    standing_case *c;
    uint32_t told;
} checking;

static void differ(const standing_case *c, const gl_standing *s, const char *what) {
    fail_msg("%s: stamp %u: %s (%s, %u places, state %s, %u claims, %u voices, %u independent, %u groups)",
             text_of(c->test, "name"), s->stamp, what, gl_standing_name(s->place), s->candidates,
             gl_standing_name(s->state), s->claims, s->voices, s->independent, s->group_count);
}

static void check_whole(const standing_case *c, const gl_standing *s, const json_t *wanted, const char *key,
                        uint32_t value) {
    if (whole_of(wanted, key, value) != value)
        differ(c, s, key);
}

static void check_candidates(const standing_case *c, const gl_standing *s, const json_t *wanted) {
    const json_t *list = json_object_get(wanted, "candidates");
    size_t found = 0;
    for (uint32_t p = 0; p < c->question.plate_count; p++) {
        gl_posset set;
        assert_true(gl_posset_init(&set, c->plans[p]->count));
        gl_standing_positions(s, p, &set);
        for (uint32_t i = gl_posset_next(&set, 0); i != GL_NONE; i = gl_posset_next(&set, i + 1), found++) {
            char name[40];
            snprintf(name, sizeof name, "%s/%u", c->plans[p]->label, i + 1);
            bool there = !list;
            for (size_t j = 0; j < json_array_size(list); j++)
                there |= strcmp(name, json_string_value(json_array_get(list, j))) == 0;
            if (!there)
                differ(c, s, name);
            if (s->plate != GL_NONE)
                assert_true(s->plate == p && s->position == i);
        }
        gl_posset_free(&set);
    }
    assert_int_equal(found, s->candidates);
}

static void check_states(const standing_case *c, const gl_standing *s, const json_t *wanted) {
    const json_t *list = json_object_get(wanted, "state_candidates");
    size_t found = 0;
    for (uint32_t p = 0; list && p < c->question.plate_count; p++) {
        const json_t *names =
            json_object_get(json_array_get(json_object_get(c->test, "plates"), p), "states");
        uint64_t left = names ? gl_standing_states(s, p) : 0;
        for (uint32_t i = 0; i < json_array_size(names); i++) {
            char name[64];
            snprintf(name, sizeof name, "%s:%s", c->plans[p]->label,
                     json_string_value(json_array_get(names, i)));
            bool there = false;
            for (size_t j = 0; j < json_array_size(list); j++)
                there |= strcmp(name, json_string_value(json_array_get(list, j))) == 0;
            if (there != (left >> i & 1))
                differ(c, s, name);
            found += there;
        }
    }
    assert_int_equal(found, json_array_size(list));
}

static bool side_is(const standing_case *c, const gl_side *side, const json_t *names) {
    if (side->count != json_array_size(names))
        return false;
    for (uint32_t i = 0; i < side->count; i++)
        if (strcmp(c->names[side->statements[i]], json_string_value(json_array_get(names, i))) != 0)
            return false;
    return true;
}

static bool group_is(const standing_case *c, const gl_group *group, const json_t *wanted) {
    const json_t *sides = json_object_get(wanted, "sides"), *ties = json_object_get(wanted, "ties");
    if (group->side_count != json_array_size(sides) || group->source_count != json_array_size(ties))
        return false;
    for (uint32_t i = 0; i < group->side_count; i++) {
        bool found = false;
        for (size_t j = 0; j < json_array_size(sides); j++)
            found |= side_is(c, &group->sides[i], json_array_get(sides, j));
        if (!found)
            return false;
    }
    for (uint32_t i = 0; i < group->source_count; i++)
        if (!is_named(ties, c->sources[group->sources[i]]))
            return false;
    return true;
}

static void check_groups(const standing_case *c, const gl_standing *s, const json_t *wanted) {
    const json_t *groups = json_object_get(wanted, "groups");
    if (json_array_size(groups) != s->group_count)
        differ(c, s, "number of groups");
    for (uint32_t i = 0; i < s->group_count; i++) {
        bool found = false;
        for (size_t j = 0; j < json_array_size(groups); j++)
            found |= group_is(c, &s->groups[i], json_array_get(groups, j));
        if (!found)
            differ(c, s, "a group");
    }
}

static void check_lists(const standing_case *c, const gl_standing *s, const json_t *wanted) {
    const json_t *minds = json_object_get(wanted, "in_two_minds"), *idle = json_object_get(wanted, "idle");
    if (minds)
        assert_int_equal(s->in_two_minds_count, json_array_size(minds));
    for (uint32_t i = 0; minds && i < s->in_two_minds_count; i++)
        assert_int_equal(s->in_two_minds[i], json_string_value(json_array_get(minds, i))[0]);
    assert_int_equal(s->idle_count, json_array_size(idle));
    for (uint32_t i = 0; i < s->idle_count; i++)
        assert_string_equal(c->names[s->idle[i]], json_string_value(json_array_get(idle, i)));
}

static glassine_status check_one(void *context, const gl_standing *s, glassine_error *error) {
    (void)error;
    checking *at = context;
    const standing_case *c = at->c;
    const json_t *stamp = json_array_get(json_object_get(c->test, "stamps"), s->stamp);
    const json_t *wanted = json_object_get(json_object_get(c->test, "expect"), text_of(stamp, "id"));
    assert_non_null(wanted);
    if (strcmp(gl_standing_name(s->place), text_of(wanted, "standing")) != 0)
        differ(c, s, text_of(wanted, "standing"));
    if (strcmp(gl_standing_name(s->state), text_of(wanted, "state")) != 0)
        differ(c, s, "state");
    check_whole(c, s, wanted, "count", s->candidates);
    check_whole(c, s, wanted, "claims", s->claims);
    check_whole(c, s, wanted, "voices", s->voices);
    check_whole(c, s, wanted, "independent", s->independent);
    check_whole(c, s, wanted, "blind", s->blind_voices);
    check_candidates(c, s, wanted);
    check_states(c, s, wanted);
    check_groups(c, s, wanted);
    check_lists(c, s, wanted);
    at->told++;
    return GLASSINE_OK;
}

static void check_file(const char *name, size_t least) {
    json_t *root = vectors_load(name);
    const json_t *cases = json_object_get(root, "cases");
    assert_true(json_array_size(cases) >= least);
    standing_case *c = calloc(1, sizeof *c);
    assert_non_null(c);
    for (size_t i = 0; i < json_array_size(cases); i++) {
        case_load(c, json_array_get(cases, i));
        checking at = {c, 0};
        assert_int_equal(gl_standing_run(&c->question, check_one, &at, NULL), GLASSINE_OK);
        assert_int_equal(at.told, c->question.stamp_count);
        case_free(c);
    }
    free(c);
    json_decref(root);
}

static void by_table(void **state) {
    (void)state;
    check_file("standing/table.json", 50);
}

static void random_cases(void **state) {
    (void)state;
    check_file("standing/random.json", 200);
}

/* ---- size ---- */

static glassine_status count_words(void *context, const gl_standing *s, glassine_error *error) {
    (void)error;
    uint32_t *words = context;
    words[s->place]++;
    return GLASSINE_OK;
}

/* 100,000 stamps and 300,000 claims of a plate of 240; every thousandth stamp is disputed. */
static void a_large_collection(void **state) {
    (void)state;
    enum { MANY = 100000 };
    gl_plan *plan = plan_of(20, 12);
    const gl_standing_plate plate = {plan, 0};
    const uint32_t zero = 0;
    gl_posset *sets = calloc(240, sizeof *sets);
    gl_allowance *allowed = calloc(240, sizeof *allowed);
    gl_plate_list *lists = calloc(MANY, sizeof *lists);
    gl_statement *statements = calloc(3 * MANY, sizeof *statements);
    assert_true(sets && allowed && lists && statements);
    for (uint32_t i = 0; i < 240; i++) {
        assert_true(gl_posset_init(&sets[i], 240));
        gl_posset_add(&sets[i], i);
        allowed[i] = (gl_allowance){0, &sets[i], GL_STATES_ALL};
    }
    for (uint32_t s = 0; s < MANY; s++) {
        lists[s] = (gl_plate_list){&zero, 1};
        for (uint32_t by = 0; by < 3; by++) {
            uint32_t place = (s + (s % 1000 == 0 && by == 2)) % 240;
            statements[3 * s + by] = (gl_statement){.stamp = s,
                                                    .contributor = by,
                                                    .allowed = &allowed[place],
                                                    .allowed_count = 1,
                                                    .ground = GL_NONE};
        }
    }
    const gl_standing_question question = {.plates = &plate,
                                           .plate_count = 1,
                                           .stamp_count = MANY,
                                           .plates_of = lists,
                                           .statements = statements,
                                           .statement_count = 3 * MANY};
    uint32_t words[5] = {0};
    assert_int_equal(gl_standing_run(&question, count_words, words, NULL), GLASSINE_OK);
    assert_int_equal(words[GL_DISPUTED], MANY / 1000);
    assert_int_equal(words[GL_CORROBORATED], MANY - MANY / 1000);
    for (uint32_t i = 0; i < 240; i++)
        gl_posset_free(&sets[i]);
    free(sets);
    free(allowed);
    free(lists);
    free(statements);
    gl_plan_free(plan);
}

/* All stamps said to be from one place, in a chain of matches. */
static void a_long_chain(void **state) {
    (void)state;
    enum { MANY = 50000 };
    gl_plan *plan = plan_of(12, 10);
    const gl_standing_plate plate = {plan, 0};
    const uint32_t zero = 0;
    gl_posset seven;
    assert_true(gl_posset_init(&seven, 120));
    gl_posset_add(&seven, 6);
    const gl_allowance allowed = {0, &seven, GL_STATES_ALL};
    const gl_statement statement = {.allowed = &allowed, .allowed_count = 1, .ground = GL_NONE};
    gl_plate_list *lists = calloc(MANY, sizeof *lists);
    gl_tie *ties = calloc(MANY, sizeof *ties);
    assert_true(lists && ties);
    for (uint32_t s = 0; s < MANY; s++) {
        lists[s] = (gl_plate_list){&zero, 1};
        if (s > 0)
            ties[s - 1] = (gl_tie){s - 1, s, 0, 0, false, s - 1};
    }
    const gl_standing_question question = {.plates = &plate,
                                           .plate_count = 1,
                                           .stamp_count = MANY,
                                           .plates_of = lists,
                                           .statements = &statement,
                                           .statement_count = 1,
                                           .ties = ties,
                                           .tie_count = MANY - 1,
                                           .source_count = MANY - 1};
    uint32_t words[5] = {0};
    assert_int_equal(gl_standing_run(&question, count_words, words, NULL), GLASSINE_OK);
    assert_int_equal(words[GL_PLACED], MANY);
    gl_posset_free(&seven);
    free(lists);
    free(ties);
    gl_plan_free(plan);
}

/* Very many different statements about one stamp: one smallest group is found all the same. */
static void a_crowd(void **state) {
    (void)state;
    enum { MANY = 119 };
    gl_plan *plan = plan_of(12, 10);
    const gl_standing_plate plate = {plan, 0};
    const uint32_t zero = 0;
    const gl_plate_list list = {&zero, 1};
    gl_posset sets[MANY];
    gl_allowance allowed[MANY];
    gl_statement statements[MANY];
    for (uint32_t i = 0; i < MANY;
         i++) { /* each rules one position out; the last leaves what they left, less that */
        assert_true(gl_posset_init(&sets[i], 120));
        gl_posset_fill(&sets[i]);
        gl_posset_remove(&sets[i], i);
        if (i == MANY - 1)
            gl_posset_remove(&sets[i], 119);
        allowed[i] = (gl_allowance){0, &sets[i], GL_STATES_ALL};
        statements[i] =
            (gl_statement){.contributor = i, .allowed = &allowed[i], .allowed_count = 1, .ground = GL_NONE};
    }
    const gl_standing_question question = {.plates = &plate,
                                           .plate_count = 1,
                                           .stamp_count = 1,
                                           .plates_of = &list,
                                           .statements = statements,
                                           .statement_count = MANY};
    uint32_t words[5] = {0};
    assert_int_equal(gl_standing_run(&question, count_words, words, NULL), GLASSINE_OK);
    assert_int_equal(words[GL_DISPUTED], 1);
    for (uint32_t i = 0; i < MANY; i++)
        gl_posset_free(&sets[i]);
    gl_plan_free(plan);
}

static glassine_status give_up(void *context, const gl_standing *s, glassine_error *error) {
    (void)s;
    ++*(uint32_t *)context;
    return gl_fail(error, GLASSINE_REFUSED, NULL, NULL, "enough");
}

static void the_sink_may_stop(void **state) {
    (void)state;
    const gl_plate_list lists[2] = {{NULL, 0}, {NULL, 0}};
    const gl_standing_question question = {.stamp_count = 2, .plates_of = lists};
    uint32_t calls = 0;
    assert_int_equal(gl_standing_run(&question, give_up, &calls, NULL), GLASSINE_REFUSED);
    assert_int_equal(calls, 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_table),     cmocka_unit_test(random_cases), cmocka_unit_test(a_large_collection),
        cmocka_unit_test(a_long_chain), cmocka_unit_test(a_crowd),      cmocka_unit_test(the_sink_may_stop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
