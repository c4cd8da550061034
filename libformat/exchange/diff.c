/* Comparing two bundles, or two editions of one: by record and field, and by slips. */
#include <stdlib.h>

#include "base/error.h"
#include "bundle/bundle.h"

typedef struct comparison {
    glassine_bundle *a, *b;
    glassine_report *report;
    size_t only_a, only_b; /* slips */
    size_t differences;
} comparison;

/* One side's value of a field as a report shows it: canonical JSON of each value that stands. */
static void add_side(glassine_bundle *bundle, const glassine_field *field, const char *key, const char *label,
                     glassine_node *row) {
    gl_buf shown = GL_BUF_EMPTY, json = GL_BUF_EMPTY;
    gl_buf_add_char(&json, '[');
    for (size_t i = 0; field && i < field->saying_count; i++) {
        glassine_value value = field->sayings[i].value;
        if (i && field->sayings[i - 1].value.text && value.text &&
            gl_span_equal(field->sayings[i - 1].value, value))
            continue;
        gl_buf_add_text(&json, json.length > 1 ? "," : "");
        gl_buf_add(&json, value.text ? value : GL_SPAN("null"));
        gl_buf_add_text(&shown, shown.length ? " | " : "");
        gl_buf_add(&shown, value.text ? glassine_value_shown(bundle, value, field->info) : GL_SPAN("(taken away)"));
    }
    gl_buf_add_char(&json, ']');
    glassine_node_json(row, key, gl_buf_span(&json));
    glassine_node_string(row, NULL, label, shown.failed || !shown.text ? "" : shown.text);
    gl_buf_free(&shown);
    gl_buf_free(&json);
}

/* Do both sides say the same? Contested ones do where the same set of values stands. */
static bool same_field(const glassine_field *a, const glassine_field *b) {
    size_t i = 0, k = 0;
    while (i < a->saying_count && k < b->saying_count) {
        glassine_value value = a->sayings[i].value;
        if (!gl_span_equal(value, b->sayings[k].value) || (value.text == NULL) != (b->sayings[k].value.text == NULL))
            return false;
        while (i < a->saying_count && gl_span_equal(a->sayings[i].value, value))
            i++;
        while (k < b->saying_count && gl_span_equal(b->sayings[k].value, value))
            k++;
    }
    return i == a->saying_count && k == b->saying_count;
}

static void add_field(comparison *it, const glassine_field *a, const glassine_field *b, glassine_node *table) {
    const glassine_field *any = a ? a : b;
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    glassine_node_text(row, "field", "field", any->name);
    glassine_node_string(row, "reach", NULL, glassine_reach_name(any->reach));
    add_side(it->a, a, "a", "first", row);
    add_side(it->b, b, "b", "second", row);
}

static int field_order(const glassine_field *a, const glassine_field *b) {
    int order = gl_span_compare(a->name, b->name);
    return order ? order : (a->reach > b->reach) - (a->reach < b->reach);
}

static glassine_node *record_node(comparison *it, glassine_bundle *bundle, glassine_record *record,
                                  glassine_node *list) {
    gl_span type = glassine_record_type(bundle, record), label = glassine_record_label(bundle, record);
    glassine_node *one = glassine_node_object(list, NULL, NULL);
    glassine_node_say(one, "%.*s %.*s", GL_SPAN_ARGS(type), GL_SPAN_ARGS(label));
    glassine_node_text(one, "record", NULL, glassine_record_key(bundle, record));
    glassine_node_text(one, "label", NULL, label);
    it->differences++;
    return one;
}

/* Both lists of fields are sorted by name, then reach. `list` gets the record where something differs. */
static glassine_status compare_record(comparison *it, glassine_record *a, glassine_record *b, glassine_node *list,
                                      glassine_error *error) {
    const glassine_field *fa, *fb;
    size_t na, nb, i = 0, k = 0;
    glassine_status status = glassine_record_fields(it->a, a, &fa, &na, error);
    if (!status)
        status = glassine_record_fields(it->b, b, &fb, &nb, error);
    if (status)
        return status;
    glassine_node *table = NULL;
    while (i < na || k < nb) {
        int order = i == na ? 1 : k == nb ? -1 : field_order(&fa[i], &fb[k]);
        const glassine_field *left = order <= 0 ? &fa[i++] : NULL, *right = order >= 0 ? &fb[k++] : NULL;
        if (left && right && same_field(left, right))
            continue;
        if (!table)
            table = glassine_node_table(record_node(it, it->b, b, list), "fields", "");
        add_field(it, left, right, table);
    }
    return GLASSINE_OK;
}

/* A record that only one side has: its fields in that side's column. */
static glassine_status list_record(comparison *it, bool in_a, glassine_record *record, glassine_node *list,
                                   glassine_error *error) {
    glassine_bundle *bundle = in_a ? it->a : it->b;
    const glassine_field *fields;
    size_t count;
    glassine_status status = glassine_record_fields(bundle, record, &fields, &count, error);
    if (status)
        return status;
    glassine_node *one = record_node(it, bundle, record, list);
    glassine_node *values = glassine_node_object(one, "fields", NULL); /* a field may be called "label" */
    for (size_t i = 0; i < count; i++) {
        gl_buf name = GL_BUF_EMPTY;
        gl_buf_add(&name, fields[i].name);
        if (!name.failed && fields[i].sayings[0].value.text && !fields[i].contested) {
            glassine_node_json(values, name.text, fields[i].sayings[0].value);
            glassine_node_text(one, NULL, name.text,
                               glassine_value_shown(bundle, fields[i].sayings[0].value, fields[i].info));
        }
        gl_buf_free(&name);
    }
    return GLASSINE_OK;
}

/* Walks the records of `from` in a cursor's order; `other` has some of them. */
static glassine_status walk(comparison *it, bool from_a, bool shared, glassine_node *list, glassine_error *error) {
    glassine_bundle *from = from_a ? it->a : it->b, *other = from_a ? it->b : it->a;
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(from, NULL, true, &cursor, error);
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));) {
        gl_span author = glassine_record_author(from, record);
        glassine_record *same = glassine_bundle_record(other, gl_record_id(from, record), author);
        if (shared && same)
            status = compare_record(it, same, record, list, error);
        else if (!shared && !same)
            status = list_record(it, from_a, record, list, error);
    }
    glassine_cursor_free(cursor);
    return status;
}

static size_t slips_missing(const glassine_bundle *from, const glassine_bundle *in) {
    size_t missing = 0;
    for (uint32_t slip = 0; slip < gl_store_count(from->store); slip++)
        missing += gl_store_find(in->store, &gl_store_at(from->store, slip)->digest) == GL_NONE;
    return missing;
}

/* What the second is to the first. */
static const char *relation(const comparison *it) {
    uint32_t a = gl_store_count(it->a->store);
    bool one_bundle = strcmp(it->a->about.uuid, it->b->about.uuid) == 0;
    if (!it->only_a && !it->only_b)
        return "same";
    if (!it->only_a)
        return "newer";
    if (!it->only_b)
        return "older";
    return !one_bundle && it->only_a == a ? "unrelated" : "diverged";
}

static void report_slips(comparison *it, glassine_node *result) {
    const char *is = relation(it);
    glassine_node_string(result, "relation", NULL, is);
    if (strcmp(is, "same") == 0)
        glassine_node_say(result, "Both hold the same statements.");
    else
        glassine_node_say(result, "The second is %s%s: %zu slips are only in the first, %zu only in the second.", is,
                          strcmp(is, "newer") == 0 || strcmp(is, "older") == 0 ? " than the first" : "", it->only_a,
                          it->only_b);
    glassine_node_integer(result, "slips_only_in_a", NULL, (int64_t)it->only_a);
    glassine_node_integer(result, "slips_only_in_b", NULL, (int64_t)it->only_b);
}

glassine_status glassine_diff(glassine_bundle *a, glassine_bundle *b, glassine_report *report, glassine_error *error) {
    comparison it = {.a = a, .b = b, .report = report};
    it.only_a = slips_missing(a, b);
    it.only_b = slips_missing(b, a);
    glassine_report_about(report, b->path, b->edition);
    glassine_node *result = glassine_report_result(report);
    glassine_node_string(result, "a", "first", a->path);
    glassine_node_string(result, "b", "second", b->path);
    report_slips(&it, result);
    glassine_status status = walk(&it, true, false, glassine_node_list(result, "only_in_a", "Only in the first"), error);
    if (!status)
        status = walk(&it, false, false, glassine_node_list(result, "only_in_b", "Only in the second"), error);
    if (!status)
        status = walk(&it, false, true, glassine_node_list(result, "differing", "Differing"), error);
    if (status)
        return status;
    if (it.only_a || it.only_b)
        glassine_report_attention(report);
    return glassine_report_failed(report) ? gl_fail_memory(error) : GLASSINE_OK;
}
