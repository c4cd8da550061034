#include "plating/seen.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

double gl_spot_distance(gl_spot a, gl_spot b) {
    return hypot(a.x - b.x, a.y - b.y);
}

unsigned gl_spot_margins(gl_spot spot) {
    if (!spot.known)
        return 0;
    return (spot.x < 0 ? 1u : 0) | (spot.x > 1000 ? 2u : 0) | (spot.y < 0 ? 4u : 0) |
           (spot.y > 1000 ? 8u : 0);
}

bool gl_spot_between(gl_spot spot, double pitch_x, double pitch_y) {
    return pitch_x > 1000 && pitch_y > 1000 && gl_spot_margins(spot) && spot.x >= 1000 - pitch_x &&
           spot.x <= pitch_x && spot.y >= 1000 - pitch_y && spot.y <= pitch_y;
}

/* Two observations that may be one thing. */
typedef struct pair {
    double distance;
    uint32_t a, b; /* in the order of ids */
} pair;

typedef struct gathering {
    const gl_observation *all;
    uint32_t count;
    double together;
    uint32_t *by_id; /* observations in the order of their ids */
    uint32_t *group; /* of an observation (by rank in by_id): the first of its group */
    pair *pairs;
    size_t pair_count;
} gathering;

static const gl_observation *ranked(const gathering *g, uint32_t rank) {
    return &g->all[g->by_id[rank]];
}

/* Two without a place are at one "place"; one with and one without are not. */
static bool near(const gathering *g, const gl_observation *a, const gl_observation *b, double *distance) {
    if (a->spot.known != b->spot.known)
        return false;
    *distance = a->spot.known ? gl_spot_distance(a->spot, b->spot) : 0;
    return *distance <= g->together;
}

static void sort_by_id(gathering *g) {
    for (uint32_t i = 0; i < g->count; i++) {
        uint32_t at = i;
        for (; at > 0 && gl_span_compare(g->all[g->by_id[at - 1]].id, g->all[i].id) > 0; at--)
            g->by_id[at] = g->by_id[at - 1];
        g->by_id[at] = i;
    }
}

static int pair_order(const void *left, const void *right) {
    const pair *a = left, *b = right;
    if (a->distance != b->distance)
        return a->distance < b->distance ? -1 : 1;
    if (a->a != b->a)
        return a->a < b->a ? -1 : 1;
    return a->b < b->b ? -1 : a->b > b->b;
}

static bool find_pairs(gathering *g) {
    size_t room = (size_t)g->count * (g->count - 1) / 2;
    g->pairs = calloc(room ? room : 1, sizeof *g->pairs);
    if (!g->pairs)
        return false;
    for (uint32_t a = 0; a < g->count; a++) {
        for (uint32_t b = a + 1; b < g->count; b++) {
            const gl_observation *one = ranked(g, a), *other = ranked(g, b);
            double distance;
            if (one->appearance == other->appearance && one->contributor != other->contributor &&
                near(g, one, other, &distance))
                g->pairs[g->pair_count++] = (pair){distance, a, b};
        }
    }
    qsort(g->pairs, g->pair_count, sizeof *g->pairs, pair_order);
    return true;
}

/* Every one of the one group near every one of the other, and never two of one contributor. */
static bool may_merge(const gathering *g, uint32_t one, uint32_t other) {
    for (uint32_t a = 0; a < g->count; a++) {
        for (uint32_t b = 0; g->group[a] == one && b < g->count; b++) {
            double distance;
            if (g->group[b] == other && (ranked(g, a)->contributor == ranked(g, b)->contributor ||
                                         !near(g, ranked(g, a), ranked(g, b), &distance)))
                return false;
        }
    }
    return true;
}

static void merge_pairs(gathering *g) {
    for (size_t i = 0; i < g->pair_count; i++) {
        uint32_t one = g->group[g->pairs[i].a], other = g->group[g->pairs[i].b];
        if (one == other || !may_merge(g, one, other))
            continue;
        uint32_t keep = one < other ? one : other, gone = one < other ? other : one;
        for (uint32_t rank = 0; rank < g->count; rank++)
            if (g->group[rank] == gone)
                g->group[rank] = keep;
    }
}

/* Present wins over unclear, absent wins over unclear, present against absent is unclear. */
static gl_presence together_presence(bool present, bool absent) {
    if (present == absent)
        return GL_UNCLEAR;
    return present ? GL_PRESENT : GL_ABSENT;
}

static int number_order(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left, b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

/* The mean is taken in the order of ids: floating sums depend on it. */
static void fill_thing(const gathering *g, uint32_t first, gl_seen *thing, uint32_t *members) {
    const gl_observation *lead = ranked(g, first);
    *thing = (gl_seen){lead->appearance, lead->trace, {lead->spot.known, 0, 0}, GL_UNCLEAR, members, 0};
    bool present = false, absent = false;
    for (uint32_t rank = first; rank < g->count; rank++) {
        if (g->group[rank] != first)
            continue;
        const gl_observation *member = ranked(g, rank);
        thing->spot.x += member->spot.x;
        thing->spot.y += member->spot.y;
        present |= member->presence == GL_PRESENT;
        absent |= member->presence == GL_ABSENT;
        members[thing->member_count++] = g->by_id[rank];
    }
    thing->spot.x /= thing->member_count;
    thing->spot.y /= thing->member_count;
    thing->presence = together_presence(present, absent);
    qsort(members, thing->member_count, sizeof *members, number_order);
}

static bool make_things(const gathering *g, gl_sight *sight) {
    sight->things = calloc(g->count ? g->count : 1, sizeof *sight->things);
    sight->members = calloc(g->count ? g->count : 1, sizeof *sight->members);
    if (!sight->things || !sight->members)
        return false;
    uint32_t used = 0;
    for (uint32_t rank = 0; rank < g->count; rank++) {
        if (g->group[rank] != rank)
            continue;
        fill_thing(g, rank, &sight->things[sight->count], sight->members + used);
        used += sight->things[sight->count++].member_count;
    }
    return true;
}

glassine_status gl_sight_make(const gl_observation *observations, size_t count, double together,
                              gl_sight *sight, glassine_error *error) {
    *sight = (gl_sight){NULL, 0, NULL};
    if (count > GL_SEEN_MOST)
        return gl_fail(error, GLASSINE_REFUSED, "R220", NULL,
                       "the stamp has %zu observations, and %u are the most that are ranked by", count,
                       GL_SEEN_MOST);
    gathering g = {.all = observations, .count = (uint32_t)count, .together = together};
    g.by_id = calloc(count ? count : 1, sizeof *g.by_id);
    g.group = calloc(count ? count : 1, sizeof *g.group);
    bool room = g.by_id && g.group;
    if (room) {
        sort_by_id(&g);
        for (uint32_t rank = 0; rank < g.count; rank++)
            g.group[rank] = rank;
        room = find_pairs(&g);
    }
    if (room) {
        merge_pairs(&g);
        room = make_things(&g, sight);
    }
    free(g.by_id);
    free(g.group);
    free(g.pairs);
    if (!room)
        gl_sight_free(sight);
    return room ? GLASSINE_OK : gl_fail_memory(error);
}

void gl_sight_free(gl_sight *sight) {
    free(sight->things);
    free(sight->members);
    *sight = (gl_sight){NULL, 0, NULL};
}
