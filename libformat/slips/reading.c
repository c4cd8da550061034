#include "slips/reading.h"

#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "slips/graph.h"

/* How much memory one pass over the slips may take; with more fields than fit, there are several passes. */
#define COVER_BYTES ((size_t)16 << 20)

/* One slip's word on one field. */
typedef struct touch {
    gl_span name, value; /* value absent: cleared */
    uint32_t node;
    uint32_t bit; /* of the field among those that several slips touch; GL_NONE where only this one does */
    glassine_reach reach;
    bool stands; /* no other touching slip follows it */
    bool left_out;
} touch;

typedef struct touches {
    touch *at; /* sorted by name, reach, node */
    size_t count, room;
    uint32_t bits;
    bool overfull;
} touches;

static bool add_touch(touches *all, const gl_graph *graph, uint32_t node, gl_span name, gl_span value) {
    if (all->count == all->room) {
        void *grown = gl_grow(all->at, &all->room, all->count + 1, sizeof *all->at);
        if (!grown)
            return false;
        all->at = grown;
    }
    all->at[all->count++] = (touch){.name = name,
                                    .value = value,
                                    .node = node,
                                    .bit = GL_NONE,
                                    .reach = graph->nodes[node].reach,
                                    .stands = true};
    return true;
}

static bool gather(touches *all, const gl_graph *graph) {
    for (uint32_t i = 0; i < graph->count; i++) {
        const gl_graph_node *node = &graph->nodes[i];
        if (!node->counts)
            continue;
        gl_span name, item;
        gl_json_walk walk = gl_json_walk_of(node->set);
        while (gl_json_next(&walk, &name, &item))
            if (!add_touch(all, graph, i, name, item))
                return false;
        walk = gl_json_walk_of(node->clear);
        while (gl_json_next(&walk, &name, &item))
            if (!add_touch(all, graph, i, gl_json_raw(item), GL_NO_SPAN))
                return false;
    }
    return true;
}

static int compare_fields(const touch *a, const touch *b) {
    int order = gl_span_compare(a->name, b->name);
    return order ? order : (int)a->reach - (int)b->reach;
}

static int compare_touches(const void *a, const void *b) {
    const touch *left = a, *right = b;
    int order = compare_fields(left, right);
    return order ? order : (left->node > right->node) - (left->node < right->node);
}

/* The end of the run of touches on one field that begins at `from`. */
static size_t field_end(const touches *all, size_t from) {
    size_t end = from + 1;
    while (end < all->count && compare_fields(&all->at[from], &all->at[end]) == 0)
        end++;
    return end;
}

/* Fields that several slips touch cost a bit for each slip. Those that the record's type has are few; of others
 * there may be as many as the limit, the first ones by name and reach. */
static void number_fields(touches *all, const gl_store *store, gl_span record) {
    uint64_t most = gl_store_record_fields(store), strange = 0;
    for (size_t from = 0, end; from < all->count; from = end) {
        end = field_end(all, from);
        if (end - from < 2)
            continue;
        bool left_out = !gl_store_knows(store, record, all->at[from].name) && strange++ >= most;
        for (size_t i = from; i < end; i++) {
            all->at[i].bit = left_out ? GL_NONE : all->bits;
            all->at[i].left_out = left_out;
        }
        all->bits += !left_out;
        all->overfull = all->overfull || left_out;
    }
}

/* ------------------------------------------------------------------------------------------- which stand */

/* A pass over all slips, newest first, for as many fields as `words` have bits, from field `first` on.
 * covered[node] says which of them a slip touches that follows this one; its own touches are added on the way
 * to those that it follows. */
typedef struct cover {
    const gl_graph *graph;
    touches *all;
    const size_t *by_node; /* touches with a bit, sorted by node, then bit: by_node[start[node]] … */
    const size_t *start;
    size_t *next; /* the first of a node's touches that no pass has met yet */
    uint32_t *order;
    uint32_t order_count;
    uint64_t *covered;
    size_t words; /* for each node */
} cover;

static void cover_node(const cover *c, uint32_t node, uint64_t first) {
    uint64_t *own = c->covered + node * c->words;
    for (; c->next[node] < c->start[node + 1]; c->next[node]++) {
        touch *t = &c->all->at[c->by_node[c->next[node]]];
        uint64_t bit = t->bit - first;
        if (bit >= 64 * c->words)
            break;
        t->stands = !(own[bit / 64] >> bit % 64 & 1);
        own[bit / 64] |= UINT64_C(1) << bit % 64;
    }
    const gl_graph_node *from = &c->graph->nodes[node];
    for (size_t i = from->edge; i < from[1].edge; i++) {
        uint64_t *followed = c->covered + c->graph->edges[i] * c->words;
        for (size_t w = 0; w < c->words; w++)
            followed[w] |= own[w];
    }
}

static void cover_all(const cover *c) {
    for (uint64_t first = 0; first < c->all->bits; first += 64 * c->words) {
        memset(c->covered, 0, c->graph->count * c->words * sizeof *c->covered);
        for (uint32_t i = 0; i < c->order_count; i++)
            cover_node(c, c->order[i], first);
    }
}

/* Touches with a bit by node: a counting sort. start has graph->count + 1 elements, zeroed. */
static void sort_by_node(const touches *all, uint32_t nodes, size_t *start, size_t *by_node) {
    for (size_t i = 0; i < all->count; i++)
        if (all->at[i].bit != GL_NONE)
            start[all->at[i].node]++;
    for (size_t i = 0, sum = 0; i <= nodes; i++)
        start[i] = sum += start[i];
    for (size_t i = all->count; i-- > 0;)
        if (all->at[i].bit != GL_NONE)
            by_node[--start[all->at[i].node]] = i;
}

static size_t words_at_once(const touches *all, size_t nodes) {
    size_t needed = ((size_t)all->bits + 63) / 64, fitting = COVER_BYTES / sizeof(uint64_t) / nodes;
    return fitting == 0 ? 1 : fitting < needed ? fitting : needed;
}

static glassine_status find_standing(touches *all, const gl_graph *graph, glassine_error *error) {
    if (all->bits == 0)
        return GLASSINE_OK;
    size_t nodes = graph->count, words = words_at_once(all, nodes);
    size_t *start = calloc(nodes + 1, sizeof *start), *by_node = malloc(all->count * sizeof *by_node);
    cover c = {.graph = graph, .all = all, .by_node = by_node, .start = start, .words = words};
    c.next = malloc(nodes * sizeof *c.next);
    c.order = malloc(nodes * sizeof *c.order);
    c.covered = malloc(nodes * words * sizeof *c.covered);
    glassine_status status;
    if (start && by_node && c.next && c.order && c.covered) {
        sort_by_node(all, graph->count, start, by_node);
        memcpy(c.next, start, nodes * sizeof *c.next);
        status = gl_graph_newest_first(graph, c.order, &c.order_count, error);
        if (!status)
            cover_all(&c);
    } else {
        status = gl_fail_memory(error);
    }
    free(start);
    free(by_node);
    free(c.next);
    free(c.order);
    free(c.covered);
    return status;
}

/* --------------------------------------------------------------------------------------------- the result */

typedef struct answer {
    gl_said said;
    const char *at;
    const gl_digest *digest;
} answer;

static int compare_values(gl_span a, gl_span b) {
    if (!a.text || !b.text)
        return (a.text != NULL) - (b.text != NULL); /* cleared comes first */
    return gl_span_compare(a, b);
}

static int compare_answers(const void *a, const void *b) {
    const answer *left = a, *right = b;
    int order = compare_values(gl_said_value(&left->said), gl_said_value(&right->said));
    if (order == 0)
        order = memcmp(left->at, right->at, GL_TIME_SIZE - 1);
    return order ? order : gl_digest_compare(left->digest, right->digest);
}

/* Fills the field whose touches are `from` … `end`-1; `answers` is scratch. False when memory ran out. */
static bool fill_field(const touches *all, const gl_graph *graph, size_t from, size_t end, gl_arena *arena,
                       answer *answers, gl_read_field *field) {
    uint32_t count = 0;
    for (size_t i = from; i < end; i++) {
        const touch *t = &all->at[i];
        const gl_graph_node *node = &graph->nodes[t->node];
        if (t->stands)
            answers[count++] = (answer){gl_said_by(node->slip, t->value), node->at,
                                        &gl_store_at(graph->store, node->slip)->digest};
    }
    qsort(answers, count, sizeof *answers, compare_answers);
    /* raw is decoded: the grammar of names has nothing to escape */
    *field = (gl_read_field){.name_text = all->at[from].name.text,
                             .name_length = (uint16_t)all->at[from].name.length,
                             .reach = (uint8_t)all->at[from].reach,
                             .said_count = count};
    if (count)
        field->one = answers[0].said;
    if (count < 2)
        return true;
    field->several = GL_ARENA_ARRAY(arena, gl_said, count);
    if (!field->several)
        return false;
    for (uint32_t i = 0; i < count; i++)
        field->several[i] = answers[i].said;
    field->contested = compare_values(gl_read_value(field, 0), gl_read_value(field, count - 1)) != 0;
    return true;
}

static glassine_status make_fields(const touches *all, const gl_graph *graph, gl_arena *arena,
                                   gl_reading *reading, glassine_error *error) {
    size_t fields = 0, longest = 0;
    for (size_t from = 0, end; from < all->count; from = end) {
        end = field_end(all, from);
        fields += !all->at[from].left_out;
        longest = end - from > longest ? end - from : longest;
    }
    if (fields == 0)
        return GLASSINE_OK;
    answer *answers = malloc(longest * sizeof *answers);
    reading->fields = GL_ARENA_ARRAY(arena, gl_read_field, fields);
    bool room = answers && reading->fields;
    for (size_t from = 0, end; from < all->count && room; from = end) {
        end = field_end(all, from);
        if (!all->at[from].left_out)
            room =
                fill_field(all, graph, from, end, arena, answers, &reading->fields[reading->field_count++]);
    }
    free(answers);
    return room ? GLASSINE_OK : gl_fail_memory(error);
}

/* The reading of what counts in the graph. */
static glassine_status read_graph(const gl_graph *graph, gl_span record, gl_arena *arena, gl_reading *reading,
                                  glassine_error *error) {
    touches all = {0};
    glassine_status status = GLASSINE_OK;
    if (!gather(&all, graph)) {
        status = gl_fail_memory(error);
    } else {
        if (all.count)
            qsort(all.at, all.count, sizeof *all.at, compare_touches);
        number_fields(&all, graph->store, record);
        status = find_standing(&all, graph, error);
    }
    if (!status)
        status = make_fields(&all, graph, arena, reading, error);
    reading->incomplete = graph->incomplete;
    reading->overfull = all.overfull;
    free(all.at);
    return status;
}

/* ------------------------------------------------------------------------------------------ a single slip */

/* The only slip on the record, or the only one of its author there; GL_NONE: there are none, or several. */
static uint32_t only_slip(const gl_store *store, uint32_t record, uint32_t author) {
    const gl_subject *subject = gl_store_record(store, record);
    if (author == GL_NONE)
        return subject->count == 1 ? subject->last : GL_NONE;
    uint32_t voice = gl_store_voice_find(store, record, author);
    return voice != GL_NONE && gl_store_voice(store, voice)->count == 1 ? gl_store_voice(store, voice)->last
                                                                        : GL_NONE;
}

/* What a single slip follows is on another record, or not here. */
static void follow_one(const gl_store *store, const gl_slip_view *view, gl_reading *reading,
                       uint32_t *stray) {
    gl_digest digest;
    size_t at = 0;
    while (gl_slip_after_next(view, &at, &digest)) {
        bool there = gl_store_find(store, &digest) != GL_NONE;
        reading->incomplete = reading->incomplete || !there;
        *stray += there;
    }
}

/* All that it sets stands, and is written in the order of names already. */
static glassine_status read_one(const gl_store *store, uint32_t slip, gl_span set, gl_arena *arena,
                                gl_reading *reading, glassine_error *error) {
    size_t count = gl_json_count(set);
    gl_read_field *fields = GL_ARENA_ARRAY(arena, gl_read_field, count);
    gl_json_walk walk = gl_json_walk_of(set);
    gl_span name, value;
    if (count && !fields)
        return gl_fail_memory(error);
    for (size_t i = 0; i < count && gl_json_next(&walk, &name, &value); i++) {
        fields[i] = (gl_read_field){.name_text = name.text,
                                    .name_length = (uint16_t)name.length,
                                    .reach = (uint8_t)gl_store_at(store, slip)->reach,
                                    .one = gl_said_by(slip, value),
                                    .said_count = 1};
    }
    reading->fields = fields;
    reading->field_count = (uint32_t)count;
    return GLASSINE_OK;
}

/* *alone: it was a single slip that clears nothing, and the reading is made. */
static glassine_status read_alone(const gl_store *store, uint32_t record, uint32_t author, gl_arena *arena,
                                  gl_reading *reading, uint32_t *stray, bool *alone, glassine_error *error) {
    uint32_t slip = only_slip(store, record, author);
    gl_slip_view view;
    *alone = false;
    if (slip == GL_NONE)
        return GLASSINE_OK;
    gl_slip_look(gl_store_line(store, slip), &view);
    if (view.clear.text)
        return GLASSINE_OK;
    int counts = gl_store_counts(store, slip);
    if (counts < 0)
        return gl_fail_memory(error);
    *alone = true;
    *stray = 0;
    follow_one(store, &view, reading, stray);
    return counts ? read_one(store, slip, view.set, arena, reading, error) : GLASSINE_OK;
}

glassine_status gl_reading_make(const gl_store *store, uint32_t record, uint32_t author, gl_arena *arena,
                                gl_reading *reading, uint32_t *stray, glassine_error *error) {
    *reading = (gl_reading){0};
    uint32_t found = 0;
    bool alone;
    glassine_status made =
        read_alone(store, record, author, arena, reading, stray ? stray : &found, &alone, error);
    if (made || alone)
        return made;
    gl_graph graph;
    glassine_status status = gl_graph_make(store, record, author, &graph, error);
    if (status)
        return status;
    status = read_graph(&graph, gl_store_record(store, record)->id, arena, reading, error);
    if (stray)
        *stray = graph.stray;
    gl_graph_free(&graph);
    return status;
}

/* What is not among `slips` and not followed by them falls silent. Edges lead from newer nodes to older ones, so one
 * pass in that order finds all. */
static glassine_status silence_others(gl_graph *graph, const uint32_t *slips, size_t count,
                                      glassine_error *error) {
    bool *known = calloc(graph->count, sizeof *known);
    uint32_t *order = malloc(graph->count * sizeof *order), found = 0;
    glassine_status status =
        known && order ? gl_graph_newest_first(graph, order, &found, error) : gl_fail_memory(error);
    for (uint32_t i = 0; i < found; i++) {
        gl_graph_node *node = &graph->nodes[order[i]];
        for (size_t k = 0; k < count && !known[order[i]]; k++)
            known[order[i]] = slips[k] == node->slip;
        node->counts = node->counts && known[order[i]];
        for (size_t e = node->edge; known[order[i]] && e < node[1].edge; e++)
            known[graph->edges[e]] = true;
    }
    free(known);
    free(order);
    return status;
}

glassine_status gl_reading_make_at(const gl_store *store, uint32_t record, uint32_t author,
                                   const uint32_t *slips, size_t count, gl_arena *arena, gl_reading *reading,
                                   glassine_error *error) {
    *reading = (gl_reading){0};
    gl_graph graph;
    glassine_status status = gl_graph_make(store, record, author, &graph, error);
    if (status)
        return status;
    status = silence_others(&graph, slips, count, error);
    if (!status)
        status = read_graph(&graph, gl_store_record(store, record)->id, arena, reading, error);
    gl_graph_free(&graph);
    return status;
}
