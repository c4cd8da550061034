/* Plates and positions as a program that links the library sees them: every way to a place leads back to it,
 * and an expression means the set that it prints. */
#include "layouts.h"

static glassine_plan *published_plan(glassine_layout layout) {
    glassine_plan *plan = NULL;
    glassine_error error = {0};
    assert_int_equal(glassine_plan_new(&layout, &plan, &error), GLASSINE_OK);
    return plan;
}

static void every_way_leads_back(void **state) {
    (void)state;
    const glassine_layout layouts[] = {
        {.rows = 20, .columns = 12, .corner_letters = true},
        {.rows = 10, .columns = 6, .panes_across = 2, .panes_down = 2},
        {.rows = 5, .columns = 8, .panes_across = 3, .numbering = GLASSINE_ACROSS_SHEET},
        {.rows = 12, .columns = 10, .numbering = GLASSINE_DOWN},
    };
    for (size_t i = 0; i < sizeof layouts / sizeof *layouts; i++) {
        glassine_plan *plan = published_plan(layouts[i]);
        for (uint32_t at = 0; at < glassine_plan_count(plan); at++) {
            glassine_place place = glassine_plan_place(plan, at);
            assert_int_equal(place.position, at);
            assert_int_equal(glassine_plan_from_pane(plan, place.pane, place.row, place.column), at);
            assert_int_equal(glassine_plan_from_sheet(plan, place.sheet_row, place.sheet_column), at);
            if (layouts[i].corner_letters)
                assert_int_equal(glassine_plan_from_letters(plan, place.letters[0], place.letters[1]), at);
            assert_int_equal(glassine_plan_mirror(plan, glassine_plan_mirror(plan, at)), at);
            uint32_t below = glassine_plan_neighbour(plan, at, 1, 0);
            if (below != GLASSINE_NOWHERE)
                assert_int_equal(glassine_plan_neighbour(plan, below, -1, 0), at);
            assert_int_equal(below == GLASSINE_NOWHERE, place.row == layouts[i].rows);
        }
        assert_int_equal(glassine_plan_from_pane(plan, 0, layouts[i].rows + 1, 1), GLASSINE_NOWHERE);
        assert_int_equal(glassine_plan_from_letters(plan, '?', 'A'), GLASSINE_NOWHERE);
        glassine_plan_free(plan);
    }
}

/* Published descriptions of British line-engraved plates: 20 rows of 12 are lettered AA to TL. */
static void letters(void **state) {
    (void)state;
    glassine_plan *plan =
        published_plan((glassine_layout){.rows = 20, .columns = 12, .corner_letters = true});
    assert_string_equal(glassine_plan_place(plan, 0).letters, "AA");
    assert_string_equal(glassine_plan_place(plan, 239).letters, "TL");
    assert_int_equal(glassine_plan_from_letters(plan, 'U', 'A'), GLASSINE_NOWHERE);
    glassine_plan_free(plan);
}

static void a_set_is_what_it_prints(void **state) {
    (void)state;
    static const char *const texts[] = {"41",   "row 4 but not 41", "column 4",
                                        "R6/3", "1-12, 30, 40-49",  "any"};
    glassine_plan *plan = published_plan((glassine_layout){.rows = 12, .columns = 10});
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        glassine_positions *one, *again;
        glassine_error error = {0};
        uint32_t count = 0;
        assert_int_equal(glassine_positions_parse(plan, texts[i], &one, NULL, &error), GLASSINE_OK);
        const char *printed = glassine_positions_expression(one);
        assert_int_equal(glassine_positions_parse(plan, printed, &again, NULL, &error), GLASSINE_OK);
        for (uint32_t at = 0; at < glassine_plan_count(plan); at++)
            assert_int_equal(glassine_positions_has(one, at), glassine_positions_has(again, at));
        for (uint32_t at = glassine_positions_next(one, 0); at != GLASSINE_NOWHERE;
             at = glassine_positions_next(one, at + 1)) {
            assert_true(glassine_positions_has(one, at));
            count++;
        }
        assert_int_equal(count, glassine_positions_count(one));
        assert_string_equal(glassine_positions_state(one), "");
        glassine_positions_free(one);
        glassine_positions_free(again);
    }
    glassine_plan_free(plan);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_way_leads_back),
        cmocka_unit_test(letters),
        cmocka_unit_test(a_set_is_what_it_prints),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
