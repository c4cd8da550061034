#include "nearest.h"

#include <string.h>

/* Known words are short; what is longer is near to none of them. */
enum { LONGEST = 40 };

static size_t least(size_t a, size_t b) {
    return a < b ? a : b;
}

size_t cli_edit_distance(const char *a, const char *b) {
    size_t rows = strlen(a);
    size_t columns = strlen(b);
    if (rows > LONGEST || columns > LONGEST) {
        return LONGEST + 1;
    }
    size_t cost[LONGEST + 1][LONGEST + 1];
    for (size_t i = 0; i <= rows; i++) {
        for (size_t j = 0; j <= columns; j++) {
            if (i == 0 || j == 0) {
                cost[i][j] = i + j;
                continue;
            }
            size_t change = a[i - 1] == b[j - 1] ? 0 : 1;
            cost[i][j] = least(least(cost[i - 1][j], cost[i][j - 1]) + 1, cost[i - 1][j - 1] + change);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                cost[i][j] = least(cost[i][j], cost[i - 2][j - 2] + 1);
            }
        }
    }
    return cost[rows][columns];
}

cli_nearest cli_nearest_start(const char *typed) {
    /* Half of a word may be wrong, but never all of it. */
    return (cli_nearest){.typed = typed, .best = NULL, .distance = strlen(typed) / 2 + 1};
}

void cli_nearest_try(cli_nearest *nearest, const char *candidate) {
    size_t distance = cli_edit_distance(nearest->typed, candidate);
    if (distance < nearest->distance) {
        nearest->distance = distance;
        nearest->best = candidate;
    }
}
