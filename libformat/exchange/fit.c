/* The largest pictures that fit into so many bytes. */
#include <math.h>

#include "bundle/bundle.h"

enum { FINENESS = 20, GUESSES = 5 };

/* Where to try next between `low`, which fits, and `high`, which does not: a file grows a little more slowly
 * than its pixels do, so a guess by the power of 1.7 is near; after some guesses, the middle. */
static uint32_t next_try(uint32_t low, uint32_t high, uint32_t last, uint64_t found, uint64_t wanted,
                         unsigned tries) {
    double guess = tries < GUESSES && found ? last * pow((double)wanted / (double)found, 1 / 1.7)
                                            : ((double)low + high) / 2;
    if (guess <= low + 1)
        return low + 1;
    return guess >= high - 1 ? high - 1 : (uint32_t)guess;
}

glassine_status glassine_limit_fit(uint32_t most, uint64_t bytes,
                                   glassine_status (*measure)(void *context, uint32_t limit, uint64_t *bytes,
                                                              glassine_error *error),
                                   void *context, uint32_t *limit, glassine_error *error) {
    uint32_t low = 0, high = (most < FINENESS ? FINENESS : most) / FINENESS + 1, last = high - 1;
    uint64_t found = 0;
    glassine_status status = GLASSINE_OK;
    for (unsigned tries = 0; low + 1 < high && !status; tries++) {
        if (tries)
            last = next_try(low, high, last, found, bytes, tries);
        status = measure(context, last * FINENESS, &found, error);
        if (found <= bytes)
            low = last;
        else
            high = last;
    }
    if (!status && low && last != low)
        status = measure(context, low * FINENESS, &found, error);
    *limit = low * FINENESS;
    return status;
}
