/* Inside the layer: the slips on one record (of one author) and which follows which. */
#ifndef GL_SLIPS_GRAPH_H
#define GL_SLIPS_GRAPH_H

#include "slips/store.h"

typedef struct gl_graph_node {
    uint32_t slip; /* number in the store */
    bool counts;   /* in readings */
    glassine_reach reach;
    const char *at;     /* its time, GL_TIME_SIZE - 1 bytes */
    gl_span set, clear; /* canonical; `clear` may be absent */
    size_t edge;        /* where its edges begin in `edges` */
} gl_graph_node;

typedef struct gl_graph {
    const gl_store *store;
    /* in order of arrival, which is that of their numbers; one more, whose `edge` ends the last */
    gl_graph_node *nodes;
    uint32_t count;
    uint32_t *edges; /* to the nodes that each one follows directly */
    size_t edge_count, edge_room;
    uint32_t stray;  /* entries of `after` that lead to another record, reach or author */
    bool incomplete; /* an entry of `after` leads to no slip of the set */
} gl_graph;

/* As in reading.h: `author` GL_NONE takes everybody's slips on the record. */
glassine_status gl_graph_make(const gl_store *store, uint32_t record, uint32_t author, gl_graph *graph,
                              glassine_error *error);
void gl_graph_free(gl_graph *graph);

/* The node of a slip that is in the graph. */
uint32_t gl_graph_node_of(const gl_graph *graph, uint32_t slip);

/* Fills order[0 … result-1] so that each node comes before all that it follows. The result is graph->count: a
 * ring of slips would need a collision of SHA-256, and its members would be left out. */
glassine_status gl_graph_newest_first(const gl_graph *graph, uint32_t *order, uint32_t *count,
                                      glassine_error *error);

/* Order by time, then digest. */
int gl_graph_compare(const gl_graph *graph, uint32_t a, uint32_t b);

#endif
