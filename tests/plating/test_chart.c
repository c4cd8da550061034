/* A plate as a whole: cells, and the expectation of the coupon collector. */
#include <math.h>

#include "layouts.h"
#include "plating/chart.h"

/* N · (1 + 1/2 + … + 1/N), any probability textbook: a die 14.7, 52 cards 235.98, a plate of 100 518.74. */
static void coupon_collector(void **state) {
    (void)state;
    const struct {
        uint32_t positions, found;
        double further;
    } cases[] = {{1, 0, 1.0},       {2, 0, 3.0},      {6, 0, 14.7},      {52, 0, 235.978},  {100, 0, 518.738},
                 {100, 100, 0.0},   {100, 99, 100.0}, {100, 98, 150.0},  {120, 119, 120.0}, {0, 0, 0.0},
                 {240, 239, 240.0}, {120, 121, 0.0},  {100, 50, 449.921}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_true(fabs(glassine_expected_further(cases[i].positions, cases[i].found) - cases[i].further) <
                    5e-4);
}

/* Against draws of chance: the mean of many plates completed. */
static void against_chance(void **state) {
    (void)state;
    enum { POSITIONS = 20, FOUND = 5, PLATES = 20000 };
    uint64_t seed = 20;
    double draws = 0;
    for (int plate = 0; plate < PLATES; plate++) {
        bool have[POSITIONS] = {false};
        uint32_t missing = POSITIONS - FOUND;
        for (uint32_t i = 0; i < FOUND; i++)
            have[i] = true;
        for (; missing > 0; draws++) {
            uint32_t drawn = random_below(&seed, POSITIONS);
            missing -= !have[drawn];
            have[drawn] = true;
        }
    }
    assert_true(fabs(draws / PLATES - glassine_expected_further(POSITIONS, FOUND)) <
                0.6); /* three standard deviations */
}

static void cells(void **state) {
    (void)state;
    gl_chart chart;
    assert_true(gl_chart_make(&chart, 6));
    gl_chart_place(&chart, 0, GL_PLACED, true);
    gl_chart_place(&chart, 0, GL_CORROBORATED, false);
    gl_chart_place(&chart, 1, GL_PLACED, false);
    chart.cells[1].disputed++;
    chart.cells[2].disputed++;
    chart.cells[3].disputed++;
    chart.cells[3].concluded++;
    gl_chart_close(&chart);
    assert_int_equal(chart.found, 2);
    assert_true(fabs(chart.expected_further - 12.5) < 1e-9); /* 6 · (1 + 1/2 + 1/3 + 1/4) */
    const char *const words[] = {"corroborated", "placed", "disputed", "concluded", "missing", "missing"};
    for (uint32_t i = 0; i < 6; i++)
        assert_string_equal(gl_chart_cell_word(&chart.cells[i]), words[i]);
    assert_int_equal(chart.cells[0].placed, 2);
    assert_int_equal(chart.cells[0].owned, 1);
    gl_chart_free(&chart);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(coupon_collector),
        cmocka_unit_test(against_chance),
        cmocka_unit_test(cells),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
