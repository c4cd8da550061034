/* Perforation gauges by their definition (holes to 20 millimetres), and the inch of 25.4 millimetres. */
#include <stdio.h>

#include "layouts.h"

static void gauges(void **state) {
    (void)state;
    const struct {
        uint32_t pitches;
        uint64_t length_um;
        unsigned hundredths, tenths, quarters;
    } cases[] = {
        {12, 20000, 1200, 120, 48},                              /* twelve holes to 20 mm: the definition */
        {11, 20000, 1100, 110, 44},  {14, 24000, 1167, 117, 47}, /* 11.666…: a long side */
        {13, 22127, 1175, 118, 47},                              /* 11.7503… */
        {23, 40000, 1150, 115, 46},  {1, 32000, 63, 6, 3},       /* 0.625: halves up to the hundredth, .625
                                                                    quarter 2.5 up */
        {47, 80000, 1175, 118, 47},                              /* 11.75 exactly: the tenth's half goes up */
        {93, 160000, 1163, 116, 47}, /* 11.625: half-way between two quarters, up */
        {0, 20000, 0, 0, 0},         {12, 0, 0, 0, 0},           {UINT32_MAX, 1, 0, 0, 0},
        {1, UINT64_MAX, 0, 0, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        glassine_gauge gauge = glassine_gauge_of(cases[i].pitches, cases[i].length_um);
        assert_int_equal(gauge.hundredths, cases[i].hundredths);
        assert_int_equal(gauge.tenths, cases[i].tenths);
        assert_int_equal(gauge.quarters, cases[i].quarters);
    }
}

/* Each figure is the nearest to the exact quotient, against long division in floating point. */
static void gauges_are_nearest(void **state) {
    (void)state;
    uint64_t seed = 20;
    for (int round = 0; round < 20000; round++) {
        uint32_t pitches = 1 + random_below(&seed, 40);
        uint64_t length = 8000 + random_below(&seed, 60000);
        long double exact = 20000.0L * pitches / (long double)length;
        glassine_gauge gauge = glassine_gauge_of(pitches, length);
        const struct {
            unsigned value;
            long double unit;
        } figures[] = {{gauge.hundredths, 100}, {gauge.tenths, 10}, {gauge.quarters, 4}};
        for (int i = 0; i < 3; i++) {
            long double off = (long double)figures[i].value - exact * figures[i].unit;
            assert_true(off > -0.5L - 1e-9L && off <= 0.5L + 1e-9L);
        }
    }
}

static void gauges_in_print(void **state) {
    (void)state;
    char text[32];
    glassine_gauge eleven_three_quarters = glassine_gauge_of(14, 24000),
                   twelve = glassine_gauge_of(12, 20000);
    glassine_gauge nearly_twelve = glassine_gauge_of(12, 20100);
    glassine_gauge_print(eleven_three_quarters, &twelve, text, sizeof text);
    assert_string_equal(text, "11¾ × 12");
    glassine_gauge_print(twelve, &eleven_three_quarters, text, sizeof text);
    assert_string_equal(text, "12 × 11¾");
    glassine_gauge_print(twelve, &nearly_twelve, text, sizeof text);
    assert_string_equal(text, "12");
    glassine_gauge_print(glassine_gauge_of(25, 40000), NULL, text, sizeof text);
    assert_string_equal(text, "12½");
}

static void pixels(void **state) {
    (void)state;
    assert_int_equal(glassine_um_from_pixels(1200, 120000), 25400); /* an inch at 1200 dots */
    assert_int_equal(glassine_um_from_pixels(1, 120000), 21);       /* 21.1666… */
    assert_int_equal(glassine_um_from_pixels(1, 0), 0);
    assert_int_equal(glassine_um_from_pixels(UINT64_MAX, 120000), 0);
    assert_int_equal(glassine_pixels_from_um(25400, 60000), 600);
    assert_int_equal(glassine_pixels_from_um(UINT64_MAX, 60000), 0);
    for (uint64_t n = 0; n < 5000; n++) /* below 25 400 dots per inch nothing is lost on the way */
        assert_int_equal(glassine_pixels_from_um(glassine_um_from_pixels(n, 240000), 240000), n);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gauges),
        cmocka_unit_test(gauges_are_nearest),
        cmocka_unit_test(gauges_in_print),
        cmocka_unit_test(pixels),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
