#include "plating/alike.h"

#include <math.h>
#include <stdlib.h>

/* What is present on a stamp, as the marks of a place. */
static uint32_t as_marks(const gl_sight *sight, gl_shown_mark *marks) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < sight->count; i++)
        if (sight->things[i].presence == GL_PRESENT)
            marks[count++] = (gl_shown_mark){.mark = i,
                                             .appearance = sight->things[i].appearance,
                                             .spot = sight->things[i].spot,
                                             .spread = -1,
                                             .visibility = -1};
    return count;
}

static uint32_t count_present(const gl_sight *sight) {
    uint32_t count = 0;
    for (uint32_t i = 0; i < sight->count; i++)
        count += sight->things[i].presence == GL_PRESENT;
    return count;
}

static void keep_pairs(gl_alike *alike, const gl_explanation *why, const gl_sight *one, const gl_sight *other,
                       const gl_shown_mark *marks) {
    for (uint32_t i = 0; i < one->count; i++) {
        if (why->mark_of[i] == GL_NONE)
            continue;
        uint32_t met = marks[why->mark_of[i]].mark;
        bool placed = one->things[i].spot.known && other->things[met].spot.known;
        alike->pairs[alike->pair_count++] = (gl_alike_pair){
            i, met, placed ? gl_spot_distance(one->things[i].spot, other->things[met].spot) : -1};
    }
}

/* How much better `one` is explained by what `other` shows than by chance. */
static bool rank_by(const glassine_ranking *parameters, const gl_sight *one, const gl_sight *other,
                    bool pairs, gl_alike *alike) {
    gl_shown_mark *marks = calloc((size_t)other->count + 1, sizeof *marks);
    gl_ranker *ranker = gl_ranker_new(parameters, one, 0);
    uint32_t count = marks ? as_marks(other, marks) : 0;
    const gl_explanation *why = marks && ranker ? gl_rank(ranker, marks, count) : NULL;
    if (why) {
        alike->score += (why->log_product - count_present(one) * log(parameters->stray)) / 2;
        for (uint32_t j = 0; j < count; j++)
            alike->against += why->verdict[j] == GL_MARK_DENIED;
        if (pairs)
            keep_pairs(alike, why, one, other, marks);
    }
    free(marks);
    gl_ranker_free(ranker);
    return why != NULL;
}

bool gl_alike_compare(const glassine_ranking *parameters, const gl_sight *one, const gl_sight *other,
                      gl_alike *alike) {
    *alike = (gl_alike){0};
    alike->pairs = calloc((size_t)one->count + 1, sizeof *alike->pairs);
    if (!alike->pairs || !rank_by(parameters, one, other, true, alike) ||
        !rank_by(parameters, other, one, false, alike)) {
        gl_alike_free(alike);
        return false;
    }
    return true;
}

void gl_alike_free(gl_alike *alike) {
    free(alike->pairs);
    *alike = (gl_alike){0};
}
