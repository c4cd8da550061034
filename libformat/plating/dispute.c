#include "plating/dispute.h"

#include <stdlib.h>

#include "base/arena.h"

#define SIDES_IN_FULL 64u /* so many different statements are compared in every way */
#define TESTS_MOST 20000u /* for a single stamp; fewer where many are tied together */
#define SOURCES_MOST 64u  /* ties of so many sources are tried without each */

/* Statements on one member that say the same. */
typedef struct side {
    uint32_t member;
    uint32_t *statements;
    uint32_t count;
    size_t room;
} side;

typedef struct search {
    const gl_dispute_scope *scope;
    gl_disputes *out;
    gl_arena *arena;
    gl_joint joint;
    gl_frame frame; /* with every tie */
    side *sides;
    uint32_t side_count;
    size_t side_room;
    uint32_t tests_left;
    uint32_t *sources; /* of the component's ties, ascending */
    uint32_t source_count;
} search;

/* ---- what is compared ---- */

static bool says_same(const gl_statement *a, const gl_statement *b) {
    if (a->allowed == b->allowed && a->allowed_count == b->allowed_count)
        return true;
    if (!a->allowed || !b->allowed || a->allowed_count != b->allowed_count)
        return false;
    for (uint32_t i = 0; i < a->allowed_count; i++) {
        const gl_allowance *one = &a->allowed[i], *other = &b->allowed[i];
        if (one->plate != other->plate || one->states != other->states)
            return false;
        bool same = one->positions == other->positions ||
                    (one->positions && other->positions && gl_posset_equal(one->positions, other->positions));
        if (!same)
            return false;
    }
    return true;
}

static const gl_statement *statement_of(const search *s, const side *of) {
    return &s->scope->question->statements[of->statements[0]];
}

static bool join_side(side *to, uint32_t statement) {
    uint32_t *moved = gl_grow(to->statements, &to->room, (size_t)to->count + 1, sizeof *moved);
    if (!moved)
        return false;
    to->statements = moved;
    to->statements[to->count++] = statement;
    return true;
}

static bool add_statement(search *s, uint32_t member, uint32_t number) {
    const gl_statement *statement = &s->scope->question->statements[number];
    for (uint32_t i = s->side_count; i-- > 0 && s->sides[i].member == member;)
        if (says_same(statement_of(s, &s->sides[i]), statement))
            return join_side(&s->sides[i], number);
    side *moved = gl_grow(s->sides, &s->side_room, (size_t)s->side_count + 1, sizeof *moved);
    if (!moved)
        return false;
    s->sides = moved;
    s->sides[s->side_count] = (side){.member = member};
    return join_side(&s->sides[s->side_count++], number);
}

/* ---- can these be true together? ---- */

typedef struct subset {
    const uint32_t *sides;
    uint32_t count;
} subset;

static bool piece_is_dead(search *s, const gl_frame *frame, uint32_t piece, subset of, bool *dead) {
    if (!gl_joint_start(&s->joint, frame, piece))
        return false;
    for (uint32_t i = 0; i < of.count; i++) {
        const side *at = &s->sides[of.sides[i]];
        if (frame->members[at->member].piece == piece)
            gl_joint_apply(&s->joint, statement_of(s, at), at->member);
    }
    gl_joint_settle(&s->joint);
    *dead = !gl_joint_any(&s->joint, GL_PLACE_AND_STATE);
    return true;
}

/* One piece in which they cannot is enough; without sides every piece is looked at. */
static bool are_dead(search *s, const gl_frame *frame, subset of, bool *dead) {
    *dead = false;
    for (uint32_t piece = 0; of.count == 0 && piece < frame->piece_count && !*dead; piece++)
        if (!piece_is_dead(s, frame, piece, of, dead))
            return false;
    for (uint32_t i = 0; i < of.count && !*dead; i++)
        if (!piece_is_dead(s, frame, frame->members[s->sides[of.sides[i]].member].piece, of, dead))
            return false;
    return true;
}

/* All statements of the component; where they are very many, only until they cannot all be true any more. */
static bool gather_sides(search *s) {
    const gl_dispute_scope *scope = s->scope;
    if (!gl_joint_start(&s->joint, &s->frame, 0))
        return false;
    for (uint32_t m = 0; m < scope->stamp_count; m++) {
        uint32_t stamp = scope->stamps[m];
        for (uint32_t i = scope->first[stamp]; i < scope->first[stamp + 1]; i++) {
            if (!add_statement(s, m, scope->statements[i]))
                return false;
            gl_joint_apply(&s->joint, &scope->question->statements[scope->statements[i]], m);
            if (s->side_count < SIDES_IN_FULL)
                continue;
            gl_joint_settle(&s->joint);
            if (!gl_joint_any(&s->joint, GL_PLACE_AND_STATE)) {
                s->out->complete = false;
                return true;
            }
        }
    }
    return true;
}

/* ---- which ties it takes ---- */

static int number_order(const void *left, const void *right) {
    uint32_t a = *(const uint32_t *)left, b = *(const uint32_t *)right;
    return a < b ? -1 : a > b;
}

static bool gather_sources(search *s) {
    const gl_tied *tied = s->scope->tied;
    size_t ends = 0;
    for (uint32_t m = 0; m < s->scope->stamp_count; m++)
        ends += tied->first[s->scope->stamps[m] + 1] - tied->first[s->scope->stamps[m]];
    s->sources = calloc(ends + 1, sizeof *s->sources);
    if (!s->sources)
        return false;
    for (uint32_t m = 0; m < s->scope->stamp_count; m++)
        for (uint32_t i = tied->first[s->scope->stamps[m]]; i < tied->first[s->scope->stamps[m] + 1]; i++)
            s->sources[s->source_count++] = s->scope->question->ties[tied->ties[i]].source;
    qsort(s->sources, s->source_count, sizeof *s->sources, number_order);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < s->source_count; i++)
        if (kept == 0 || s->sources[kept - 1] != s->sources[i])
            s->sources[kept++] = s->sources[i];
    s->source_count = kept;
    return true;
}

static bool dead_without(search *s, subset of, bool *dead) {
    gl_frame frame;
    if (!gl_frame_lay(s->scope->tied, s->scope->stamps, s->scope->stamp_count, s->scope->tied->without,
                      &frame))
        return false;
    bool room = are_dead(s, &frame, of, dead);
    gl_frame_free(&frame);
    return room;
}

/* Leaves out one source after another as long as the group stays impossible. */
static bool needed_sources(search *s, subset of, gl_group *group) {
    bool *without = s->scope->tied->without;
    bool tried = s->source_count <= SOURCES_MOST;
    for (uint32_t i = 0; tried && i < s->source_count; i++) {
        bool dead;
        without[s->sources[i]] = true;
        if (!dead_without(s, of, &dead))
            return false;
        without[s->sources[i]] = dead;
    }
    uint32_t *needed = GL_ARENA_ARRAY(s->arena, uint32_t, (size_t)s->source_count + 1);
    if (!needed)
        return false;
    for (uint32_t i = 0; i < s->source_count; i++) {
        if (!without[s->sources[i]])
            needed[group->source_count++] = s->sources[i];
        without[s->sources[i]] = false;
    }
    s->out->complete &= tried;
    group->sources = needed;
    return true;
}

/* ---- groups ---- */

static bool tell_group(search *s, subset of) {
    gl_group *group = &s->out->groups[s->out->group_count];
    *group = (gl_group){.side_count = of.count};
    gl_side *sides = GL_ARENA_ARRAY(s->arena, gl_side, (size_t)of.count + 1);
    if (!sides)
        return false;
    for (uint32_t i = 0; i < of.count; i++) {
        const side *from = &s->sides[of.sides[i]];
        uint32_t *statements = GL_ARENA_ARRAY(s->arena, uint32_t, from->count);
        if (!statements)
            return false;
        memcpy(statements, from->statements, from->count * sizeof *statements);
        sides[i] = (gl_side){statements, from->count};
    }
    group->sides = sides;
    if (!needed_sources(s, of, group))
        return false;
    s->out->group_count++;
    return true;
}

/* A group told already lies within this one: then this one is not a smallest. Sides are compared by their
 * first statement. */
static bool holds_told_group(const search *s, subset of) {
    for (uint32_t g = 0; g < s->out->group_count; g++) {
        const gl_group *told = &s->out->groups[g];
        uint32_t found = 0;
        for (uint32_t i = 0; i < told->side_count; i++)
            for (uint32_t j = 0; j < of.count; j++)
                found += s->sides[of.sides[j]].statements[0] == told->sides[i].statements[0];
        if (found == told->side_count)
            return true;
    }
    return false;
}

static bool consider(search *s, subset of) {
    bool dead;
    if (holds_told_group(s, of))
        return true;
    s->tests_left--;
    if (!are_dead(s, &s->frame, of, &dead))
        return false;
    return !dead || tell_group(s, of);
}

/* The next choice of `size` out of the sides, in order; false after the last. */
static bool next_choice(uint32_t *choice, uint32_t size, uint32_t from) {
    for (uint32_t i = size; i-- > 0;) {
        if (choice[i] < from - size + i) {
            choice[i]++;
            for (uint32_t j = i + 1; j < size; j++)
                choice[j] = choice[j - 1] + 1;
            return true;
        }
    }
    return false;
}

static bool search_size(search *s, uint32_t size) {
    uint32_t choice[GL_GROUP_SIDES_MOST];
    for (uint32_t i = 0; i < size; i++)
        choice[i] = i;
    do {
        if (s->tests_left == 0 || s->out->group_count == GL_GROUPS_MOST) {
            s->out->complete = false;
            return true;
        }
        if (!consider(s, (subset){choice, size}))
            return false;
    } while (next_choice(choice, size, s->side_count));
    return true;
}

/* One group at least: all of the sides, less each that is not needed. */
static bool shrink_all(search *s) {
    uint32_t *kept = calloc((size_t)s->side_count + 1, sizeof *kept), count = s->side_count;
    bool room = kept != NULL, dead = false;
    for (uint32_t i = 0; room && i < count; i++)
        kept[i] = i;
    for (uint32_t i = 0; room && i < count;) {
        uint32_t tried = kept[i];
        memmove(kept + i, kept + i + 1, (count - i - 1) * sizeof *kept);
        room = are_dead(s, &s->frame, (subset){kept, count - 1}, &dead);
        if (room && dead) {
            count--;
            continue;
        }
        memmove(kept + i + 1, kept + i, (count - i - 1) * sizeof *kept);
        kept[i++] = tried;
    }
    room = room && tell_group(s, (subset){kept, count});
    free(kept);
    return room;
}

static bool search_all(search *s) {
    bool dead;
    if (!gather_sources(s) ||
        !gl_frame_lay(s->scope->tied, s->scope->stamps, s->scope->stamp_count, NULL, &s->frame) ||
        !are_dead(s, &s->frame, (subset){NULL, 0}, &dead))
        return false;
    if (dead) /* the ties alone */
        return tell_group(s, (subset){NULL, 0});
    if (!gather_sides(s))
        return false;
    for (uint32_t size = 1; size <= GL_GROUP_SIDES_MOST && size <= s->side_count; size++)
        if (!search_size(s, size))
            return false;
    if (s->out->group_count > 0)
        return true;
    s->out->complete = false;
    return shrink_all(s);
}

glassine_status gl_disputes_find(const gl_dispute_scope *scope, gl_disputes *disputes,
                                 glassine_error *error) {
    search s = {.scope = scope, .out = disputes, .tests_left = 100 + TESTS_MOST / scope->stamp_count};
    *disputes = (gl_disputes){.complete = true};
    s.arena = gl_arena_new();
    disputes->memory = s.arena;
    disputes->groups = s.arena ? GL_ARENA_ARRAY(s.arena, gl_group, GL_GROUPS_MOST) : NULL;
    bool room = gl_joint_make(scope->question, &s.joint) && disputes->groups && search_all(&s);
    for (uint32_t i = 0; i < s.side_count; i++)
        free(s.sides[i].statements);
    free(s.sides);
    free(s.sources);
    gl_frame_free(&s.frame);
    gl_joint_free(&s.joint);
    return room ? GLASSINE_OK : gl_fail_memory(error);
}

void gl_disputes_free(gl_disputes *disputes) {
    gl_arena_free(disputes->memory);
    *disputes = (gl_disputes){0};
}
