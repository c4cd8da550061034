/* Places on a plate and their names. */
#include "layouts.h"

/* Published descriptions of British line-engraved plates: 240 subjects in 20 rows of 12, lettered AA at the
 * top left to TL at the bottom right. */
static void corner_letters_of_240(void **state) {
    (void)state;
    gl_plan *plan = plan_make((glassine_layout){.rows = 20, .columns = 12, .corner_letters = true});
    assert_int_equal(plan->count, 240);
    assert_string_equal(gl_plan_place(plan, 0).letters, "AA");
    assert_int_equal(gl_plan_place(plan, 0).number, 1);
    assert_string_equal(gl_plan_place(plan, 11).letters, "AL");
    assert_string_equal(gl_plan_place(plan, 12).letters, "BA");
    assert_string_equal(gl_plan_place(plan, 239).letters, "TL");
    assert_int_equal(gl_plan_place(plan, 239).number, 240);
    for (uint32_t i = 0; i < plan->count; i++) {
        glassine_place place = gl_plan_place(plan, i);
        assert_int_equal(place.letters[0], 'A' + (int)(i / 12));
        assert_int_equal(place.letters[1], 'A' + (int)(i % 12));
        assert_int_equal(gl_plan_from_letters(plan, place.letters[0], place.letters[1]), i);
    }
    assert_int_equal(gl_plan_from_letters(plan, 't', 'l'), 239);
    assert_int_equal(gl_plan_from_letters(plan, 'U', 'A'), GL_NONE);
    assert_int_equal(gl_plan_from_letters(plan, 'A', 'M'), GL_NONE);
    gl_plan_free(plan);
}

/* Letters run through the whole sheet, whatever panes it has, and end with the alphabet. */
static void corner_letters_of_sheets(void **state) {
    (void)state;
    gl_plan *panes = plan_make((glassine_layout){
        .rows = 5, .columns = 4, .panes_across = 3, .panes_down = 4, .corner_letters = true});
    assert_int_equal(panes->count, 240);
    assert_string_equal(gl_plan_place(panes, 239).letters, "TL");
    assert_string_equal(gl_plan_place(panes, 20).letters, "AE"); /* the second pane's first */
    gl_plan_free(panes);
    gl_plan *widest = plan_make((glassine_layout){.rows = 26, .columns = 26, .corner_letters = true});
    assert_string_equal(gl_plan_place(widest, 675).letters, "ZZ");
    gl_plan_free(widest);
    gl_plan *wider = plan_make((glassine_layout){.rows = 2, .columns = 27, .corner_letters = true});
    assert_string_equal(gl_plan_place(wider, 0).letters, "");
    assert_int_equal(gl_plan_from_letters(wider, 'A', 'A'), GL_NONE);
    gl_plan_free(wider);
    gl_plan *without = plan_of(20, 12);
    assert_string_equal(gl_plan_place(without, 0).letters, "");
    gl_plan_free(without);
}

typedef struct place_case {
    glassine_layout layout;
    uint32_t position, number, pane, row, column, sheet_row, sheet_column;
} place_case;

static void places(void **state) {
    (void)state;
    const glassine_layout across = {.rows = 12, .columns = 10};
    const glassine_layout down = {.rows = 12, .columns = 10, .numbering = GLASSINE_DOWN};
    const glassine_layout panes = {.rows = 10, .columns = 10, .panes_across = 2, .panes_down = 2};
    const glassine_layout sheet = {
        .rows = 10, .columns = 10, .panes_across = 2, .panes_down = 2, .numbering = GLASSINE_ACROSS_SHEET};
    const place_case cases[] = {
        {across, 0, 1, 0, 1, 1, 1, 1},         {across, 63, 64, 0, 7, 4, 7, 4},
        {across, 119, 120, 0, 12, 10, 12, 10}, {down, 11, 12, 0, 12, 1, 12, 1},
        {down, 12, 13, 0, 1, 2, 1, 2},         {panes, 106, 7, 1, 1, 7, 1, 17},
        {panes, 200, 1, 2, 1, 1, 11, 1},       {panes, 399, 100, 3, 10, 10, 20, 20},
        {sheet, 10, 11, 1, 1, 1, 1, 11},       {sheet, 20, 21, 0, 2, 1, 2, 1},
        {sheet, 200, 201, 2, 1, 1, 11, 1},     {sheet, 399, 400, 3, 10, 10, 20, 20},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gl_plan *plan = plan_make(cases[i].layout);
        glassine_place place = gl_plan_place(plan, cases[i].position);
        assert_int_equal(place.number, cases[i].number);
        assert_int_equal(place.pane, cases[i].pane);
        assert_int_equal(place.row, cases[i].row);
        assert_int_equal(place.column, cases[i].column);
        assert_int_equal(place.sheet_row, cases[i].sheet_row);
        assert_int_equal(place.sheet_column, cases[i].sheet_column);
        gl_plan_free(plan);
    }
}

static void random_layouts_there_and_back(void **state) {
    (void)state;
    uint64_t seed = 20261125;
    for (int round = 0; round < 300; round++) {
        gl_plan *plan = plan_make((glassine_layout){.rows = 1 + random_below(&seed, 13),
                                                    .columns = 1 + random_below(&seed, 13),
                                                    .panes_across = 1 + random_below(&seed, 3),
                                                    .panes_down = 1 + random_below(&seed, 3),
                                                    .numbering = random_below(&seed, 3),
                                                    .corner_letters = random_below(&seed, 2) != 0});
        for (uint32_t i = 0; i < plan->count; i++) {
            glassine_place place = gl_plan_place(plan, i);
            assert_int_equal(place.position, i);
            assert_int_equal(gl_plan_from_pane(plan, place.pane, place.row, place.column), i);
            assert_int_equal(gl_plan_from_sheet(plan, place.sheet_row, place.sheet_column), i);
            if (place.letters[0])
                assert_int_equal(gl_plan_from_letters(plan, place.letters[0], place.letters[1]), i);
            assert_int_equal(gl_plan_index(plan, gl_plan_cell(plan, i)), i);
            glassine_place mirrored = gl_plan_place(plan, gl_plan_mirror(plan, i));
            assert_int_equal(mirrored.sheet_row, place.sheet_row);
            assert_int_equal(mirrored.sheet_column + place.sheet_column,
                             plan->columns * plan->panes_across + 1);
            assert_int_equal(gl_plan_mirror(plan, mirrored.position), i);
        }
        gl_plan_free(plan);
    }
}

static void neighbours_stay_in_their_pane(void **state) {
    (void)state;
    gl_plan *plan = plan_of_panes("1");
    assert_int_equal(gl_plan_step(plan, 0, 0, 1), 1);
    assert_int_equal(gl_plan_step(plan, 0, 1, 0), 10);
    assert_int_equal(gl_plan_step(plan, 9, 0, 1), GL_NONE); /* the pane's edge, though the sheet goes on */
    assert_int_equal(gl_plan_step(plan, 100, 0, -1), GL_NONE);
    assert_int_equal(gl_plan_step(plan, 155, -5, 4), 109);
    assert_int_equal(gl_plan_step(plan, 155, INT64_MIN, INT64_MAX), GL_NONE);
    gl_plan_free(plan);
}

static void names_of_panes(void **state) {
    (void)state;
    const struct {
        uint32_t across, down;
        const char *first, *last;
    } cases[] = {{2, 1, "L", "R"}, {1, 2, "T", "B"}, {2, 2, "UL", "LR"}, {3, 1, "A", "C"}, {9, 3, "A", "AA"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gl_plan *plan = plan_make((glassine_layout){
            .rows = 2, .columns = 2, .panes_across = cases[i].across, .panes_down = cases[i].down});
        assert_string_equal(plan->names[0], cases[i].first);
        assert_string_equal(plan->names[plan->panes - 1], cases[i].last);
        gl_plan_free(plan);
    }
    gl_plan *given = plan_make(
        (glassine_layout){.rows = 2, .columns = 2, .panes_across = 2, .pane_names = "Gauche, Droite"});
    assert_int_equal(gl_plan_pane_find(given, GL_SPAN("droite")), 1);
    gl_plan_free(given);
    gl_plan *single = plan_of(2, 2);
    assert_null(gl_plan_place(single, 0).pane_name);
    gl_plan_free(single);
}

static void refused_layouts(void **state) {
    (void)state;
    const struct {
        glassine_layout layout;
        const char *rule;
    } cases[] = {
        {{.rows = 0, .columns = 10}, "R210"},
        {{.rows = 10, .columns = 0}, "R210"},
        {{.rows = 1000, .columns = 101}, "R210"},
        {{.rows = UINT32_MAX, .columns = UINT32_MAX}, "R210"},
        {{.rows = 1, .columns = 1, .panes_across = UINT32_MAX, .panes_down = UINT32_MAX}, "R210"},
        {{.rows = 2, .columns = 2, .panes_across = 2, .pane_names = "L"}, "R211"},
        {{.rows = 2, .columns = 2, .panes_across = 2, .pane_names = "L,M,R"}, "R211"},
        {{.rows = 2, .columns = 2, .panes_across = 2, .pane_names = "L,l"}, "R211"},
        {{.rows = 2, .columns = 2, .panes_across = 2, .pane_names = "L,"}, "R211"},
        {{.rows = 2, .columns = 2, .panes_across = 2, .pane_names = "L,R2"}, "R211"},
        {{.rows = 2, .columns = 2, .panes_across = 2, .pane_names = "L,Row"}, "R211"},
        {{.rows = 2, .columns = 2, .pane_names = "abcdefghijklmnopq"}, "R211"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        gl_plan *plan;
        glassine_error error;
        assert_int_equal(gl_plan_new(&cases[i].layout, &plan, &error), GLASSINE_REFUSED);
        assert_string_equal(error.rule, cases[i].rule);
        assert_null(plan);
    }
    gl_plan *most = plan_of(1000, 100);
    assert_int_equal(most->count, 100000);
    gl_plan_free(most);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corner_letters_of_240),
        cmocka_unit_test(corner_letters_of_sheets),
        cmocka_unit_test(places),
        cmocka_unit_test(random_layouts_there_and_back),
        cmocka_unit_test(neighbours_stay_in_their_pane),
        cmocka_unit_test(names_of_panes),
        cmocka_unit_test(refused_layouts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
