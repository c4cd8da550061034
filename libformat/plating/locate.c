#include "plating/locate.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>

/* ---- the prior ---- */

static bool has_begun(const gl_ranked_plate *plate, uint32_t state) {
    return !plate->begun || plate->begun[state];
}

static uint32_t states_left(const gl_ranked_plate *plate) {
    uint32_t left = 0;
    for (uint32_t state = 0; state < plate->states; state++)
        left += has_begun(plate, state);
    return left;
}

static bool in_question(const gl_ranked_plate *plate, uint32_t position) {
    return !plate->within || gl_posset_has(plate->within, position);
}

static uint32_t positions_in_question(const gl_ranked_plate *plate) {
    return plate->within ? gl_posset_count(plate->within) : plate->plan->count;
}

/* Every pair of plate and position alike, then every state of it that is left. */
static uint64_t count_pairs(const gl_locate_question *question, uint64_t *places) {
    uint64_t pairs = 0;
    *places = 0;
    for (uint32_t i = 0; i < question->plate_count; i++) {
        uint64_t left = states_left(&question->plates[i]),
                 positions = positions_in_question(&question->plates[i]);
        pairs += left ? positions : 0;
        *places += left * positions;
    }
    return pairs;
}

uint64_t gl_locate_pairs(const gl_locate_question *question) {
    uint64_t pairs = 0;
    for (uint32_t i = 0; i < question->plate_count; i++)
        pairs += states_left(&question->plates[i]) ? question->plates[i].plan->count : 0;
    return pairs;
}

/* ---- weighing ---- */

typedef struct weighing {
    const gl_locate_question *question;
    gl_ranker *ranker;
    gl_shown_list list;
    gl_locate *locate;
    uint64_t pairs;
} weighing;

static bool weigh_place(weighing *w, uint32_t plate, uint32_t position, uint32_t state, double log_prior) {
    if (!gl_locate_shown(w->question, plate, position, state, &w->list))
        return false;
    const gl_explanation *why = gl_rank(w->ranker, w->list.marks, w->list.count);
    if (!why)
        return false;
    w->locate->places[w->locate->count++] =
        (gl_ranked_place){plate, position, state, 0, why->log_product + log_prior, why->hasty};
    return true;
}

static bool weigh_plate(weighing *w, uint32_t number) {
    const gl_ranked_plate *plate = &w->question->plates[number];
    uint32_t left = states_left(plate);
    w->locate->states_out += plate->states - left;
    if (left == 0)
        return true;
    double log_prior = -log((double)w->pairs) - log((double)left);
    for (uint32_t position = 0; position < plate->plan->count; position++) {
        for (uint32_t state = 0; state < plate->states && in_question(plate, position); state++)
            if (has_begun(plate, state) && !weigh_place(w, number, position, state, log_prior))
                return false;
    }
    return true;
}

/* Log weights that agree to nine decimals are a tie: machines differ in the last digits of a logarithm. */
static int64_t rank_of(const gl_ranked_place *place) {
    return (int64_t)llround(place->log_weight * 1e9);
}

static int compare_numbers(uint32_t a, uint32_t b) {
    return a < b ? -1 : a > b;
}

static int place_order(const void *left, const void *right) {
    const gl_ranked_place *a = left, *b = right;
    int64_t rank_a = rank_of(a), rank_b = rank_of(b);
    if (rank_a != rank_b)
        return rank_a > rank_b ? -1 : 1;
    int order = compare_numbers(a->plate, b->plate);
    order = order ? order : compare_numbers(a->position, b->position);
    return order ? order : compare_numbers(a->state, b->state);
}

/* The smallest are added first, so that the sum does not lose them. */
static void normalise(gl_locate *locate) {
    if (locate->count == 0)
        return;
    double greatest = locate->places[0].log_weight, sum = 0;
    for (uint32_t i = locate->count; i-- > 0;)
        sum += locate->places[i].weight = exp(locate->places[i].log_weight - greatest);
    for (uint32_t i = 0; i < locate->count; i++)
        locate->places[i].weight /= sum;
}

glassine_status gl_locate_make(const gl_locate_question *question, gl_locate *locate, glassine_error *error) {
    *locate = (gl_locate){NULL, 0, 0};
    uint64_t places = 0;
    weighing w = {.question = question, .locate = locate};
    w.pairs = count_pairs(question, &places);
    if (places > GL_PLACES_MOST)
        return gl_fail(error, GLASSINE_REFUSED, "R221", NULL,
                       "there are %" PRIu64 " places to rank, and %u are the most", places, GL_PLACES_MOST);
    locate->places = calloc(places ? (size_t)places : 1, sizeof *locate->places);
    w.ranker = gl_ranker_new(question->parameters, question->sight, gl_locate_pairs(question));
    bool room = locate->places && w.ranker;
    for (uint32_t i = 0; i < question->plate_count && room; i++)
        room = weigh_plate(&w, i);
    gl_ranker_free(w.ranker);
    free(w.list.marks);
    if (!room) {
        gl_locate_free(locate);
        return gl_fail_memory(error);
    }
    qsort(locate->places, locate->count, sizeof *locate->places, place_order);
    normalise(locate);
    return GLASSINE_OK;
}

void gl_locate_free(gl_locate *locate) {
    free(locate->places);
    *locate = (gl_locate){NULL, 0, 0};
}

/* ---- what the leading places have in common ---- */

uint32_t gl_locate_leading(const gl_locate *locate, double share, uint32_t most) {
    double sum = 0;
    uint32_t leading = 0;
    while (leading < locate->count && leading < most && sum < share)
        sum += locate->places[leading++].weight;
    return leading;
}

glassine_status gl_locate_separates(const gl_locate_question *question, const gl_locate *locate,
                                    uint32_t leading, bool *separates, glassine_error *error) {
    uint32_t things = question->sight->count;
    gl_ranker *ranker = gl_ranker_new(question->parameters, question->sight, gl_locate_pairs(question));
    double *first = calloc(things + 1, sizeof *first);
    gl_shown_list list = {NULL, 0, 0};
    bool room = ranker && first;
    for (uint32_t i = 0; i < things; i++)
        separates[i] = false;
    for (uint32_t i = 0; i < leading && room; i++) {
        const gl_ranked_place *place = &locate->places[i];
        room = gl_locate_shown(question, place->plate, place->position, place->state, &list);
        const gl_explanation *why = room ? gl_rank(ranker, list.marks, list.count) : NULL;
        room = why != NULL;
        for (uint32_t thing = 0; room && thing < things; thing++) {
            if (i == 0)
                first[thing] = why->log_seen[thing];
            separates[thing] |= fabs(why->log_seen[thing] - first[thing]) > 0.01;
        }
    }
    gl_ranker_free(ranker);
    free(first);
    free(list.marks);
    return room ? GLASSINE_OK : gl_fail_memory(error);
}
