/* Is a weight of the ranking a probability? Plates with random marks, stamps from known positions, observers
 * who miss, misplace, misname and invent at stated rates; then how often the true place comes first, or among
 * the first three, and for each tenth of the scale how often a place of that weight is the true one. Mixtures
 * of careful observers are told twice: with the default parameters, and with those that suit them.
 *
 *     bench_calibration [STAMPS [SEED]]       of each mixture; 4000, 1861
 *
 * Numbers in, numbers out: the same seed gives the same table. Status 1 where a tenth that holds ENOUGH
 * places promises more than FAR points too much, or over all mixtures is further off than that. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "plating/locate.h"

/* ---- chance ---- */

static uint64_t seed = 1861;

static double uniform(void) {
    seed ^= seed >> 12;
    seed ^= seed << 25;
    seed ^= seed >> 27;
    return (double)((seed * UINT64_C(2685821657736338717)) >> 11) / 9007199254740992.0;
}

static uint32_t below(uint32_t bound) {
    return (uint32_t)(uniform() * bound);
}

static double normal(double deviation) { /* Box and Muller 1958 */
    double u = uniform(), v = uniform();
    return deviation * sqrt(-2 * log(1 - u)) * cos(6.283185307179586 * v);
}

static uint32_t poisson(double mean) { /* Knuth */
    double limit = exp(-mean), product = uniform();
    uint32_t count = 0;
    for (; product > limit; product *= uniform())
        count++;
    return count;
}

/* ---- the world ---- */

enum { KINDS = 6, DOUBLING = 5, MARKS_MOST = 4000, SEEN_MOST = 200 };

typedef struct world {
    const char *name;
    uint32_t rows, columns;
    double marks;      /* known ones of a position, on average */
    double unknown;    /* marks of a position that are in nobody's list */
    double re_entered; /* share of positions */
    double observers;  /* further ones beside the first */
    double miss;       /* a mark that shows is not noted */
    double hasty;      /* an observer notes only the first thing seen */
    double deviation;  /* of a noted place, thousandths */
    double gross;      /* the place is noted somewhere else altogether */
    double misname;    /* another appearance is noted */
    double invent;     /* things noted that are ink or dust, for each observer */
    double deny;      /* a mark of the true or another position is said to be absent where it does not show */
    double cancelled; /* share of marks that a cancel hides: noted as unclear half the time */
} world;

typedef struct plate {
    gl_plan *plan;
    gl_known_mark marks[MARKS_MOST];
    gl_posset sets[MARKS_MOST];
    uint32_t count;
    uint32_t true_position;
    gl_observation seen[SEEN_MOST];
    char ids[SEEN_MOST][8];
    uint32_t seen_count;
} plate;

static gl_spot anywhere(void) {
    return (gl_spot){true, uniform() * 1000, uniform() * 1000};
}

static void add_mark(plate *p, uint32_t position, uint32_t kind, bool re_entry) {
    gl_known_mark *mark = &p->marks[p->count];
    *mark = (gl_known_mark){.positions = &p->sets[p->count],
                            .last_state = GL_NONE,
                            .appearance = kind,
                            .re_entry = re_entry,
                            .spot = anywhere(),
                            .spread = uniform() < 0.3 ? 15 + uniform() * 25 : -1,
                            .visibility = uniform() < 0.5 ? -1 : 40 + uniform() * 60};
    if (!gl_posset_init(&p->sets[p->count], p->plan->count))
        exit(1);
    gl_posset_add(&p->sets[p->count++], position);
}

static void make_plate(plate *p, const world *w) {
    const glassine_layout layout = {.rows = w->rows, .columns = w->columns};
    p->count = 0;
    if (gl_plan_new(&layout, &p->plan, NULL))
        exit(1);
    for (uint32_t i = 0; i < p->plan->count; i++) {
        for (uint32_t n = poisson(w->marks); n > 0; n--)
            add_mark(p, i, below(DOUBLING), false);
        if (uniform() < w->re_entered)
            add_mark(p, i, DOUBLING, true);
    }
    for (uint32_t column = 0; column < w->columns; column++) { /* a flaw of the relief recurs down a column */
        add_mark(p, column, below(DOUBLING), false);
        for (uint32_t row = 1; row < w->rows; row++)
            gl_posset_add(&p->sets[p->count - 1], row * w->columns + column);
    }
}

static void free_plate(plate *p) {
    for (uint32_t i = 0; i < p->count; i++)
        gl_posset_free(&p->sets[i]);
    gl_plan_free(p->plan);
}

static double shown_share(const gl_known_mark *mark) {
    return mark->visibility < 0 ? 0.8 : mark->visibility / 100;
}

static void note(plate *p, uint32_t by, uint32_t kind, gl_spot spot, gl_presence presence) {
    if (p->seen_count == SEEN_MOST)
        return;
    char *id = p->ids[p->seen_count];
    snprintf(id, sizeof p->ids[0], "%u", p->seen_count);
    p->seen[p->seen_count++] = (gl_observation){gl_span_of(id), by, kind, kind == DOUBLING, spot, presence};
}

/* One thing that shows, as one observer notes it. */
static void note_mark(plate *p, const world *w, uint32_t by, const gl_known_mark *mark) {
    double spread = mark->spread > 0 ? mark->spread / 2 : 0;
    gl_spot spot = {true, mark->spot.x + normal(w->deviation + spread),
                    mark->spot.y + normal(w->deviation + spread)};
    uint32_t kind = uniform() < w->misname ? below(KINDS) : mark->appearance;
    note(p, by, kind, uniform() < w->gross ? anywhere() : spot, GL_PRESENT);
    for (uint32_t traces = mark->re_entry ? poisson(1.5) : 0; traces > 0; traces--)
        note(p, by, DOUBLING, anywhere(), GL_PRESENT);
}

static void observe(plate *p, const world *w) {
    uint32_t observers = 1 + poisson(w->observers), position = below(p->plan->count);
    bool shows[MARKS_MOST], hidden[MARKS_MOST];
    p->true_position = position;
    p->seen_count = 0;
    for (uint32_t i = 0; i < p->count; i++) {
        hidden[i] = uniform() < w->cancelled;
        shows[i] =
            gl_posset_has(&p->sets[i], position) && !hidden[i] && uniform() < shown_share(&p->marks[i]);
    }
    uint32_t unknown = poisson(w->unknown);
    gl_spot unknown_at = anywhere();
    for (uint32_t by = 0; by < observers; by++) {
        bool hasty = uniform() < w->hasty, done = false;
        for (uint32_t i = 0; i < p->count && !done; i++) {
            if (gl_posset_has(&p->sets[i], position) && hidden[i] && uniform() < 0.5)
                note(p, by, p->marks[i].appearance, p->marks[i].spot, GL_UNCLEAR);
            if (!shows[i] || uniform() < w->miss)
                continue;
            note_mark(p, w, by, &p->marks[i]);
            done = hasty;
        }
        for (uint32_t n = unknown; n > 0; n--)
            note(p, by, below(DOUBLING), (gl_spot){true, unknown_at.x + normal(5), unknown_at.y + normal(5)},
                 GL_PRESENT);
        for (uint32_t n = poisson(w->invent); n > 0; n--)
            note(p, by, below(DOUBLING), anywhere(), GL_PRESENT);
        for (uint32_t n = poisson(w->deny); n > 0; n--) {
            uint32_t i = below(p->count);
            if (!shows[i] && !hidden[i])
                note(p, by, p->marks[i].appearance, p->marks[i].spot, GL_ABSENT);
        }
    }
}

/* ---- the tally ---- */

/* With ENOUGH places the share that is true is known to 2.5 points (one standard error, at one half). */
enum { BINS = 10, ENOUGH = 400, FAR = 5 };

typedef struct tally {
    uint32_t stamps, first, first_three;
    double weight[BINS];
    uint32_t places[BINS], hits[BINS];
} tally;

static void count_stamp(tally *t, const gl_locate *found, uint32_t truth) {
    t->stamps++;
    for (uint32_t i = 0; i < found->count; i++) {
        bool hit = found->places[i].position == truth;
        uint32_t bin = (uint32_t)(found->places[i].weight * BINS);
        bin = bin < BINS ? bin : BINS - 1;
        t->weight[bin] += found->places[i].weight;
        t->places[bin]++;
        t->hits[bin] += hit;
        t->first += hit && i == 0;
        t->first_three += hit && i < 3;
    }
}

static void add_tally(tally *t, const tally *more) {
    t->stamps += more->stamps;
    t->first += more->first;
    t->first_three += more->first_three;
    for (int bin = 0; bin < BINS; bin++) {
        t->weight[bin] += more->weight[bin];
        t->places[bin] += more->places[bin];
        t->hits[bin] += more->hits[bin];
    }
}

typedef struct deviation {
    double high, low; /* points that the worst tenth promises too much, and too little */
} deviation;

static deviation print_tally(const char *name, const tally *t) {
    deviation worst = {0, 0};
    printf("%s: %u stamps, first %.1f %%, in first three %.1f %%\n", name, t->stamps,
           100.0 * t->first / t->stamps, 100.0 * t->first_three / t->stamps);
    for (int bin = 0; bin < BINS; bin++) {
        double places = t->places[bin] ? t->places[bin] : 1, truth = t->hits[bin] / places;
        double off = 100 * (t->weight[bin] / places - truth);
        bool enough = t->places[bin] >= ENOUGH;
        printf("  %3d-%3d %%: %8u places, mean weight %5.1f %%, true %5.1f %% +- %.1f%s\n", bin * 10,
               bin * 10 + 10, t->places[bin], 100 * t->weight[bin] / places, 100 * truth,
               100 * sqrt(truth * (1 - truth) / places), enough ? "" : "  (few)");
        if (enough && off > worst.high)
            worst.high = off;
        if (enough && -off > worst.low)
            worst.low = -off;
    }
    printf("  at most %.1f points too high, %.1f too low\n", worst.high, worst.low);
    return worst;
}

static void simulate(const world *w, uint32_t stamps, const glassine_ranking *ranking, tally *t) {
    plate *p = calloc(1, sizeof *p);
    if (!p)
        exit(1);
    for (uint32_t n = 0; n < stamps; n++) {
        if (n % 50 == 0) {
            if (n)
                free_plate(p);
            make_plate(p, w);
        }
        observe(p, w);
        gl_sight sight;
        gl_locate found;
        const gl_ranked_plate ranked = {.plan = p->plan, .states = 1};
        if (gl_sight_make(p->seen, p->seen_count, ranking->together, &sight, NULL))
            exit(1);
        const gl_locate_question question = {ranking, &sight, &ranked, 1, p->marks, p->count};
        if (gl_locate_make(&question, &found, NULL))
            exit(1);
        count_stamp(t, &found, p->true_position);
        gl_locate_free(&found);
        gl_sight_free(&sight);
    }
    free_plate(p);
    free(p);
}

static glassine_ranking for_careful_observers(void) {
    glassine_ranking ranking = glassine_ranking_default();
    ranking.other_appearance = 0.015;
    ranking.stray = 0.0001;
    ranking.silent = 0.8;
    ranking.hasty = 0.1;
    return ranking;
}

int main(int argc, char **argv) {
    const world worlds[] = {
        {"100 positions, careful observers", 10, 10, 4, 0.1, 0.1, 0.5, 0.2, 0.05, 7, 0.02, 0.05, 0.1, 0.3,
         0.05},
        {"100 positions, mixed observers", 10, 10, 4, 0.3, 0.1, 0.7, 0.35, 0.3, 9, 0.04, 0.1, 0.25, 0.3, 0.1},
        {"240 positions, mixed observers", 20, 12, 4, 0.3, 0.1, 0.7, 0.35, 0.3, 9, 0.04, 0.1, 0.25, 0.3, 0.1},
        {"240 positions, few marks, hasty", 20, 12, 2, 0.3, 0.05, 0.3, 0.4, 0.6, 10, 0.05, 0.15, 0.3, 0.2,
         0.1},
        {"240 positions, many marks, careful", 20, 12, 8, 0.2, 0.1, 0.5, 0.25, 0.05, 8, 0.02, 0.05, 0.15, 0.3,
         0.1},
        {"960 positions, mixed observers", 80, 12, 3, 0.3, 0.1, 0.7, 0.35, 0.3, 9, 0.04, 0.1, 0.25, 0.3, 0.1},
    };
    const uint64_t first_seed = argc > 2 ? strtoull(argv[2], NULL, 10) | 1 : seed;
    const glassine_ranking usual = glassine_ranking_default(), careful = for_careful_observers();
    uint32_t stamps = argc > 1 ? (uint32_t)strtoul(argv[1], NULL, 10) : 4000;
    tally all = {0};
    bool good = true;
    for (size_t i = 0; i < sizeof worlds / sizeof worlds[0]; i++) {
        tally one = {0}, suited = {0};
        seed = first_seed + 2 * i;
        simulate(&worlds[i], stamps, &usual, &one);
        good &= print_tally(worlds[i].name, &one).high <= FAR;
        add_tally(&all, &one);
        if (worlds[i].miss > 0.3)
            continue;
        seed = first_seed + 2 * i;
        simulate(&worlds[i], stamps, &careful, &suited);
        good &= print_tally("  the same, with parameters for careful observers", &suited).high <= FAR;
    }
    deviation worst = print_tally("all together", &all);
    return good && worst.high <= FAR && worst.low <= FAR ? 0 : 1;
}
