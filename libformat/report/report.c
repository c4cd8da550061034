/* Building a report: every adder copies what it gets into the report's arena. */
#include "report/report.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#define DIGITS_MOST 17 /* a double tells no more */
#define NAME_MASK ((UINT32_C(1) << GL_NAME_BITS) - 1)

static void fail(glassine_report *report) {
    report->failed = true;
}

/* ------------------------------------------------------------------------------------------------ life */

static bool begin(glassine_report *report, const char *verb) {
    report->arena = gl_arena_new();
    report->name_marks = gl_map_new();
    report->names = gl_grow(NULL, &report->name_room, 1, sizeof *report->names);
    if (!report->arena || !report->name_marks || !report->names)
        return false;
    report->names[report->name_count++] = (gl_name){GL_NO_SPAN, GL_NO_SPAN, 0};
    report->verb = gl_arena_copy(report->arena, gl_span_of(verb ? verb : ""));
    report->result = GL_ARENA_NEW(report->arena, gl_inner);
    if (!report->verb.text || !report->result)
        return false;
    *report->result = (gl_inner){.node = {.kind = GL_NODE_OBJECT}, .report = report};
    return true;
}

glassine_report *glassine_report_new(const char *verb) {
    glassine_report *report = calloc(1, sizeof *report);
    if (report && begin(report, verb))
        return report;
    glassine_report_free(report);
    return NULL;
}

void glassine_report_free(glassine_report *report) {
    if (!report)
        return;
    gl_arena_free(report->arena);
    gl_map_free(report->name_marks);
    free(report->names);
    gl_buf_free(&report->mark);
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

/* Key and label as one span in report->mark; absent ones differ from empty ones. */
static gl_span name_mark(glassine_report *report, const char *key, const char *label) {
    gl_buf *mark = &report->mark;
    gl_buf_clear(mark);
    gl_buf_add_char(mark, key ? 'k' : '-');
    gl_buf_add_text(mark, key ? key : "");
    gl_buf_add_bytes(mark, label ? "\0l" : "\0-", 2);
    gl_buf_add_text(mark, label ? label : "");
    return gl_buf_span(mark);
}

/* The number of a new name; GL_NONE where memory ran out. */
static uint32_t add_name(glassine_report *report, gl_span mark, const char *key, const char *label) {
    gl_span kept = keep(report, mark);
    gl_name *grown = gl_grow(report->names, &report->name_room, report->name_count + 1, sizeof *grown);
    if (grown)
        report->names = grown;
    if (!kept.text || !grown || report->name_count >> GL_NAME_BITS ||
        !gl_map_set(report->name_marks, kept, (uint32_t)report->name_count)) {
        fail(report);
        return GL_NONE;
    }
    grown[report->name_count] = (gl_name){keep_text(report, key), keep_text(report, label), 0};
    return (uint32_t)report->name_count++;
}

/* `kept` was copied from such a text, with its NUL byte. */
static bool is_text(gl_span kept, const char *text) {
    return kept.text && text ? strcmp(kept.text, text) == 0 : !kept.text && !text;
}

static bool is_named(const gl_name *name, const char *key, const char *label) {
    return is_text(name->key, key) && is_text(name->label, label);
}

static uint32_t find_name(glassine_report *report, const char *key, const char *label) {
    if (!key && !label)
        return 0;
    gl_span mark = name_mark(report, key, label);
    if (report->mark.failed) {
        fail(report);
        return GL_NONE;
    }
    uint32_t known = gl_map_find(report->name_marks, mark);
    return known != GL_NONE ? known : add_name(report, mark, key, label);
}

/* Rows mostly have the names of the row before, in its order. */
static uint32_t name_of(glassine_report *report, const char *key, const char *label) {
    uint32_t before = report->last_name, number = report->names[before].after;
    if (!is_named(&report->names[number], key, label))
        number = find_name(report, key, label);
    if (number != GL_NONE)
        report->names[before].after = report->last_name = number;
    return number;
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
    const glassine_report *report = ((const gl_inner *)parent)->report;
    return (report->only == GL_ONLY_TEXT && !label && kind < GL_NODE_SAY) ||
           (report->only == GL_ONLY_JSON && !key);
}

/* A node of `size` bytes at the end of `parent`'s; NULL where there is no parent or no memory. */
static void *add(glassine_node *parent, gl_node_kind kind, size_t size, const char *key, const char *label) {
    if (!parent || is_unseen(parent, kind, key, label))
        return NULL;
    gl_inner *list = (gl_inner *)parent;
    uint32_t name = name_of(list->report, key, label);
    glassine_node *node = name != GL_NONE ? gl_arena_array(list->report->arena, 1, size) : NULL;
    if (!node) {
        fail(list->report);
        return NULL;
    }
    *node = (glassine_node){.name = name & NAME_MASK, .kind = kind & 0x7f};
    node->row = kind == GL_NODE_OBJECT && parent->kind == GL_NODE_TABLE;
    if (list->last)
        list->last->next = node;
    else
        list->first = node;
    list->last = node;
    return node;
}

static glassine_node *add_inner(glassine_node *parent, gl_node_kind kind, const char *key,
                                const char *label) {
    gl_inner *inner = add(parent, kind, sizeof *inner, key, label);
    if (!inner)
        return NULL;
    inner->first = inner->last = NULL;
    inner->report = ((const gl_inner *)parent)->report;
    return &inner->node;
}

static void add_span(glassine_node *parent, gl_node_kind kind, const char *key, const char *label,
                     gl_span value) {
    size_t length = value.text ? value.length : 0;
    bool fits = length < GL_TEXT_ABSENT;
    glassine_node *node = add(parent, kind, sizeof *node + (fits ? length : 0), key, label);
    if (!node)
        return;
    node->size = value.text && fits ? (uint32_t)length : GL_TEXT_ABSENT;
    if (!fits)
        fail(((const gl_inner *)parent)->report);
    else if (length)
        memcpy(node + 1, value.text, length);
}

glassine_node *glassine_report_result(glassine_report *report) {
    return report ? &report->result->node : NULL;
}

glassine_node *glassine_report_result_list(glassine_report *report, const char *label, bool table) {
    if (!report)
        return NULL;
    glassine_node *result = &report->result->node;
    result->kind = table ? GL_NODE_TABLE : GL_NODE_LIST;
    uint32_t name = name_of(report, NULL, label);
    result->name = name != GL_NONE ? name & NAME_MASK : 0;
    return result;
}

void glassine_report_drop_result(glassine_report *report) {
    if (report)
        report->result->first = report->result->last = NULL;
}

glassine_node *glassine_node_object(glassine_node *parent, const char *key, const char *label) {
    return add_inner(parent, GL_NODE_OBJECT, key, label);
}

glassine_node *glassine_node_list(glassine_node *parent, const char *key, const char *label) {
    return add_inner(parent, GL_NODE_LIST, key, label);
}

glassine_node *glassine_node_table(glassine_node *parent, const char *key, const char *label) {
    return add_inner(parent, GL_NODE_TABLE, key, label);
}

void glassine_node_text(glassine_node *parent, const char *key, const char *label, glassine_span value) {
    add_span(parent, GL_NODE_TEXT, key, label, value);
}

void gl_node_check(glassine_node *node, const gl_buf *text) {
    if (node && text->failed)
        fail(((const gl_inner *)node)->report);
}

void gl_node_buf(glassine_node *parent, const char *key, const char *label, gl_buf *text) {
    gl_node_check(parent, text);
    glassine_node_text(parent, key, label, gl_buf_span(text));
    gl_buf_free(text);
}

void glassine_node_string(glassine_node *parent, const char *key, const char *label, const char *value) {
    add_span(parent, GL_NODE_TEXT, key, label, gl_span_of(value));
}

static void add_formatted(glassine_node *parent, gl_node_kind kind, const char *key, const char *label,
                          const char *format, va_list values) __attribute__((format(printf, 5, 0)));
static void add_formatted(glassine_node *parent, gl_node_kind kind, const char *key, const char *label,
                          const char *format, va_list values) {
    if (parent)
        add_span(parent, kind, key, label,
                 format_scratch(((const gl_inner *)parent)->report, format, values));
}

void glassine_node_format(glassine_node *parent, const char *key, const char *label, const char *format,
                          ...) {
    va_list values;
    va_start(values, format);
    add_formatted(parent, GL_NODE_TEXT, key, label, format, values);
    va_end(values);
}

void glassine_node_integer(glassine_node *parent, const char *key, const char *label, int64_t value) {
    gl_number *number = add(parent, GL_NODE_INTEGER, sizeof *number, key, label);
    if (number)
        number->as.integer = value;
}

void glassine_node_real(glassine_node *parent, const char *key, const char *label, double value, int digits) {
    gl_number *number = add(parent, GL_NODE_REAL, sizeof *number, key, label);
    if (!number)
        return;
    number->as.real = value;
    number->node.size = (uint32_t)(digits < 0 ? 0 : digits > DIGITS_MOST ? DIGITS_MOST : digits);
}

void glassine_node_truth(glassine_node *parent, const char *key, const char *label, bool value) {
    glassine_node *node = add(parent, GL_NODE_TRUTH, sizeof *node, key, label);
    if (node)
        node->size = value;
}

void glassine_node_json(glassine_node *parent, const char *key, glassine_span json) {
    add_span(parent, GL_NODE_JSON, key, NULL, json);
}

void glassine_node_say(glassine_node *parent, const char *format, ...) {
    va_list values;
    va_start(values, format);
    add_formatted(parent, GL_NODE_SAY, NULL, NULL, format, values);
    va_end(values);
}

void glassine_node_drawing(glassine_node *parent, const char *text) {
    add_span(parent, GL_NODE_DRAWING, NULL, NULL, gl_span_of(text));
}
