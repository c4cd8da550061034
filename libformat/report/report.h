/* How a report is kept: nodes in an arena, names kept once. The printers walk this. */
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

/* A name lives once in a report, however many rows use it: equal pairs have equal pointers. */
typedef struct gl_name {
    gl_span key;   /* absent: text only */
    gl_span label; /* absent: JSON only */
} gl_name;

struct glassine_node {
    glassine_node *next; /* the sibling after it */
    const gl_name *name;
    uint8_t kind;
    uint8_t digits; /* of a real */
    bool row;       /* an object of a table */
    union {
        struct {
            glassine_node *first, *last;
            glassine_report *report;
        } inner; /* object, list, table */
        gl_span text;
        int64_t integer;
        double real;
        bool truth;
    } as;
};

typedef struct gl_finding {
    struct gl_finding *next;
    gl_span rule, place, message, remedy; /* absent: not said */
    glassine_weight weight;
} gl_finding;

struct glassine_report {
    gl_arena *arena;
    gl_map *names; /* "key NUL label" -> index into name_list */
    gl_name **name_list;
    size_t name_count, name_room;
    gl_buf scratch; /* what is being formatted */
    gl_span verb, bundle;
    uint32_t edition;
    gl_finding *first_finding, *last_finding;
    size_t weights[GLASSINE_FAULT + 1];
    glassine_node *result;
    gl_finding *error; /* its weight says nothing */
    glassine_status error_status;
    bool attention, failed;
    enum { GL_FOR_BOTH, GL_ONLY_TEXT, GL_ONLY_JSON } only; /* what will be printed of it */
};

static inline bool gl_node_is_inner(const glassine_node *node) {
    return node->kind <= GL_NODE_TABLE;
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
