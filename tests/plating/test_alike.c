/* Stamp against stamp. */
#include <math.h>

#include "layouts.h"
#include "plating/alike.h"

static gl_seen at(double x, double y, gl_presence presence) {
    return (gl_seen){.appearance = 0, .spot = {true, x, y}, .presence = presence};
}

static double score(const gl_sight *one, const gl_sight *other, uint32_t pairs) {
    const glassine_ranking parameters = glassine_ranking_default();
    gl_alike alike, turned;
    assert_true(gl_alike_compare(&parameters, one, other, &alike));
    assert_true(gl_alike_compare(&parameters, other, one, &turned));
    assert_true(fabs(alike.score - turned.score) < 1e-9); /* it does not matter which is which */
    assert_int_equal(alike.pair_count, pairs);
    assert_int_equal(turned.pair_count, pairs);
    double found = alike.score;
    gl_alike_free(&alike);
    gl_alike_free(&turned);
    return found;
}

static void more_in_common_scores_more(void **state) {
    (void)state;
    gl_seen a[] = {at(100, 100, GL_PRESENT), at(500, 500, GL_PRESENT)};
    gl_seen same[] = {at(103, 99, GL_PRESENT), at(498, 505, GL_PRESENT)};
    gl_seen half[] = {at(103, 99, GL_PRESENT)};
    gl_seen none[] = {at(900, 900, GL_PRESENT)};
    gl_seen denied[] = {at(103, 99, GL_PRESENT), at(500, 500, GL_ABSENT)};
    const gl_sight one = {a, 2, NULL}, twin = {same, 2, NULL}, part = {half, 1, NULL};
    const gl_sight apart = {none, 1, NULL}, against = {denied, 2, NULL};
    double of_twin = score(&one, &twin, 2), of_part = score(&one, &part, 1),
           of_apart = score(&one, &apart, 0);
    double of_against = score(&one, &against, 1);
    assert_true(of_twin > of_part && of_part > of_against && of_against > of_apart);
    assert_true(of_twin > 0 && of_apart <= 0);
}

/* One dot on each, at one place: 0.8 in place of 0.01, either way. */
static void a_score_by_hand(void **state) {
    (void)state;
    gl_seen a[] = {at(100, 100, GL_PRESENT)};
    const gl_sight one = {a, 1, NULL};
    assert_true(fabs(score(&one, &one, 1) - log(80.0)) < 1e-9);
}

static void what_speaks_against(void **state) {
    (void)state;
    const glassine_ranking parameters = glassine_ranking_default();
    gl_seen a[] = {at(100, 100, GL_PRESENT), at(300, 300, GL_ABSENT)};
    gl_seen b[] = {at(100, 100, GL_ABSENT), at(300, 300, GL_PRESENT)};
    const gl_sight one = {a, 2, NULL}, other = {b, 2, NULL};
    gl_alike alike;
    assert_true(gl_alike_compare(&parameters, &one, &other, &alike));
    assert_int_equal(alike.pair_count, 0);
    assert_int_equal(alike.against, 2);
    gl_alike_free(&alike);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(more_in_common_scores_more),
        cmocka_unit_test(a_score_by_hand),
        cmocka_unit_test(what_speaks_against),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
