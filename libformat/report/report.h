/* How a report is kept: nodes in an arena, each with what it holds behind it, and names once. The printers walk this. */
#ifndef GL_REPORT_REPORT_H
#define GL_REPORT_REPORT_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/map.h"

typedef enum gl_node_kind {
    GL_NODE_OBJECT,
    GL_NODE_LIST,
    GL_NODE_TABLE,
    GL_NODE_TEXT,
    GL_NODE_INTEGER,
    GL_NODE_REAL,
    GL_NODE_TRUTH,
    GL_NODE_JSON,    /* JSON only */
    GL_NODE_SAY,     /* text only */
    GL_NODE_DRAWING, /* text only */
} gl_node_kind;

/* A name lives once in a report, however many rows use it, and nodes have its number. */
typedef struct gl_name {
    gl_span key;    /* absent: text only */
    gl_span label;  /* absent: JSON only */
    uint32_t after; /* the name that came behind it last: mostly the next row's too */
} gl_name;

#define GL_NAME_BITS 24

/* A list may have a million rows: what a node holds lies behind it, and takes no more than it needs. */
struct glassine_node {
    glassine_node *next; /* the sibling after it */
    uint32_t name : GL_NAME_BITS;
    uint32_t kind : 7;
    uint32_t row : 1; /* an object of a table */
    uint32_t size;    /* bytes of a text, GL_TEXT_ABSENT; digits of a real; whether a truth holds */
};
#define GL_TEXT_ABSENT UINT32_MAX

/* Object, list, table. */
typedef struct gl_inner {
    glassine_node node;
    glassine_node *first, *last;
    glassine_report *report;
} gl_inner;

typedef struct gl_number {
    glassine_node node;
    union {
        int64_t integer;
        double real;
    } as;
} gl_number;

typedef struct gl_finding {
    struct gl_finding *next;
    gl_span rule, place, message, remedy; /* absent: not said */
    glassine_weight weight;
} gl_finding;

struct glassine_report {
    gl_arena *arena;
    gl_map *name_marks; /* "key NUL label" -> index into names */
    gl_name *names;     /* the first one is none: neither key nor label */
    size_t name_count, name_room;
    uint32_t last_name; /* that a node was given */
    gl_buf mark;        /* of the name that is being looked for */
    gl_buf scratch;     /* what is being formatted */
    gl_span verb, bundle;
    uint32_t edition;
    gl_finding *first_finding, *last_finding;
    size_t weights[GLASSINE_FAULT + 1];
    gl_inner *result;
    gl_finding *error; /* its weight says nothing */
    glassine_status error_status;
    bool attention, failed;
    enum { GL_FOR_BOTH, GL_ONLY_TEXT, GL_ONLY_JSON } only; /* what will be printed of it */
};

static inline bool gl_node_is_inner(const glassine_node *node) {
    return node->kind <= GL_NODE_TABLE;
}

static inline const glassine_node *gl_node_first(const glassine_node *node) {
    return ((const gl_inner *)node)->first;
}

static inline gl_span gl_node_text(const glassine_node *node) {
    return node->size == GL_TEXT_ABSENT ? GL_NO_SPAN : (gl_span){(const char *)(node + 1), node->size};
}

static inline const gl_number *gl_node_number(const glassine_node *node) {
    return (const gl_number *)node;
}

static inline const gl_name *gl_node_name(const glassine_report *report, const glassine_node *node) {
    return &report->names[node->name];
}

/* Memory may have run out for the text that goes into this node: then the report is not complete. NULL:
 * nothing. */
void gl_node_check(glassine_node *node, const gl_buf *text);
/* A field with the buffer's text, which is freed. */
void gl_node_buf(glassine_node *parent, const char *key, const char *label, gl_buf *text);

const char *gl_weight_name(glassine_weight weight);

/* `digits` after the point, a '.' whatever the locale; no "-0.00". Absent for what is no number. */
void gl_report_add_real(gl_buf *buf, double value, unsigned digits);

/* Collects what is printed and hands it on in large pieces. The first failure sticks. */
typedef struct gl_printer {
    gl_buf buf;
    glassine_write write;
    void *context;
    int error; /* errno value */
} gl_printer;

void gl_printer_flush_full(gl_printer *printer); /* where enough has come together */
int gl_printer_end(gl_printer *printer);         /* hands the rest on and frees the buffer */

#endif
