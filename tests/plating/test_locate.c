/* The ranking of places: vectors made by an independent program, brute force over all matchings, and what
 * must not change an answer. */
#include <math.h>

#include "ranking_case.h"

static void check_weights(const ranking_case *c, const json_t *plates, const json_t *wanted,
                          const char *name) {
    gl_locate locate;
    assert_int_equal(gl_locate_make(&c->question, &locate, NULL), GLASSINE_OK);
    assert_int_equal(locate.count, json_array_size(wanted));
    double sum = 0;
    for (uint32_t i = 0; i < locate.count; i++) {
        const gl_ranked_place *place = &locate.places[i];
        sum += place->weight;
        if (i > 0)
            assert_true(place->weight <= locate.places[i - 1].weight + 1e-8);
        const json_t *found = NULL;
        for (size_t j = 0; j < json_array_size(wanted) && !found; j++) {
            const json_t *entry = json_array_get(wanted, j);
            uint32_t plate = plate_called(plates, text_of(entry, "plate"));
            uint32_t state = state_called(json_array_get(plates, plate), text_of(entry, "state"), 0);
            if (plate == place->plate && state == place->state &&
                whole_of(entry, "position", 0) == place->position + 1)
                found = entry;
        }
        assert_non_null(found);
        if (fabs(json_number_value(json_object_get(found, "weight")) - place->weight) > 2e-6)
            fail_msg("%s: position %u weighs %.6f", name, place->position + 1, place->weight);
    }
    assert_true(fabs(sum - 1) < 1e-9);
    gl_locate_free(&locate);
}

static void vectors(void **state) {
    (void)state;
    json_t *root = vectors_load("ranking/clauses.json");
    const json_t *cases = json_object_get(root, "cases");
    assert_true(json_array_size(cases) >= 30);
    for (size_t i = 0; i < json_array_size(cases); i++) {
        const json_t *test = json_array_get(cases, i);
        ranking_case c;
        case_load(&c, test);
        check_weights(&c, json_object_get(test, "plates"), json_object_get(test, "weights"),
                      text_of(test, "name"));
        case_free(&c);
    }
    json_decref(root);
}

/* The worked case of the specification, to four digits. */
static void the_worked_case(void **state) {
    (void)state;
    json_t *root = vectors_load("ranking/clauses.json");
    ranking_case c;
    case_load(&c, json_array_get(json_object_get(root, "cases"), 0));
    gl_locate locate;
    assert_int_equal(gl_locate_make(&c.question, &locate, NULL), GLASSINE_OK);
    const double products[] = {0.75677, 0.05258, 0.01}, weights[] = {0.9236, 0.0642, 0.0122};
    for (uint32_t i = 0; i < 3; i++) {
        assert_int_equal(locate.places[i].position, i);
        assert_true(fabs(exp(locate.places[i].log_weight) * 3 - products[i]) < 5e-6);
        assert_true(fabs(locate.places[i].weight - weights[i]) < 5e-5);
    }
    gl_locate_free(&locate);
    case_free(&c);
    json_decref(root);
}

/* ---- brute force ---- */

enum { SMALL = 4 };

typedef struct small {
    glassine_ranking parameters;
    gl_seen things[SMALL];
    gl_sight sight;
    gl_shown_mark marks[SMALL];
    uint32_t mark_count;
} small;

static double left_factor(const small *s, uint32_t mark, bool hasty) {
    const gl_shown_mark *m = &s->marks[mark];
    double v = gl_rank_visibility(&s->parameters, m);
    bool absent = false, unclear = false, margin_seen = false;
    for (uint32_t i = 0; i < s->sight.count; i++) {
        const gl_seen *thing = &s->things[i];
        bool reached = gl_rank_reaches(&s->parameters, thing, m);
        absent |= reached && thing->presence == GL_ABSENT;
        unclear |= reached && thing->presence == GL_UNCLEAR;
        margin_seen |= (gl_spot_margins(thing->spot) & gl_spot_margins(m->spot)) != 0;
    }
    if (absent)
        return 1 - v;
    if (unclear || (gl_spot_margins(m->spot) && !margin_seen))
        return 1;
    return hasty ? 1 : 1 - v * s->parameters.silent;
}

static uint32_t things_present(const small *s) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < s->sight.count; i++)
        count += s->things[i].presence == GL_PRESENT;
    return count ? count : 1;
}

static double product_of(const small *s, const uint32_t *match, bool hasty) {
    bool met = false, taken[SMALL] = {false};
    double product = 1;
    for (uint32_t n = hasty ? things_present(s) : 0; n > 0; n--)
        product *= s->parameters.hasty;
    for (uint32_t i = 0; i < s->sight.count; i++)
        if (match[i] != GL_NONE)
            met |= s->marks[match[i]].re_entry;
    for (uint32_t i = 0; i < s->sight.count; i++) {
        const gl_seen *thing = &s->things[i];
        if (thing->presence != GL_PRESENT)
            continue;
        if (match[i] == GL_NONE) {
            product *= met && thing->trace ? s->parameters.trace : s->parameters.stray;
            continue;
        }
        taken[match[i]] = true;
        product *= gl_rank_visibility(&s->parameters, &s->marks[match[i]]) *
                   exp(gl_rank_log_fit(&s->parameters, thing, &s->marks[match[i]]));
    }
    for (uint32_t j = 0; j < s->mark_count; j++)
        product *= taken[j] ? 1 : left_factor(s, j, hasty);
    return product;
}

static double best_product(const small *s, uint32_t thing, uint32_t taken, uint32_t *match) {
    if (thing == s->sight.count || thing >= SMALL)
        return fmax(product_of(s, match, false), product_of(s, match, true));
    match[thing] = GL_NONE;
    double best = best_product(s, thing + 1, taken, match);
    for (uint32_t j = 0; j < s->mark_count && s->things[thing].presence == GL_PRESENT; j++) {
        if (taken >> j & 1)
            continue;
        match[thing] = j;
        best = fmax(best, best_product(s, thing + 1, taken | UINT32_C(1) << j, match));
    }
    match[thing] = GL_NONE;
    return best;
}

static gl_spot random_spot(uint64_t *seed) {
    return (gl_spot){random_below(seed, 8) != 0, (double)random_below(seed, 120) - 20,
                     (double)random_below(seed, 60)};
}

static void random_small(small *s, uint64_t *seed) {
    *s = (small){.parameters = glassine_ranking_default()};
    s->sight = (gl_sight){s->things, random_below(seed, SMALL + 1), NULL};
    s->mark_count = random_below(seed, SMALL + 1);
    for (uint32_t i = 0; i < s->sight.count; i++)
        s->things[i] = (gl_seen){.appearance = random_below(seed, 2),
                                 .trace = random_below(seed, 2) != 0,
                                 .spot = random_spot(seed),
                                 .presence = random_below(seed, 4) ? GL_PRESENT : random_below(seed, 3)};
    for (uint32_t j = 0; j < s->mark_count; j++)
        s->marks[j] = (gl_shown_mark){.appearance = random_below(seed, 2),
                                      .spot = random_spot(seed),
                                      .spread = random_below(seed, 3) ? -1.0 : random_below(seed, 60),
                                      .visibility = random_below(seed, 3) ? -1.0 : random_below(seed, 101),
                                      .re_entry = random_below(seed, 3) == 0};
}

static void products_against_brute_force(void **state) {
    (void)state;
    uint64_t seed = 4711;
    for (int round = 0; round < 5000; round++) {
        small s;
        random_small(&s, &seed);
        gl_ranker *ranker = gl_ranker_new(&s.parameters, &s.sight, 0);
        assert_non_null(ranker);
        const gl_explanation *why = gl_rank(ranker, s.marks, s.mark_count);
        assert_non_null(why);
        uint32_t match[SMALL];
        double best = best_product(&s, 0, 0, match);
        assert_true(fabs(why->log_product - log(best)) < 1e-9);
        double told = why->hasty ? log(s.parameters.hasty) * things_present(&s)
                                 : 0; /* the reasons add up to the weight */
        for (uint32_t i = 0; i < s.sight.count; i++)
            told += why->log_seen[i];
        for (uint32_t j = 0; j < s.mark_count; j++)
            told += why->log_mark[j];
        assert_true(fabs(told - why->log_product) < 1e-9);
        gl_ranker_free(ranker);
    }
}

/* ---- what must not matter, and what must ---- */

static void order_of_arrival_does_not_matter(void **state) {
    (void)state;
    static const char *const ids[] = {"a", "b", "c", "d", "e", "f", "g", "h"};
    uint64_t seed = 12;
    for (int round = 0; round < 500; round++) {
        gl_observation all[8], turned[8];
        for (uint32_t i = 0; i < 8; i++)
            all[i] = (gl_observation){.id = gl_span_of(ids[i]),
                                      .contributor = random_below(&seed, 3),
                                      .appearance = random_below(&seed, 2),
                                      .spot = random_spot(&seed),
                                      .presence = random_below(&seed, 3)};
        for (uint32_t i = 0; i < 8; i++)
            turned[i] = all[(i * 3 + (uint32_t)round) % 8];
        gl_sight one, other;
        assert_int_equal(gl_sight_make(all, 8, 30, &one, NULL), GLASSINE_OK);
        assert_int_equal(gl_sight_make(turned, 8, 30, &other, NULL), GLASSINE_OK);
        assert_int_equal(one.count, other.count);
        for (uint32_t i = 0; i < one.count; i++) {
            assert_memory_equal(&one.things[i].spot, &other.things[i].spot, sizeof one.things[i].spot);
            assert_int_equal(one.things[i].presence, other.things[i].presence);
            assert_int_equal(one.things[i].member_count, other.things[i].member_count);
            for (uint32_t a = 0; a < one.things[i].member_count; a++)
                for (uint32_t b = a + 1; b < one.things[i].member_count; b++)
                    assert_int_not_equal(all[one.things[i].members[a]].contributor,
                                         all[one.things[i].members[b]].contributor);
        }
        gl_sight_free(&one);
        gl_sight_free(&other);
    }
}

static json_t *case_of(json_t *root, const char *name) {
    json_t *cases = json_object_get(root, "cases");
    for (size_t i = 0; i < json_array_size(cases); i++)
        if (strcmp(text_of(json_array_get(cases, i), "name"), name) == 0)
            return json_array_get(cases, i);
    fail_msg("no case %s", name);
    return NULL;
}

/* Three positions show the seen dot alike; one of them has a scratch as well: that is where to look. */
static const char look_case[] =
    "{\"plates\":[{\"label\":\"1\",\"rows\":1,\"columns\":4}],"
    "\"marks\":[{\"plate\":\"1\",\"positions\":\"1-3\",\"appearance\":\"dot\",\"x\":20,\"y\":500},"
    "{\"plate\":\"1\",\"positions\":\"2\",\"appearance\":\"scratch\",\"x\":600,\"y\":300,\"visibility\":95},"
    "{\"plate\":\"1\",\"positions\":\"3\",\"appearance\":\"flaw\",\"x\":900,\"y\":900,\"visibility\":30}],"
    "\"observations\":[{\"id\":\"a\",\"by\":\"A\",\"appearance\":\"dot\",\"x\":20,\"y\":500}]}";

static void where_to_look_next(void **state) {
    (void)state;
    json_t *test = json_loads(look_case, 0, NULL);
    assert_non_null(test);
    ranking_case c;
    case_load(&c, test);
    gl_locate locate;
    assert_int_equal(gl_locate_make(&c.question, &locate, NULL), GLASSINE_OK);
    gl_look look;
    assert_int_equal(gl_locate_next(&c.question, &locate, &look, NULL), GLASSINE_OK);
    assert_int_equal(look.mark, 1); /* the scratch, which is seen when it is there */
    assert_true(look.bits > 0.1 && look.bits < 1);
    assert_true(look.spot.known && look.spot.x == 600);
    bool separates[1];
    uint32_t leading = gl_locate_leading(&locate, 0.95, 10);
    assert_int_equal(leading, 3);
    assert_int_equal(gl_locate_separates(&c.question, &locate, leading, separates, NULL), GLASSINE_OK);
    assert_false(separates[0]); /* the dot is on all three */
    assert_int_equal(gl_locate_separates(&c.question, &locate, locate.count, separates, NULL), GLASSINE_OK);
    assert_true(separates[0]);
    gl_locate_free(&locate);
    case_free(&c);
    json_decref(test);
}

static void nothing_left_to_look_at(void **state) {
    (void)state;
    json_t *root = vectors_load("ranking/clauses.json");
    ranking_case c;
    case_load(&c, case_of(root, "nothing known, nothing seen: the prior"));
    gl_locate locate;
    gl_look look;
    assert_int_equal(gl_locate_make(&c.question, &locate, NULL), GLASSINE_OK);
    assert_int_equal(gl_locate_next(&c.question, &locate, &look, NULL), GLASSINE_OK);
    assert_int_equal(look.mark, GL_NONE);
    gl_locate_free(&locate);
    case_free(&c);
    json_decref(root);
}

static void too_early_for_every_state(void **state) {
    (void)state;
    gl_plan *plan = plan_of(2, 2);
    const bool begun[] = {false, false};
    const gl_ranked_plate plate = {.plan = plan, .states = 2, .begun = begun};
    const glassine_ranking parameters = glassine_ranking_default();
    gl_sight sight = {NULL, 0, NULL};
    const gl_locate_question question = {&parameters, &sight, &plate, 1, NULL, 0};
    gl_locate locate;
    assert_int_equal(gl_locate_make(&question, &locate, NULL), GLASSINE_OK);
    assert_int_equal(locate.count, 0);
    assert_int_equal(locate.states_out, 2);
    gl_locate_free(&locate);
    gl_plan_free(plan);
}

static void too_many_observations(void **state) {
    (void)state;
    gl_observation *all = calloc(GL_SEEN_MOST + 1, sizeof *all);
    assert_non_null(all);
    for (uint32_t i = 0; i <= GL_SEEN_MOST; i++)
        all[i].id = GL_SPAN("x");
    gl_sight sight;
    glassine_error error;
    assert_int_equal(gl_sight_make(all, GL_SEEN_MOST + 1, 30, &sight, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "R220");
    assert_int_equal(gl_sight_make(all, GL_SEEN_MOST, 30, &sight, &error), GLASSINE_OK);
    gl_sight_free(&sight);
    free(all);
}

/* Two plates of 100,000 positions in 64 states. */
static void too_many_places(void **state) {
    (void)state;
    const glassine_layout layout = {.rows = 100, .columns = 1000};
    glassine_ranking parameters = glassine_ranking_default();
    gl_plan *plan;
    glassine_error error;
    gl_sight sight;
    gl_locate locate;
    gl_ranked_plate plates[2];
    assert_int_equal(gl_plan_new(&layout, &plan, &error), GLASSINE_OK);
    assert_int_equal(gl_sight_make(NULL, 0, 30, &sight, &error), GLASSINE_OK);
    for (size_t i = 0; i < 2; i++)
        plates[i] = (gl_ranked_plate){.plan = plan, .states = 64};
    const gl_locate_question question = {&parameters, &sight, plates, 2, NULL, 0};
    assert_int_equal(gl_locate_make(&question, &locate, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "R221");
    gl_sight_free(&sight);
    gl_plan_free(plan);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(vectors),
        cmocka_unit_test(the_worked_case),
        cmocka_unit_test(products_against_brute_force),
        cmocka_unit_test(order_of_arrival_does_not_matter),
        cmocka_unit_test(where_to_look_next),
        cmocka_unit_test(nothing_left_to_look_at),
        cmocka_unit_test(too_early_for_every_state),
        cmocka_unit_test(too_many_observations),
        cmocka_unit_test(too_many_places),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
