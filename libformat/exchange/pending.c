/* What is out, with whom, since when, unanswered. */
#include "base/error.h"
#include "exchange/derived.h"
#include "exchange/sent.h"
#include "report/report.h"

bool gl_event_is(glassine_bundle *bundle, glassine_record *event, const char *kind) {
    return gl_span_is(glassine_record_text(bundle, event, "kind"), kind);
}

void gl_returned_slip(glassine_bundle *bundle, glassine_record *sent, gl_span by, gl_span via, gl_span at,
                      gl_buf *line) {
    char id[GL_DERIVED_SIZE];
    gl_span event = gl_record_id(bundle, sent);
    gl_buf name = GL_BUF_EMPTY, set = GL_BUF_EMPTY;
    gl_buf_printf(&name, "returned\n%.*s\n%.*s", GL_SPAN_ARGS(event), GL_SPAN_ARGS(by));
    gl_buf_add_text(&set, "{\"answers\":");
    gl_json_add_string(&set, event);
    gl_buf_add_text(&set, ",\"contributor\":");
    gl_json_add_string(&set, by);
    glassine_value items = glassine_record_get(bundle, sent, "items", NULL);
    if (items.text) {
        gl_buf_add_text(&set, ",\"items\":");
        gl_buf_add(&set, items);
    }
    gl_buf_add_text(&set, ",\"kind\":\"returned\"}");
    bool done = !name.failed && !set.failed && gl_derived_id("event", gl_buf_span(&name), id);
    if (done)
        gl_slip_write(&(gl_slip_parts){.at = at,
                                       .by = by,
                                       .via = via,
                                       .record = gl_span_of(id),
                                       .reach = GLASSINE_SHARED,
                                       .set = gl_buf_span(&set)},
                      line);
    line->failed = line->failed || !done;
    gl_buf_free(&name);
    gl_buf_free(&set);
}

glassine_status gl_sent_answered(glassine_bundle *bundle, glassine_record *event, bool *answered,
                                 glassine_error *error) {
    glassine_record *const *list;
    size_t count;
    *answered = false;
    glassine_status status = glassine_record_referrers(bundle, event, "event", false, &list, &count, error);
    for (size_t i = 0; i < count && !status; i++)
        *answered = *answered || gl_event_is(bundle, list[i], "returned");
    return status;
}

static void add_labels(glassine_bundle *bundle, glassine_record *event, gl_buf *out) {
    glassine_value items = glassine_record_get(bundle, event, "items", NULL), item;
    size_t at = 0;
    while (items.text && glassine_value_next(items, &at, NULL, &item)) {
        glassine_record *record = glassine_bundle_record(bundle, gl_json_raw(item), GL_NO_SPAN);
        if (out->length)
            gl_buf_add_text(out, ", ");
        gl_buf_add(out, record ? glassine_record_label(bundle, record) : gl_json_raw(item));
    }
}

static void add_row(glassine_bundle *bundle, glassine_record *event, glassine_node *table) {
    gl_span to = glassine_record_text(bundle, event, "contributor");
    glassine_record *who = to.text ? glassine_bundle_record(bundle, to, GL_NO_SPAN) : NULL;
    gl_buf labels = GL_BUF_EMPTY;
    add_labels(bundle, event, &labels);
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    glassine_node_text(row, "event", NULL, gl_record_id(bundle, event));
    glassine_node_text(row, "since", "since", glassine_record_text(bundle, event, "on"));
    glassine_node_text(row, "with", NULL, to);
    glassine_node_text(row, "with_name", "with", who ? glassine_record_label(bundle, who) : to);
    glassine_node_json(row, "items", glassine_record_get(bundle, event, "items", NULL));
    gl_node_buf(row, "labels", "items", &labels);
    gl_span ask = glassine_record_text(bundle, event, "note");
    glassine_node_text(row, "ask", "asked", ask.text ? ask : GL_SPAN(""));
}

glassine_status glassine_pending(glassine_bundle *bundle, glassine_report *report, glassine_error *error) {
    glassine_report_about(report, bundle->path, bundle->edition);
    glassine_node *result = glassine_report_result(report);
    glassine_node *table = glassine_node_table(result, "pending", "");
    glassine_cursor *cursor;
    size_t count = 0;
    glassine_status status = glassine_cursor_new(bundle, "event", false, &cursor, error);
    for (glassine_record *event; !status && (event = glassine_cursor_next(cursor));) {
        bool answered = true;
        if (gl_event_is(bundle, event, "sent"))
            status = gl_sent_answered(bundle, event, &answered, error);
        if (status || answered)
            continue;
        add_row(bundle, event, table);
        count++;
    }
    glassine_cursor_free(cursor);
    if (status)
        return status;
    if (count)
        glassine_report_attention(report);
    else
        glassine_node_say(result, "Nothing is out.");
    return gl_bundle_end(bundle, report, GLASSINE_OK, error);
}
