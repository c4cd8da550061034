/* The envelope of spec/report.md: one JSON document in UTF-8 that ends with a line feed. */
#include <inttypes.h>

#include "base/text.h"
#include "report/report.h"

/* Code points that could act on a terminal or turn the order of what stands beside them: legal in JSON, but
 * written as escapes. U+061C, 200E and 200F are marks of direction, 202A to 202E and 2066 to 2069 embeddings,
 * 2028 and 2029 ends of line, FEFF the byte order mark. */
static bool acts(uint32_t code) {
    return (code >= 0x7f && code <= 0x9f) || code == 0x61c || code == 0x200e || code == 0x200f ||
           (code >= 0x2028 && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069) || code == 0xfeff;
}

/* RFC 8259 section 7. */
static void add_ascii_in_string(gl_buf *buf, char c) {
    static const char escapes[] = "\"\"\\\\\bb\ff\nn\rr\tt";
    const char *found = c ? strchr(escapes, c) : NULL;
    if ((unsigned char)c < 0x20 || c == '"' || c == '\\') {
        /* a letter such as 'b' stands in the table too, but only the even places are characters to escape */
        if (found && (found - escapes) % 2 == 0)
            gl_buf_printf(buf, "\\%c", found[1]);
        else
            gl_buf_printf(buf, "\\u%04x", (unsigned)(unsigned char)c);
    } else {
        gl_buf_add_char(buf, c);
    }
}

/* UTF-8 whatever `text` holds: bytes that are none become U+FFFD. In `string`s, quotes and controls are
 * escaped; otherwise `text` is JSON already. */
static void add_clean(gl_buf *buf, gl_span text, bool string) {
    size_t sound = gl_utf8_check(text);
    for (size_t at = 0; at < text.length;) {
        if (at == sound) {
            gl_utf8_add(buf, 0xfffd);
            at++;
            sound = at + gl_utf8_check(gl_span_part(text, at, text.length));
            continue;
        }
        uint32_t code;
        size_t length = gl_utf8_next(gl_span_part(text, at, text.length), &code);
        if (acts(code))
            gl_buf_printf(buf, "\\u%04" PRIx32, code);
        else if (string && code < 0x80)
            add_ascii_in_string(buf, (char)code);
        else
            gl_buf_add_bytes(buf, text.text + at, length);
        at += length;
    }
}

static void add_string(gl_buf *buf, gl_span text) {
    if (!text.text) {
        gl_buf_add_text(buf, "null");
        return;
    }
    gl_buf_add_char(buf, '"');
    add_clean(buf, text, true);
    gl_buf_add_char(buf, '"');
}

static void add_real(gl_buf *buf, const glassine_node *node) {
    size_t before = buf->length;
    gl_report_add_real(buf, gl_node_number(node)->as.real, node->size);
    if (buf->length == before)
        gl_buf_add_text(buf, "null");
}

static void add_leaf(gl_buf *buf, const glassine_node *node) {
    switch (node->kind) {
    case GL_NODE_INTEGER:
        gl_buf_printf(buf, "%" PRId64, gl_node_number(node)->as.integer);
        break;
    case GL_NODE_REAL:
        add_real(buf, node);
        break;
    case GL_NODE_TRUTH:
        gl_buf_add_text(buf, node->size ? "true" : "false");
        break;
    case GL_NODE_JSON:
        if (node->size != GL_TEXT_ABSENT)
            add_clean(buf, gl_node_text(node), false);
        else
            gl_buf_add_text(buf, "null");
        break;
    default:
        add_string(buf, gl_node_text(node));
    }
}

static bool in_json(const glassine_report *report, const glassine_node *node, bool object) {
    if (node->kind == GL_NODE_SAY || node->kind == GL_NODE_DRAWING)
        return false;
    return !object || gl_node_name(report, node)->key.text;
}

static void add_node(gl_printer *out, const glassine_report *report, const glassine_node *node) {
    if (!gl_node_is_inner(node)) {
        add_leaf(&out->buf, node);
        return;
    }
    bool object = node->kind == GL_NODE_OBJECT;
    bool first = true;
    gl_buf_add_char(&out->buf, object ? '{' : '[');
    for (const glassine_node *child = gl_node_first(node); child; child = child->next) {
        if (!in_json(report, child, object))
            continue;
        if (!first)
            gl_buf_add_char(&out->buf, ',');
        first = false;
        if (object) {
            add_string(&out->buf, gl_node_name(report, child)->key);
            gl_buf_add_char(&out->buf, ':');
        }
        add_node(out, report, child);
        gl_printer_flush_full(out);
    }
    gl_buf_add_char(&out->buf, object ? '}' : ']');
}

static void add_member(gl_buf *buf, const char *before, gl_span value) {
    gl_buf_add_text(buf, before);
    add_string(buf, value);
}

static void add_finding(gl_buf *buf, const char *first, gl_span value, const gl_finding *finding) {
    add_member(buf, first, value);
    add_member(buf, ",\"rule\":", finding->rule);
    add_member(buf, ",\"place\":", finding->place);
    add_member(buf, ",\"message\":", finding->message);
    add_member(buf, ",\"remedy\":", finding->remedy);
    gl_buf_add_char(buf, '}');
}

static void add_findings(gl_printer *out, const glassine_report *report) {
    gl_buf_add_text(&out->buf, ",\"findings\":[");
    for (const gl_finding *finding = report->first_finding; finding; finding = finding->next) {
        const char *weight = gl_weight_name(finding->weight);
        const char *first = finding == report->first_finding ? "{\"weight\":" : ",{\"weight\":";
        add_finding(&out->buf, first, gl_span_of(weight), finding);
        gl_printer_flush_full(out);
    }
    gl_buf_add_char(&out->buf, ']');
}

/* What a failed verb had said so far stays; where that is nothing, there is no result. */
static bool has_result(const glassine_report *report) {
    return !report->error || report->result->first;
}

int glassine_report_json(const glassine_report *report, glassine_write write, void *context) {
    gl_printer out = {.buf = GL_BUF_EMPTY, .write = write, .context = context};
    add_member(&out.buf, "{\"verb\":", report->verb);
    add_member(&out.buf, ",\"bundle\":", report->bundle);
    if (report->edition)
        gl_buf_printf(&out.buf, ",\"edition\":%" PRIu32, report->edition);
    else
        gl_buf_add_text(&out.buf, ",\"edition\":null");
    add_findings(&out, report);
    gl_buf_add_text(&out.buf, ",\"result\":");
    if (has_result(report))
        add_node(&out, report, &report->result->node);
    else
        gl_buf_add_text(&out.buf, "null");
    if (report->error) {
        const char *status = report->error_status == GLASSINE_SYSTEM ? "system" : "refused";
        add_finding(&out.buf, ",\"error\":{\"status\":", gl_span_of(status), report->error);
    }
    gl_buf_add_text(&out.buf, "}\n");
    return gl_printer_end(&out);
}
