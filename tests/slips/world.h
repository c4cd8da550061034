/* Random slips on a few records, and what follows what among them by the definition (spec/readings.md), word
 * by word and quadratic. The slips are known by their parts, not by their lines. */
#ifndef GL_TESTS_SLIPS_WORLD_H
#define GL_TESTS_SLIPS_WORLD_H

#include "slips/made.h"

#define MOST 24   /* slips in a random set */
#define FIELDS 6  /* names of fields */
#define MISSING 3 /* slips that are named and not there */

typedef struct part {
    int record, author, reach;
    bool silent, after[MOST], missing;
    int value[FIELDS]; /* -1: not touched, 0: cleared, else set to that number */
    char at[21];
    gl_span line;
    gl_digest digest;
} part;

typedef struct world {
    gl_arena *arena;
    int count;
    part parts[MOST];
    gl_digest gone[MISSING];
} world;

static const char *const records[] = {ITEM, "claim/00000000-0000-4000-8000-000000000002"};
static const char *const people[] = {ADA, BEN, CAT};

/* ---------------------------------------------------------------------------------------- random worlds */

static void write_line(world *w, part *p) {
    gl_digest after[MOST + MISSING];
    size_t count = 0;
    for (int i = 0; i < MOST; i++)
        if (p->after[i])
            after[count++] = w->parts[i].digest;
    if (p->missing)
        after[count++] = w->gone[0];
    char set[256] = "", clear[256] = "";
    for (int f = 0; f < FIELDS; f++) {
        size_t at = strlen(p->value[f] > 0 ? set : clear);
        if (p->value[f] > 0)
            snprintf(set + at, sizeof set - at, "%s\"f%d\":%d", at ? "," : "", f, p->value[f]);
        else if (p->value[f] == 0)
            snprintf(clear + at, sizeof clear - at, "%s\"f%d\"", at ? "," : "", f);
    }
    char object[300], array[300];
    snprintf(object, sizeof object, "{%s}", set);
    snprintf(array, sizeof array, "[%s]", clear);
    p->line = made_slip(w->arena, after, count, p->at, people[p->author], (glassine_reach)p->reach,
                        records[p->record], object, clear[0] ? array : NULL);
    p->digest = made_digest(p->line);
}

static bool is_known(const world *w, int number) {
    for (int i = 0; i < number; i++)
        if (gl_digest_equal(&w->parts[i].digest, &w->parts[number].digest))
            return true;
    return false;
}

static void make_world(world *w, uint64_t *random) {
    uint32_t density = 1 + made_random(random, 9), touching = 1 + made_random(random, 3);
    uint32_t crowd = 1 + made_random(random, 3), reaches = 1 + made_random(random, 3);
    w->count = 1 + (int)made_random(random, MOST);
    for (int i = 0; i < MISSING; i++)
        w->gone[i] = (gl_digest){{(uint8_t)(0xd0 + i)}};
    for (int i = 0; i < w->count; i++) {
        part *p = &w->parts[i];
        do {
            *p = (part){0};
            p->record = made_random(random, 8) == 0;
            p->author = (int)made_random(random, crowd);
            p->reach = (int)made_random(random, reaches);
            p->silent = made_random(random, 8) == 0;
            p->missing = made_random(random, 40) == 0;
            /* Clocks run as they like, and often agree. */
            snprintf(p->at, sizeof p->at, "2026-03-01T10:00:%02uZ", made_random(random, 20));
            for (int a = 0; a < i; a++)
                p->after[a] = made_random(random, 10) < density && (i - a < 4 || made_random(random, 5) == 0);
            for (int f = 0; f < FIELDS; f++)
                p->value[f] = made_random(random, 4) < touching ? (int)made_random(random, 4) : -1;
            write_line(w, p);
        } while (is_known(w, i));
    }
}

/* ---------------------------------------------------------------------------------------- the reference */

typedef struct reference {
    bool edge[MOST][MOST], follows[MOST][MOST], ours[MOST];
    uint32_t stray;
    bool incomplete;
} reference;

static reference refer(const world *w, int record, int author) {
    reference r = {0};
    for (int i = 0; i < w->count; i++) {
        const part *p = &w->parts[i];
        r.ours[i] = p->record == record && (author < 0 || p->author == author);
        for (int a = 0; r.ours[i] && a < i; a++) {
            const part *q = &w->parts[a];
            bool inside =
                q->record == p->record && q->reach == p->reach && (author < 0 || q->author == p->author);
            r.edge[i][a] = p->after[a] && inside;
            r.stray += p->after[a] && !inside;
        }
        r.incomplete = r.incomplete || (r.ours[i] && p->missing);
    }
    memcpy(r.follows, r.edge, sizeof r.edge);
    for (int k = 0; k < w->count; k++)
        for (int i = 0; i < w->count; i++)
            for (int j = 0; j < w->count; j++)
                r.follows[i][j] = r.follows[i][j] || (r.follows[i][k] && r.follows[k][j]);
    return r;
}

static bool touches(const world *w, const reference *r, int slip, int field, int reach) {
    const part *p = &w->parts[slip];
    return r->ours[slip] && !p->silent && p->reach == reach && p->value[field] >= 0;
}

static bool stands(const world *w, const reference *r, int slip, int field, int reach) {
    if (!touches(w, r, slip, field, reach))
        return false;
    for (int i = 0; i < w->count; i++)
        if (touches(w, r, i, field, reach) && r->follows[i][slip])
            return false;
    return true;
}

static gl_store *store_in_order(const world *w, const int *order) {
    gl_store *store = gl_store_new();
    bool *silent = GL_ARENA_ARRAY(w->arena, bool, MOST + 1); /* for one that a test adds, too */
    memset(silent, 0, (MOST + 1) * sizeof *silent);
    for (int i = 0; i < w->count; i++) {
        const part *p = &w->parts[order[i]];
        silent[made_add(store, p->line)] = p->silent;
    }
    made_silence(store, silent);
    return store;
}

#endif
