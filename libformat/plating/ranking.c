/* The default parameters of the ranking; spec/ranking.md has the reason of each. */
#include "glassine.h"

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
