/* The assignment against brute force over every matching. */
#include <math.h>

#include "layouts.h"
#include "plating/assignment.h"

/* Greatest sum over all ways to give rows from `row` on columns that are not in `taken`, or none. */
static double best_of_all(const double *gain, uint32_t rows, uint32_t columns, uint32_t row, uint32_t taken) {
    if (row == rows)
        return 0;
    double best = best_of_all(gain, rows, columns, row + 1, taken);
    for (uint32_t column = 0; column < columns; column++) {
        if (taken >> column & 1)
            continue;
        double sum = gain[row * columns + column] +
                     best_of_all(gain, rows, columns, row + 1, taken | UINT32_C(1) << column);
        best = sum > best ? sum : best;
    }
    return best;
}

static double sum_of(const double *gain, uint32_t rows, uint32_t columns, const uint32_t *match) {
    uint32_t taken = 0;
    double sum = 0;
    for (uint32_t row = 0; row < rows; row++) {
        if (match[row] == GL_NONE)
            continue;
        assert_true(match[row] < columns);
        assert_false(taken >> match[row] & 1);
        taken |= UINT32_C(1) << match[row];
        sum += gain[row * columns + match[row]];
    }
    return sum;
}

static void against_brute_force(void **state) {
    (void)state;
    uint64_t seed = 5000;
    for (int round = 0; round < 5000; round++) {
        uint32_t rows = random_below(&seed, 6), columns = random_below(&seed, 6);
        double gain[36];
        bool coarse = random_below(&seed, 2) != 0; /* many ties */
        for (uint32_t i = 0; i < rows * columns; i++)
            gain[i] = coarse ? (double)random_below(&seed, 7) - 3
                             : (double)random_below(&seed, 2000001) / 100000.0 - 10.0;
        uint32_t match[6];
        assert_true(gl_assign(gain, rows, columns, match));
        double sum = sum_of(gain, rows, columns, match);
        assert_true(fabs(sum - best_of_all(gain, rows, columns, 0, 0)) < 1e-9);
    }
}

static void left_out_where_it_costs(void **state) {
    (void)state;
    const double gain[] = {-1, -2, -3, -4};
    uint32_t match[2];
    assert_true(gl_assign(gain, 2, 2, match));
    assert_int_equal(match[0], GL_NONE);
    assert_int_equal(match[1], GL_NONE);
}

/* A single greedy choice would take 10 and lose. */
static void better_than_greedy(void **state) {
    (void)state;
    const double gain[] = {10, 9, 9, -50};
    uint32_t match[2];
    assert_true(gl_assign(gain, 2, 2, match));
    assert_int_equal(match[0], 1);
    assert_int_equal(match[1], 0);
}

static void large_and_lopsided(void **state) {
    (void)state;
    enum { ROWS = 3, COLUMNS = 2000 };
    double *gain = calloc((size_t)ROWS * COLUMNS, sizeof *gain);
    assert_non_null(gain);
    for (uint32_t row = 0; row < ROWS; row++)
        gain[row * COLUMNS + 1999 - row] = 5;
    uint32_t match[ROWS];
    assert_true(gl_assign(gain, ROWS, COLUMNS, match));
    for (uint32_t row = 0; row < ROWS; row++)
        assert_int_equal(match[row], 1999 - row);
    uint32_t turned[COLUMNS];
    assert_true(gl_assign(gain, COLUMNS, ROWS, turned)); /* the same numbers, read as 2000 rows of 3 */
    uint32_t taken = 0;
    for (uint32_t row = 0; row < COLUMNS; row++)
        taken += turned[row] != GL_NONE && gain[row * ROWS + turned[row]] > 0;
    assert_int_equal(taken, 3);
    free(gain);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(against_brute_force),
        cmocka_unit_test(left_out_where_it_costs),
        cmocka_unit_test(better_than_greedy),
        cmocka_unit_test(large_and_lopsided),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
