/* A report as text: blocks of values, lists, tables, prose, and findings. */
#include <inttypes.h>

#include "base/text.h"
#include "report/page.h"

#define DEEPER ((size_t)2)
#define NOTHING "none"

/* ---------------------------------------------------------------------------------------------- values */

static bool is_empty(const gl_page *page, const glassine_node *node);

gl_span gl_page_label(const gl_page *page, const glassine_node *node) {
    return gl_node_name(page->report, node)->label;
}

static bool is_shown(const gl_page *page, const glassine_node *node, const glassine_node *parent) {
    if (node->kind == GL_NODE_JSON)
        return false;
    if (gl_node_is_inner(node) && !gl_page_label(page, node).length && is_empty(page, node))
        return false; /* "none" of what? */
    if (node->kind == GL_NODE_SAY || node->kind == GL_NODE_DRAWING)
        return true;
    if (node->kind == GL_NODE_TEXT && node->size == GL_TEXT_ABSENT)
        return false;
    return parent->kind != GL_NODE_OBJECT || gl_page_label(page, node).text;
}

static void add_inner(const gl_page *page, const glassine_node *node, bool lines, gl_buf *out) {
    bool first = true;
    for (const glassine_node *child = gl_node_first(node); child; child = child->next) {
        if (!is_shown(page, child, node))
            continue;
        if (!first)
            gl_buf_add_text(out, ", ");
        first = false;
        gl_page_value(page, child, lines, out);
    }
}

bool gl_page_value(const gl_page *page, const glassine_node *node, bool lines, gl_buf *out) {
    switch (node->kind) {
    case GL_NODE_INTEGER:
        gl_buf_printf(out, "%" PRId64, gl_node_number(node)->as.integer);
        return true;
    case GL_NODE_REAL:
        gl_report_add_real(out, gl_node_number(node)->as.real, node->size);
        return true;
    case GL_NODE_TRUTH:
        gl_buf_add_text(out, node->size ? "yes" : "no");
        return true;
    case GL_NODE_OBJECT:
    case GL_NODE_LIST:
    case GL_NODE_TABLE:
        add_inner(page, node, lines, out);
        return true;
    case GL_NODE_JSON:
        return false;
    default:
        gl_text_add_shown(out, gl_node_text(node), lines);
        return true;
    }
}

static const glassine_node *first_shown(const gl_page *page, const glassine_node *from,
                                        const glassine_node *parent) {
    while (from && !is_shown(page, from, parent))
        from = from->next;
    return from;
}

static bool is_empty(const gl_page *page, const glassine_node *node) {
    return gl_node_is_inner(node) && !first_shown(page, gl_node_first(node), node);
}

/* A value that stands beside its label: a leaf, a list of leaves, or nothing at all. */
static bool is_plain(const gl_page *page, const glassine_node *node) {
    if (node->kind == GL_NODE_SAY || node->kind == GL_NODE_DRAWING)
        return false;
    if (!gl_node_is_inner(node))
        return true;
    if (is_empty(page, node))
        return true;
    if (node->kind != GL_NODE_LIST)
        return false;
    for (const glassine_node *child = gl_node_first(node); child; child = child->next) {
        if (gl_node_is_inner(child) || child->kind == GL_NODE_SAY || child->kind == GL_NODE_DRAWING)
            return false;
    }
    return true;
}

/* ---------------------------------------------------------------------------------- labels beside values */

static size_t label_width(gl_page *page, const glassine_node *node) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_text_add_shown(&shown, gl_page_label(page, node), false);
    size_t width = gl_text_width(gl_buf_span(&shown));
    page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
    return width;
}

/* The column in which the values of the block that starts at `node` stand. */
static size_t value_column(gl_page *page, const glassine_node *node, const glassine_node *parent,
                           size_t indent) {
    size_t most = page->width / 2, widest = 0;
    for (; node && is_plain(page, node); node = first_shown(page, node->next, parent)) {
        size_t width = label_width(page, node);
        widest = width > widest && width <= most ? width : widest;
    }
    return indent + (widest ? widest + DEEPER : 0);
}

/* Elements that hold spaces would run into each other between commas: they get lines of their own. */
static bool is_list_of_phrases(const glassine_node *node) {
    for (const glassine_node *child = gl_node_first(node); child; child = child->next) {
        gl_span text = child->kind == GL_NODE_TEXT ? gl_node_text(child) : GL_NO_SPAN;
        if (text.text && memchr(text.text, ' ', text.length))
            return true;
    }
    return false;
}

static void print_phrases(gl_page *page, const glassine_node *list, size_t at, size_t column) {
    gl_buf shown = GL_BUF_EMPTY;
    bool first = true;
    for (const glassine_node *child = first_shown(page, gl_node_first(list), list); child;
         child = first_shown(page, child->next, list)) {
        gl_buf_clear(&shown);
        gl_page_value(page, child, true, &shown);
        if (first)
            gl_page_spaces(page, column - at);
        else
            gl_page_start(page, column);
        first = false;
        gl_page_flow(page, gl_buf_span(&shown), column, column + DEEPER);
        page->out.buf.failed |= shown.failed;
    }
    gl_buf_free(&shown);
}

/* Leaves its last line open; returns the column it has come to. */
static size_t print_label(gl_page *page, gl_span label, size_t indent) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_text_add_shown(&shown, label, false);
    size_t room = page->width > indent ? page->width - indent : 1;
    gl_span rest = gl_buf_span(&shown);
    gl_span line = gl_page_take_line(&rest, room, false);
    gl_page_start(page, indent);
    gl_buf_add(&page->out.buf, line);
    while (rest.length) {
        gl_page_end(page);
        line = gl_page_take_line(&rest, room, false);
        gl_page_start(page, indent);
        gl_buf_add(&page->out.buf, line);
    }
    size_t at = indent + gl_text_width(line);
    page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
    return at;
}

/* Label and value; where the value does not fit beside it, it starts a line of its own. */
static void print_pair(gl_page *page, const glassine_node *node, size_t indent, size_t column) {
    gl_buf shown = GL_BUF_EMPTY;
    size_t at = print_label(page, gl_page_label(page, node), indent);
    if (is_empty(page, node))
        gl_buf_add_text(&shown, NOTHING);
    else
        gl_page_value(page, node, true, &shown);
    gl_span value = gl_buf_span(&shown);
    bool beside = at == indent || at + DEEPER <= column;
    if (column + gl_page_widest_word(value) > page->width || !beside) {
        gl_page_end(page);
        at = 0;
        column = indent + 2 * DEEPER;
    }
    bool one_line = column + gl_text_width(value) <= page->width;
    if (gl_node_is_inner(node) && !one_line && is_list_of_phrases(node))
        print_phrases(page, node, at, column);
    else {
        gl_page_spaces(page, column - at);
        gl_page_flow(page, value, column, column);
    }
    page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
}

/* Prints the block of plain nodes that starts at `node`; returns what comes after it. */
static const glassine_node *print_pairs(gl_page *page, const glassine_node *node, const glassine_node *parent,
                                        size_t indent) {
    size_t column = value_column(page, node, parent, indent);
    for (; node && is_plain(page, node); node = first_shown(page, node->next, parent))
        print_pair(page, node, indent, column);
    return node;
}

/* ------------------------------------------------------------------------------------------------ parts */

static void print_content(gl_page *page, const glassine_node *node, size_t indent);

static void print_drawing(gl_page *page, gl_span text, size_t indent) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_text_add_shown(&shown, text, true);
    gl_span rest = gl_buf_span(&shown);
    while (rest.length) {
        const char *feed = memchr(rest.text, '\n', rest.length);
        size_t length = feed ? (size_t)(feed - rest.text) : rest.length;
        gl_page_start(page, indent);
        gl_buf_add(&page->out.buf, gl_span_part(rest, 0, length));
        gl_page_end(page);
        rest = gl_span_part(rest, length + 1, rest.length);
    }
    page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
}

static void print_say(gl_page *page, gl_span text, size_t indent) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_text_add_shown(&shown, text, false);
    gl_page_prose(page, gl_buf_span(&shown), indent, indent);
    page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
}

static void print_part(gl_page *page, const glassine_node *node, size_t indent) {
    bool headed = gl_page_label(page, node).length;
    gl_page_gap(page);
    if (headed)
        gl_page_heading(page, gl_page_label(page, node), indent);
    print_content(page, node, headed ? indent + DEEPER : indent);
    gl_page_gap(page);
}

static void print_leaf(gl_page *page, const glassine_node *node, size_t indent) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_page_value(page, node, true, &shown);
    gl_page_prose(page, gl_buf_span(&shown), indent, indent + DEEPER);
    page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
}

static void print_child(gl_page *page, const glassine_node *node, size_t indent) {
    if (node->kind == GL_NODE_SAY)
        print_say(page, gl_node_text(node), indent);
    else if (node->kind == GL_NODE_DRAWING)
        print_drawing(page, gl_node_text(node), indent);
    else if (gl_node_is_inner(node))
        print_part(page, node, indent);
    else
        print_leaf(page, node, indent);
}

static void print_content(gl_page *page, const glassine_node *node, size_t indent) {
    if (node->kind == GL_NODE_TABLE && gl_page_table(page, node, indent))
        return;
    const glassine_node *child = first_shown(page, gl_node_first(node), node);
    while (child) {
        if (node->kind == GL_NODE_OBJECT && is_plain(page, child)) {
            child = print_pairs(page, child, node, indent);
            continue;
        }
        print_child(page, child, indent);
        child = first_shown(page, child->next, node);
    }
}

/* Is there a part that would have been shown, had it held anything? */
static bool has_unlabelled(const gl_page *page, const glassine_node *result) {
    if (result->kind != GL_NODE_OBJECT)
        return true;
    const glassine_node *child = gl_node_first(result);
    while (child && !(gl_node_is_inner(child) && gl_page_label(page, child).text))
        child = child->next;
    return child;
}

int glassine_report_text(const glassine_report *report, glassine_text_style style, glassine_write write,
                         void *context) {
    gl_page page = gl_page_new(report, style, write, context);
    const glassine_node *result = &report->result->node;
    if (result->kind == GL_NODE_OBJECT)
        print_content(&page, result, 0);
    else if (!is_empty(&page, result))
        print_part(&page, result, 0);
    else if (gl_page_label(&page, result).length)
        print_pair(&page, result, 0, label_width(&page, result) + DEEPER);
    if (!page.started && has_unlabelled(&page, result))
        gl_page_prose(&page, GL_SPAN(NOTHING), 0, 0);
    return gl_printer_end(&page.out);
}

/* --------------------------------------------------------------------------------------------- findings */

static void add_shown_part(gl_buf *buf, const char *before, gl_span text, const char *after) {
    if (!text.length)
        return;
    gl_buf_add_text(buf, before);
    gl_text_add_shown(buf, text, false);
    gl_buf_add_text(buf, after);
}

/* "fault: PLACE: MESSAGE (RULE). REMEDY": always one line, so that it can be searched for. */
static void print_finding(gl_page *page, const gl_finding *finding) {
    static const char *const colours[] = {GL_PAGE_BOLD, "1;33", "1;31"};
    gl_buf *buf = &page->out.buf;
    gl_page_strong(page, gl_span_of(gl_weight_name(finding->weight)), colours[finding->weight]);
    gl_buf_add_text(buf, ": ");
    add_shown_part(buf, "", finding->place, ": ");
    add_shown_part(buf, "", finding->message, "");
    add_shown_part(buf, " (", finding->rule, ")");
    add_shown_part(buf, ". ", finding->remedy, "");
    gl_page_end(page);
}

int glassine_report_findings_text(const glassine_report *report, glassine_text_style style,
                                  glassine_write write, void *context) {
    gl_page page = gl_page_new(report, style, write, context);
    for (const gl_finding *finding = report->first_finding; finding; finding = finding->next)
        print_finding(&page, finding);
    return gl_printer_end(&page.out);
}
