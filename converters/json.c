/* A bundle as one JSON document: spec/json-document.md. Members stand in canonical order (RFC 8785), a record
 * a line. */
#include <errno.h>
#include <stdlib.h>

#include "converters.h"
#include "output.h"
#include "view.h"

#define DOCUMENT_VERSION "1.0"

typedef struct keyed {
    glassine_span key;
    glassine_record *record;
} keyed;

typedef struct writer {
    glassine_bundle *bundle;
    glassine_json_options options;
    conv_output out;
    conv_view view;
    keyed *records;
    size_t record_count, record_room;
} writer;

/* ------------------------------------------------------------------------------------ members, in order */

/* `"name":` with a comma before it, unless it is the first after a brace. */
static void member(conv_output *out, glassine_span name) {
    if (out->last != '{')
        conv_add_char(out, ',');
    conv_add_json_string(out, name);
    conv_add_char(out, ':');
}

static void open_object(conv_output *out, const char *name) {
    member(out, conv_span_of(name));
    conv_add_char(out, '{');
}

static void string_member(conv_output *out, const char *name, glassine_span value) {
    if (!value.text)
        return;
    member(out, conv_span_of(name));
    conv_add_json_string(out, value);
}

static void true_member(conv_output *out, const char *name, bool value) {
    if (!value)
        return;
    member(out, conv_span_of(name));
    conv_add_text(out, "true");
}

/* ----------------------------------------------------------------------------------------------- fields */

/* Which of the fields that are said go into an object. */
typedef bool (*chosen)(const conv_said *said, glassine_reach reach);

static bool is_leading(const conv_said *said, glassine_reach reach) {
    (void)reach;
    return said->leading;
}

static bool is_moved(const conv_said *said, glassine_reach reach) {
    (void)reach;
    return said->leading && said->field->reach != GLASSINE_SHARED;
}

static bool is_also(const conv_said *said, glassine_reach reach) {
    return !said->leading && said->field->reach == reach;
}

static void add_saying(conv_output *out, glassine_bundle *bundle, const glassine_saying *saying) {
    glassine_slip slip = glassine_bundle_slip(bundle, saying->slip);
    conv_add_char(out, '{');
    string_member(out, "at", saying->at);
    string_member(out, "by", saying->by);
    true_member(out, "cleared", !saying->value.text);
    string_member(out, "slip", conv_span_of(slip.digest));
    if (saying->value.text) {
        member(out, conv_span_of("value"));
        conv_add(out, saying->value);
    }
    conv_add_char(out, '}');
}

static void add_sayings(conv_output *out, glassine_bundle *bundle, const glassine_field *field) {
    conv_add_char(out, '[');
    for (size_t i = 0; i < field->saying_count; i++) {
        if (i)
            conv_add_char(out, ',');
        add_saying(out, bundle, &field->sayings[i]);
    }
    conv_add_char(out, ']');
}

/* An object of name and value; of those that are contested where `contested`, else of the others. Left out
 * where it would be empty, unless `always`. */
static void add_fields(writer *w, const char *name, chosen choose, glassine_reach reach, bool contested,
                       bool always) {
    conv_output *out = &w->out;
    bool opened = always;
    if (always)
        open_object(out, name);
    for (size_t i = 0; i < w->view.said_count; i++) {
        const conv_said *said = &w->view.said[i];
        if (said->field->contested != contested || !choose(said, reach))
            continue;
        if (!opened)
            open_object(out, name);
        opened = true;
        member(out, said->field->name);
        if (contested)
            add_sayings(out, w->bundle, said->field);
        else
            conv_add(out, conv_value(said));
    }
    if (opened)
        conv_add_char(out, '}');
}

static bool has_any(const writer *w, chosen choose, glassine_reach reach) {
    for (size_t i = 0; i < w->view.said_count; i++) {
        if (choose(&w->view.said[i], reach))
            return true;
    }
    return false;
}

/* Names that an earlier reach says already. */
static void add_also(writer *w) {
    static const glassine_reach reaches[] = {GLASSINE_PRIVATE, GLASSINE_TELLING}; /* by name */
    bool opened = false;
    for (size_t i = 0; i < sizeof reaches / sizeof *reaches; i++) {
        if (!has_any(w, is_also, reaches[i]))
            continue;
        if (!opened)
            open_object(&w->out, "also");
        opened = true;
        open_object(&w->out, glassine_reach_name(reaches[i]));
        add_fields(w, "contested", is_also, reaches[i], true, false);
        add_fields(w, "fields", is_also, reaches[i], false, false);
        conv_add_char(&w->out, '}');
    }
    if (opened)
        conv_add_char(&w->out, '}');
}

static void add_reaches(writer *w) {
    if (!has_any(w, is_moved, GLASSINE_SHARED))
        return;
    open_object(&w->out, "reach");
    for (size_t i = 0; i < w->view.said_count; i++) {
        const conv_said *said = &w->view.said[i];
        if (!is_moved(said, GLASSINE_SHARED))
            continue;
        member(&w->out, said->field->name);
        conv_printf(&w->out, "\"%s\"", glassine_reach_name(said->field->reach));
    }
    conv_add_char(&w->out, '}');
}

/* ---------------------------------------------------------------------------------------------- records */

static void add_latest(writer *w) {
    static const glassine_reach reaches[] = {GLASSINE_PRIVATE, GLASSINE_SHARED,
                                             GLASSINE_TELLING}; /* by name */
    open_object(&w->out, "latest");
    for (size_t i = 0; i < sizeof reaches / sizeof *reaches; i++) {
        const char(*digests)[65] = NULL;
        size_t count = conv_latest(&w->view, reaches[i], &digests);
        if (!count)
            continue;
        member(&w->out, conv_span_of(glassine_reach_name(reaches[i])));
        for (size_t k = 0; k < count; k++)
            conv_printf(&w->out, "%c\"%s\"", k ? ',' : '[', digests[k]);
        conv_add_char(&w->out, ']');
    }
    conv_add_char(&w->out, '}');
}

static void add_slips(writer *w) {
    member(&w->out, conv_span_of("slips"));
    conv_add_char(&w->out, '[');
    for (size_t i = 0; i < w->view.slip_count; i++) {
        const conv_slip *slip = &w->view.slips[i];
        conv_printf(&w->out, "%s{\"digest\":\"%s\",\"slip\":", i ? "," : "", slip->digest);
        conv_add(&w->out, slip->line);
        conv_add_char(&w->out, '}');
    }
    conv_add_char(&w->out, ']');
}

static void add_record(writer *w, glassine_record *record) {
    conv_output *out = &w->out;
    conv_add_char(out, '{');
    add_also(w);
    string_member(out, "author", glassine_record_author(w->bundle, record));
    add_fields(w, "contested", is_leading, GLASSINE_SHARED, true, false);
    add_fields(w, "fields", is_leading, GLASSINE_SHARED, false, true);
    string_member(out, "id", glassine_record_id(w->bundle, record));
    true_member(out, "incomplete", glassine_record_incomplete(w->bundle, record));
    string_member(out, "label", conv_label(w->bundle, record, w->options.with_private));
    add_latest(w);
    add_reaches(w);
    true_member(out, "set_aside", glassine_record_set_aside(w->bundle, record));
    if (w->options.history)
        add_slips(w);
    string_member(out, "type", glassine_record_type(w->bundle, record));
    conv_add_char(out, '}');
}

static int by_key(const void *a, const void *b) {
    return conv_compare(((const keyed *)a)->key, ((const keyed *)b)->key);
}

static glassine_status collect_records(writer *w, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(w->bundle, NULL, true, &cursor, error);
    if (status)
        return status;
    for (glassine_record *record; (record = glassine_cursor_next(cursor));) {
        keyed *grown = conv_grow(w->records, &w->record_room, w->record_count + 1, sizeof *grown);
        if (!grown) {
            status = conv_fail_system(error, ENOMEM, NULL, "Cannot list the records");
            break;
        }
        w->records = grown;
        grown[w->record_count++] = (keyed){glassine_record_key(w->bundle, record), record};
    }
    glassine_cursor_free(cursor);
    if (w->record_count)
        qsort(w->records, w->record_count, sizeof *w->records, by_key);
    return status;
}

static glassine_status add_records(writer *w, glassine_error *error) {
    bool first = true;
    open_object(&w->out, "records");
    for (size_t i = 0; i < w->record_count && !w->out.failed; i++) {
        bool shown;
        glassine_status status = conv_view_look(&w->view, w->records[i].record, &shown, error);
        if (status)
            return status;
        if (!shown)
            continue;
        conv_add_text(&w->out, first ? "\n" : ",\n");
        first = false;
        conv_add_json_string(&w->out, w->records[i].key);
        conv_add_char(&w->out, ':');
        add_record(w, w->records[i].record);
    }
    conv_add_text(&w->out, first ? "}" : "\n}");
    return GLASSINE_OK;
}

/* ---------------------------------------------------------------------------------------------- document */

/* What a reader has to be told of the records that are shown: each caution once. */
static glassine_status add_cautions(writer *w, glassine_error *error) {
    conv_cautions cautions = {0};
    for (size_t i = 0; i < w->record_count; i++) {
        glassine_status status = conv_cautions_look(&cautions, &w->view, w->records[i].record, error);
        if (status)
            return status;
    }
    for (size_t i = 0; i < cautions.count; i++) {
        if (!i)
            member(&w->out, conv_span_of("cautions"));
        conv_add_char(&w->out, i ? ',' : '[');
        conv_add_json_string(&w->out, conv_span_of(cautions.text[i]));
    }
    if (cautions.count)
        conv_add_char(&w->out, ']');
    return GLASSINE_OK;
}

static glassine_status add_document(writer *w, glassine_error *error) {
    conv_output *out = &w->out;
    char digest[65];
    glassine_bundle_digest(w->bundle, digest);
    conv_add_char(out, '{');
    string_member(out, "bundle", conv_span_of(glassine_bundle_uuid(w->bundle)));
    glassine_status status = add_cautions(w, error);
    if (status)
        return status;
    string_member(out, "digest", conv_span_of(digest));
    string_member(out, "format", conv_span_of("glassine"));
    string_member(out, "keeper", conv_span_of(glassine_bundle_keeper(w->bundle)));
    true_member(out, "private", w->options.with_private);
    status = add_records(w, error);
    if (status)
        return status;
    string_member(out, "title", conv_span_of(glassine_bundle_title(w->bundle)));
    string_member(out, "version", conv_span_of(DOCUMENT_VERSION));
    conv_add_text(out, "}\n");
    int code = conv_finish(out);
    return code ? conv_fail_system(error, code, NULL, "Cannot write the document") : GLASSINE_OK;
}

glassine_status glassine_to_json(glassine_bundle *bundle, const glassine_json_options *options,
                                 glassine_write write, void *context, glassine_error *error) {
    writer w = {.bundle = bundle, .out = {.write = write, .context = context}};
    if (options)
        w.options = *options;
    w.view = (conv_view){.bundle = bundle, .with_private = w.options.with_private};
    glassine_status status = collect_records(&w, error);
    if (!status)
        status = add_document(&w, error);
    conv_free(&w.out);
    conv_view_free(&w.view);
    free(w.records);
    return status;
}
