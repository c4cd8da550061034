/* The parameters of the ranking: their defaults, of which spec/ranking.md has the reason, and their bounds.
 */
#include "plating/rank.h"

#include <stddef.h>
#include <string.h>

glassine_ranking glassine_ranking_default(void) {
    return (glassine_ranking){.visibility = 0.8,
                              .visibility_least = 0.05,
                              .visibility_most = 0.95,
                              .spread_least = 15,
                              .together = 30,
                              .other_appearance = 0.03,
                              .no_place = 0.3,
                              .stray = 0.01,
                              .stray_shared = 0.03,
                              .stray_least = 0.00025,
                              .trace = 0.5,
                              .reach = 3,
                              .silent = 0.5,
                              .hasty = 0.3};
}

/* A factor of 0, of which a product never comes back, would leave nothing to compare: what is always used is
 * at least TINY. */
#define TINY 1e-9
#define LARGE 1e6 /* thousandths: a thousand times the design */

typedef struct bound {
    const char *name;
    size_t slot;
    double least, most;
} bound;

#define BOUND(name, least, most)                                                                             \
    { #name, offsetof(glassine_ranking, name), least, most }
static const bound BOUNDS[] = {
    BOUND(visibility, TINY, 1 - TINY),
    BOUND(visibility_least, TINY, 1 - TINY),
    BOUND(visibility_most, TINY, 1 - TINY),
    BOUND(spread_least, TINY, LARGE),
    BOUND(together, 0, LARGE),
    BOUND(other_appearance, 0, 1),
    BOUND(no_place, 0, 1),
    BOUND(stray, TINY, 1),
    BOUND(stray_shared, 0, LARGE),
    BOUND(stray_least, TINY, 1),
    BOUND(trace, TINY, 1),
    BOUND(reach, 0, LARGE),
    BOUND(silent, 0, 1),
    BOUND(hasty, 0, 1),
};

glassine_status gl_ranking_check(const glassine_ranking *ranking, glassine_error *error) {
    for (size_t i = 0; i < sizeof BOUNDS / sizeof BOUNDS[0]; i++) {
        double value;
        memcpy(&value, (const char *)ranking + BOUNDS[i].slot, sizeof value);
        if (!(value >= BOUNDS[i].least && value <= BOUNDS[i].most))
            return gl_fail(error, GLASSINE_REFUSED, NULL, BOUNDS[i].name, "%g is not from %g to %.10g", value,
                           BOUNDS[i].least, BOUNDS[i].most);
    }
    return GLASSINE_OK;
}
