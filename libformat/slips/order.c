/* What a new slip follows, and slips in an order that people can read. */
#include <stdlib.h>

#include "base/error.h"
#include "slips/graph.h"
#include "slips/reading.h"

static int by_bytes(const void *a, const void *b) {
    return gl_digest_compare(a, b);
}

/* followed[node]: a slip that counts follows it, directly or through others. */
static void mark_followed(const gl_graph *graph, const uint32_t *order, uint32_t count, bool *followed) {
    for (uint32_t i = 0; i < count; i++) {
        const gl_graph_node *node = &graph->nodes[order[i]];
        if (!node->counts && !followed[order[i]])
            continue;
        for (size_t e = node->edge; e < node[1].edge; e++)
            followed[graph->edges[e]] = true;
    }
}

static glassine_status take_heads(const gl_graph *graph, const bool *followed, glassine_reach reach,
                                  gl_arena *arena, gl_digest **heads, size_t *count, glassine_error *error) {
    size_t room = 0;
    for (uint32_t i = 0; i < graph->count; i++)
        room += graph->nodes[i].reach == reach && graph->nodes[i].counts && !followed[i];
    *heads = GL_ARENA_ARRAY(arena, gl_digest, room + 1);
    if (!*heads)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < graph->count; i++)
        if (graph->nodes[i].reach == reach && graph->nodes[i].counts && !followed[i])
            (*heads)[(*count)++] = gl_store_at(graph->store, graph->nodes[i].slip)->digest;
    qsort(*heads, *count, sizeof **heads, by_bytes);
    return GLASSINE_OK;
}

glassine_status gl_reading_heads(const gl_store *store, uint32_t record, uint32_t author,
                                 glassine_reach reach, gl_arena *arena, gl_digest **heads, size_t *count,
                                 glassine_error *error) {
    *heads = NULL;
    *count = 0;
    gl_graph graph;
    glassine_status status = gl_graph_make(store, record, author, &graph, error);
    if (status)
        return status;
    uint32_t *order = malloc(((size_t)graph.count + 1) * sizeof *order), ordered;
    bool *followed = calloc((size_t)graph.count + 1, sizeof *followed);
    if (!order || !followed)
        status = gl_fail_memory(error);
    else
        status = gl_graph_newest_first(&graph, order, &ordered, error);
    if (!status) {
        mark_followed(&graph, order, ordered, followed);
        status = take_heads(&graph, followed, reach, arena, heads, count, error);
    }
    free(order);
    free(followed);
    gl_graph_free(&graph);
    return status;
}

/* -------------------------------------------------------------------------------------------- in order */

/* Nodes all of whose edges were taken: a binary heap, the earliest on top. */
typedef struct heap {
    const gl_graph *graph;
    uint32_t *nodes;
    uint32_t count;
} heap;

static void heap_push(heap *h, uint32_t node) {
    uint32_t at = h->count++;
    while (at && gl_graph_compare(h->graph, node, h->nodes[(at - 1) / 2]) < 0) {
        h->nodes[at] = h->nodes[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    h->nodes[at] = node;
}

static uint32_t heap_pop(heap *h) {
    uint32_t top = h->nodes[0], last = h->nodes[--h->count], at = 0;
    for (;;) {
        size_t child = 2 * (size_t)at + 1;
        if (child >= h->count)
            break;
        if (child + 1 < h->count && gl_graph_compare(h->graph, h->nodes[child + 1], h->nodes[child]) < 0)
            child++;
        if (gl_graph_compare(h->graph, last, h->nodes[child]) <= 0)
            break;
        h->nodes[at] = h->nodes[child];
        at = (uint32_t)child;
    }
    h->nodes[at] = last;
    return top;
}

/* The edges turned round: followers[start[node]] … are the nodes that follow it. start is zeroed. */
static void turn_edges(const gl_graph *graph, size_t *start, uint32_t *followers) {
    for (size_t i = 0; i < graph->edge_count; i++)
        start[graph->edges[i]]++;
    for (size_t i = 0, sum = 0; i <= graph->count; i++)
        start[i] = sum += start[i];
    for (uint32_t node = 0; node < graph->count; node++)
        for (size_t e = graph->nodes[node].edge; e < graph->nodes[node + 1].edge; e++)
            followers[--start[graph->edges[e]]] = node;
}

static size_t take_in_order(heap *h, const size_t *start, const uint32_t *followers, size_t *waiting,
                            uint32_t *slips) {
    const gl_graph *graph = h->graph;
    size_t count = 0;
    for (uint32_t i = 0; i < graph->count; i++) {
        waiting[i] = graph->nodes[i + 1].edge - graph->nodes[i].edge;
        if (waiting[i] == 0)
            heap_push(h, i);
    }
    while (h->count) {
        uint32_t node = heap_pop(h);
        slips[count++] = graph->nodes[node].slip;
        for (size_t i = start[node]; i < start[node + 1]; i++)
            if (--waiting[followers[i]] == 0)
                heap_push(h, followers[i]);
    }
    return count;
}

glassine_status gl_reading_order(const gl_store *store, uint32_t record, uint32_t author, gl_arena *arena,
                                 uint32_t **slips, size_t *count, glassine_error *error) {
    *count = 0;
    gl_graph graph;
    glassine_status status = gl_graph_make(store, record, author, &graph, error);
    if (status)
        return status;
    size_t nodes = (size_t)graph.count + 1;
    size_t *start = calloc(nodes, sizeof *start), *waiting = malloc(nodes * sizeof *waiting);
    uint32_t *followers = malloc((graph.edge_count + 1) * sizeof *followers);
    heap h = {&graph, malloc(nodes * sizeof *h.nodes), 0};
    *slips = GL_ARENA_ARRAY(arena, uint32_t, nodes);
    if (start && waiting && followers && h.nodes && *slips) {
        turn_edges(&graph, start, followers);
        *count = take_in_order(&h, start, followers, waiting, *slips);
    } else {
        status = gl_fail_memory(error);
    }
    free(start);
    free(waiting);
    free(followers);
    free(h.nodes);
    gl_graph_free(&graph);
    return status;
}
