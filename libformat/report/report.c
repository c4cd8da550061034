/* Building a report: every adder copies what it gets into the report's arena. */
#include "report/report.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#define DIGITS_MOST 17 /* a double tells no more */

static void fail(glassine_report *report) {
    report->failed = true;
}

/* ------------------------------------------------------------------------------------------------ life */

glassine_report *glassine_report_new(const char *verb) {
    glassine_report *report = calloc(1, sizeof *report);
    if (!report)
        return NULL;
    report->arena = gl_arena_new();
    report->names = gl_map_new();
    if (!report->arena || !report->names) {
        glassine_report_free(report);
        return NULL;
    }
    report->verb = gl_arena_copy(report->arena, gl_span_of(verb ? verb : ""));
    report->result = GL_ARENA_NEW(report->arena, glassine_node);
    if (!report->verb.text || !report->result) {
        glassine_report_free(report);
        return NULL;
    }
    *report->result = (glassine_node){.kind = GL_NODE_OBJECT, .as.inner.report = report};
    return report;
}

void glassine_report_free(glassine_report *report) {
    if (!report)
        return;
    gl_arena_free(report->arena);
    gl_map_free(report->names);
    free(report->name_list);
    gl_buf_free(&report->scratch);
    free(report);
}

bool glassine_report_failed(const glassine_report *report) {
    return !report || report->failed;
}

/* An absent span stays absent. */
static gl_span keep(glassine_report *report, gl_span text) {
    if (!text.text)
        return GL_NO_SPAN;
    gl_span copy = gl_arena_copy(report->arena, text);
    if (!copy.text)
        fail(report);
    return copy;
}

static gl_span keep_text(glassine_report *report, const char *text) {
    return keep(report, gl_span_of(text));
}

/* What was formatted lies in report->scratch until the next call; absent where memory ran out. */
static gl_span format_scratch(glassine_report *report, const char *format, va_list values)
    __attribute__((format(printf, 2, 0)));
static gl_span format_scratch(glassine_report *report, const char *format, va_list values) {
    va_list again;
    va_copy(again, values);
    int length = vsnprintf(NULL, 0, format, values);
    gl_buf *buf = &report->scratch;
    gl_buf_clear(buf);
    bool fits = length >= 0 && gl_buf_reserve(buf, (size_t)length);
    if (fits) {
        vsnprintf(buf->text, (size_t)length + 1, format, again);
        buf->length = (size_t)length;
    }
    va_end(again);
    if (!fits) {
        fail(report);
        return GL_NO_SPAN;
    }
    return gl_buf_span(buf);
}

/* --------------------------------------------------------------------------------- about, findings, error */

void glassine_report_about(glassine_report *report, const char *bundle, uint32_t edition) {
    if (!report)
        return;
    report->bundle = keep_text(report, bundle);
    report->edition = edition;
}

const char *gl_weight_name(glassine_weight weight) {
    static const char *const names[] = {"note", "warning", "fault"};
    return names[weight];
}

void glassine_report_finding(glassine_report *report, glassine_weight weight, const char *rule,
                             const char *place, const char *remedy, const char *format, ...) {
    if (!report)
        return;
    gl_finding *finding = GL_ARENA_NEW(report->arena, gl_finding);
    if (!finding) {
        fail(report);
        return;
    }
    va_list values;
    va_start(values, format);
    gl_span message = keep(report, format_scratch(report, format, values));
    va_end(values);
    *finding = (gl_finding){.weight = weight,
                            .rule = keep_text(report, rule),
                            .place = keep_text(report, place),
                            .remedy = keep_text(report, remedy),
                            .message = message};
    if (report->last_finding)
        report->last_finding->next = finding;
    else
        report->first_finding = finding;
    report->last_finding = finding;
    report->weights[weight]++;
}

size_t glassine_report_findings(const glassine_report *report, glassine_weight at_least) {
    size_t count = 0;
    for (int weight = (int)at_least; report && weight <= GLASSINE_FAULT; weight++)
        count += report->weights[weight];
    return count;
}

/* "" in a glassine_error says the same as absent here. */
static gl_span keep_filled(glassine_report *report, const char *text) {
    return text[0] ? keep_text(report, text) : GL_NO_SPAN;
}

void glassine_report_error(glassine_report *report, const glassine_error *error) {
    if (!report || !error)
        return;
    gl_finding *kept = GL_ARENA_NEW(report->arena, gl_finding);
    if (!kept) {
        fail(report);
        return;
    }
    *kept = (gl_finding){.weight = GLASSINE_FAULT,
                         .rule = keep_filled(report, error->rule),
                         .place = keep_filled(report, error->place),
                         .remedy = keep_filled(report, error->remedy),
                         .message = keep_text(report, error->message)};
    report->error = kept;
    report->error_status = error->status;
}

void glassine_report_attention(glassine_report *report) {
    if (report)
        report->attention = true;
}

bool glassine_report_wants_attention(const glassine_report *report) {
    return report && report->attention;
}

/* ----------------------------------------------------------------------------------------------- names */

/* Key and label as one span in report->scratch; absent ones differ from empty ones. */
static gl_span name_mark(glassine_report *report, const char *key, const char *label) {
    gl_buf *mark = &report->scratch;
    gl_buf_clear(mark);
    gl_buf_add_char(mark, key ? 'k' : '-');
    gl_buf_add_text(mark, key ? key : "");
    gl_buf_add_bytes(mark, label ? "\0l" : "\0-", 2);
    gl_buf_add_text(mark, label ? label : "");
    return gl_buf_span(mark);
}

static const gl_name *add_name(glassine_report *report, gl_span mark, const char *key, const char *label) {
    gl_name *name = GL_ARENA_NEW(report->arena, gl_name);
    gl_span kept = keep(report, mark);
    gl_name **list = gl_grow(report->name_list, &report->name_room, report->name_count + 1, sizeof *list);
    if (list)
        report->name_list = list;
    if (!name || !kept.text || !list || !gl_map_set(report->names, kept, (uint32_t)report->name_count)) {
        fail(report);
        return NULL;
    }
    *name = (gl_name){keep_text(report, key), keep_text(report, label)};
    list[report->name_count++] = name;
    return name;
}

static const gl_name *name_of(glassine_report *report, const char *key, const char *label) {
    gl_span mark = name_mark(report, key, label);
    if (report->scratch.failed) {
        fail(report);
        return NULL;
    }
    uint32_t known = gl_map_find(report->names, mark);
    return known != GL_NONE ? report->name_list[known] : add_name(report, mark, key, label);
}

/* ----------------------------------------------------------------------------------------------- nodes */

void glassine_report_only(glassine_report *report, bool json) {
    if (report)
        report->only = json ? GL_ONLY_JSON : GL_ONLY_TEXT;
}

/* Would the one printer that will be used pass it over, whatever it holds? Leaves outside of tables stay: they are few. */
static bool is_unseen(const glassine_node *parent, gl_node_kind kind, const char *key, const char *label) {
    if (parent->kind != GL_NODE_OBJECT || (!parent->row && kind > GL_NODE_TABLE))
        return false;
    const glassine_report *report = parent->as.inner.report;
    return (report->only == GL_ONLY_TEXT && !label && kind < GL_NODE_SAY) || (report->only == GL_ONLY_JSON && !key);
}

/* A node at the end of `parent`'s; NULL where there is no parent or no memory. */
static glassine_node *add(glassine_node *parent, gl_node_kind kind, const char *key, const char *label) {
    if (!parent || is_unseen(parent, kind, key, label))
        return NULL;
    glassine_report *report = parent->as.inner.report;
    const gl_name *name = name_of(report, key, label);
    glassine_node *node = name ? GL_ARENA_NEW(report->arena, glassine_node) : NULL;
    if (!node) {
        fail(report);
        return NULL;
    }
    *node = (glassine_node){.name = name, .kind = (uint8_t)kind};
    node->row = kind == GL_NODE_OBJECT && parent->kind == GL_NODE_TABLE;
    if (gl_node_is_inner(node))
        node->as.inner.report = report;
    if (parent->as.inner.last)
        parent->as.inner.last->next = node;
    else
        parent->as.inner.first = node;
    parent->as.inner.last = node;
    return node;
}

static void add_span(glassine_node *parent, gl_node_kind kind, const char *key, const char *label,
                     gl_span value) {
    glassine_node *node = add(parent, kind, key, label);
    if (node)
        node->as.text = keep(parent->as.inner.report, value);
}

glassine_node *glassine_report_result(glassine_report *report) {
    return report ? report->result : NULL;
}

glassine_node *glassine_report_result_list(glassine_report *report, const char *label, bool table) {
    if (!report)
        return NULL;
    report->result->kind = table ? GL_NODE_TABLE : GL_NODE_LIST;
    report->result->name = name_of(report, NULL, label);
    return report->result;
}

void glassine_report_drop_result(glassine_report *report) {
    if (report)
        report->result->as.inner.first = report->result->as.inner.last = NULL;
}

glassine_node *glassine_node_object(glassine_node *parent, const char *key, const char *label) {
    return add(parent, GL_NODE_OBJECT, key, label);
}

glassine_node *glassine_node_list(glassine_node *parent, const char *key, const char *label) {
    return add(parent, GL_NODE_LIST, key, label);
}

glassine_node *glassine_node_table(glassine_node *parent, const char *key, const char *label) {
    return add(parent, GL_NODE_TABLE, key, label);
}

void glassine_node_text(glassine_node *parent, const char *key, const char *label, glassine_span value) {
    add_span(parent, GL_NODE_TEXT, key, label, value);
}

void gl_node_check(glassine_node *node, const gl_buf *text) {
    if (node && text->failed)
        fail(node->as.inner.report);
}

void gl_node_buf(glassine_node *parent, const char *key, const char *label, gl_buf *text) {
    gl_node_check(parent, text);
    glassine_node_text(parent, key, label, gl_buf_span(text));
    gl_buf_free(text);
}

void glassine_node_string(glassine_node *parent, const char *key, const char *label, const char *value) {
    add_span(parent, GL_NODE_TEXT, key, label, gl_span_of(value));
}

void glassine_node_format(glassine_node *parent, const char *key, const char *label, const char *format,
                          ...) {
    glassine_node *node = add(parent, GL_NODE_TEXT, key, label);
    if (!node)
        return;
    glassine_report *report = parent->as.inner.report;
    va_list values;
    va_start(values, format);
    node->as.text = keep(report, format_scratch(report, format, values));
    va_end(values);
}

void glassine_node_integer(glassine_node *parent, const char *key, const char *label, int64_t value) {
    glassine_node *node = add(parent, GL_NODE_INTEGER, key, label);
    if (node)
        node->as.integer = value;
}

void glassine_node_real(glassine_node *parent, const char *key, const char *label, double value, int digits) {
    glassine_node *node = add(parent, GL_NODE_REAL, key, label);
    if (!node)
        return;
    node->as.real = value;
    node->digits = (uint8_t)(digits < 0 ? 0 : digits > DIGITS_MOST ? DIGITS_MOST : digits);
}

void glassine_node_truth(glassine_node *parent, const char *key, const char *label, bool value) {
    glassine_node *node = add(parent, GL_NODE_TRUTH, key, label);
    if (node)
        node->as.truth = value;
}

void glassine_node_json(glassine_node *parent, const char *key, glassine_span json) {
    add_span(parent, GL_NODE_JSON, key, NULL, json);
}

void glassine_node_say(glassine_node *parent, const char *format, ...) {
    glassine_node *node = add(parent, GL_NODE_SAY, NULL, NULL);
    if (!node)
        return;
    glassine_report *report = parent->as.inner.report;
    va_list values;
    va_start(values, format);
    node->as.text = keep(report, format_scratch(report, format, values));
    va_end(values);
}

void glassine_node_drawing(glassine_node *parent, const char *text) {
    add_span(parent, GL_NODE_DRAWING, NULL, NULL, gl_span_of(text));
}
