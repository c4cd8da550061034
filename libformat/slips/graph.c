#include "slips/graph.h"

#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"

void gl_graph_free(gl_graph *graph) {
    free(graph->nodes);
    free(graph->edges);
    *graph = (gl_graph){0};
}

uint32_t gl_graph_node_of(const gl_graph *graph, uint32_t slip) {
    uint32_t low = 0, high = graph->count;
    while (high - low > 1) {
        uint32_t middle = low + (high - low) / 2;
        if (graph->nodes[middle].slip > slip)
            high = middle;
        else
            low = middle;
    }
    return low;
}

static bool add_edge(gl_graph *graph, uint32_t to) {
    if (graph->edge_count == graph->edge_room) {
        void *grown = gl_grow(graph->edges, &graph->edge_room, graph->edge_count + 1, sizeof *graph->edges);
        if (!grown)
            return false;
        graph->edges = grown;
    }
    graph->edges[graph->edge_count++] = to;
    return true;
}

/* An entry of `after` is an edge only inside the record, the reach and (where `own`) the author. */
static bool add_edges(gl_graph *graph, const gl_slip *slip, const gl_slip_view *view, bool own) {
    gl_digest digest;
    size_t at = 0;
    while (gl_slip_after_next(view, &at, &digest)) {
        uint32_t number = gl_store_find(graph->store, &digest);
        if (number == GL_NONE) {
            graph->incomplete = true;
            continue;
        }
        const gl_slip *target = gl_store_at(graph->store, number);
        if (target->record != slip->record || target->reach != slip->reach ||
            (own && target->author != slip->author))
            graph->stray++;
        else if (!add_edge(graph, gl_graph_node_of(graph, number)))
            return false;
    }
    return true;
}

static bool fill(gl_graph *graph, uint32_t last, bool own) {
    graph->nodes = calloc((size_t)graph->count + 1, sizeof *graph->nodes);
    if (!graph->nodes)
        return false;
    for (uint32_t i = graph->count, number = last; i-- > 0;) {
        const gl_slip *slip = gl_store_at(graph->store, number);
        graph->nodes[i].slip = number;
        number = own ? slip->own_previous : slip->previous;
    }
    for (uint32_t i = 0; i < graph->count; i++) {
        gl_graph_node *node = &graph->nodes[i];
        const gl_slip *slip = gl_store_at(graph->store, node->slip);
        gl_slip_view view;
        int counts = gl_store_counts(graph->store, node->slip);
        if (counts < 0)
            return false;
        gl_slip_look(gl_store_line(graph->store, node->slip), &view);
        *node = (gl_graph_node){.slip = node->slip,
                                .counts = counts > 0,
                                .reach = (glassine_reach)slip->reach,
                                .at = gl_json_raw(view.at).text,
                                .set = view.set,
                                .clear = view.clear,
                                .edge = graph->edge_count};
        if (!add_edges(graph, slip, &view, own))
            return false;
    }
    graph->nodes[graph->count].edge = graph->edge_count;
    return true;
}

glassine_status gl_graph_make(const gl_store *store, uint32_t record, uint32_t author, gl_graph *graph,
                              glassine_error *error) {
    *graph = (gl_graph){.store = store};
    uint32_t last = gl_store_record(store, record)->last;
    graph->count = gl_store_record(store, record)->count;
    if (author != GL_NONE) {
        uint32_t voice = gl_store_voice_find(store, record, author);
        last = voice == GL_NONE ? GL_NONE : gl_store_voice(store, voice)->last;
        graph->count = voice == GL_NONE ? 0 : gl_store_voice(store, voice)->count;
    }
    if (fill(graph, last, author != GL_NONE))
        return GLASSINE_OK;
    gl_graph_free(graph);
    return gl_fail_memory(error);
}

glassine_status gl_graph_newest_first(const gl_graph *graph, uint32_t *order, uint32_t *count,
                                      glassine_error *error) {
    uint32_t *followers = calloc((size_t)graph->count + 1, sizeof *followers), ready = 0;
    if (!followers)
        return gl_fail_memory(error);
    for (size_t i = 0; i < graph->edge_count; i++)
        followers[graph->edges[i]]++;
    for (uint32_t i = 0; i < graph->count; i++)
        if (followers[i] == 0)
            order[ready++] = i;
    for (uint32_t done = 0; done < ready; done++) {
        const gl_graph_node *node = &graph->nodes[order[done]];
        for (size_t i = node->edge; i < node[1].edge; i++)
            if (--followers[graph->edges[i]] == 0)
                order[ready++] = graph->edges[i];
    }
    free(followers);
    *count = ready;
    return GLASSINE_OK;
}

int gl_graph_compare(const gl_graph *graph, uint32_t a, uint32_t b) {
    const gl_graph_node *left = &graph->nodes[a], *right = &graph->nodes[b];
    int order = memcmp(left->at, right->at, GL_TIME_SIZE - 1);
    return order ? order
                 : gl_digest_compare(&gl_store_at(graph->store, left->slip)->digest,
                                     &gl_store_at(graph->store, right->slip)->digest);
}
