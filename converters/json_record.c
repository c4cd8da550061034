#include "json_record.h"

/* ------------------------------------------------------------------------------------ members, in order */

/* `"name":` with a comma before it, unless it is the first after a brace. */
void json_member(conv_output *out, glassine_span name) {
    if (out->last != '{')
        conv_add_char(out, ',');
    conv_add_json_string(out, name);
    conv_add_char(out, ':');
}

void json_open_object(conv_output *out, const char *name) {
    json_member(out, conv_span_of(name));
    conv_add_char(out, '{');
}

void json_string_member(conv_output *out, const char *name, glassine_span value) {
    if (!value.text)
        return;
    json_member(out, conv_span_of(name));
    conv_add_json_string(out, value);
}

void json_true_member(conv_output *out, const char *name, bool value) {
    if (!value)
        return;
    json_member(out, conv_span_of(name));
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
    json_string_member(out, "at", saying->at);
    json_string_member(out, "by", saying->by);
    json_true_member(out, "cleared", !saying->value.text);
    json_string_member(out, "slip", conv_span_of(slip.digest));
    if (saying->value.text) {
        json_member(out, conv_span_of("value"));
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
static void add_fields(json_writer *w, const char *name, chosen choose, glassine_reach reach, bool contested,
                       bool always) {
    conv_output *out = &w->out;
    bool opened = always;
    if (always)
        json_open_object(out, name);
    for (size_t i = 0; i < w->view.said_count; i++) {
        const conv_said *said = &w->view.said[i];
        if (said->field->contested != contested || !choose(said, reach))
            continue;
        if (!opened)
            json_open_object(out, name);
        opened = true;
        json_member(out, said->field->name);
        if (contested)
            add_sayings(out, w->bundle, said->field);
        else
            conv_add(out, conv_value(said));
    }
    if (opened)
        conv_add_char(out, '}');
}

static bool has_any(const json_writer *w, chosen choose, glassine_reach reach) {
    for (size_t i = 0; i < w->view.said_count; i++) {
        if (choose(&w->view.said[i], reach))
            return true;
    }
    return false;
}

/* Names that an earlier reach says already. */
static void add_also(json_writer *w) {
    static const glassine_reach reaches[] = {GLASSINE_PRIVATE, GLASSINE_TELLING}; /* by name */
    bool opened = false;
    for (size_t i = 0; i < sizeof reaches / sizeof *reaches; i++) {
        if (!has_any(w, is_also, reaches[i]))
            continue;
        if (!opened)
            json_open_object(&w->out, "also");
        opened = true;
        json_open_object(&w->out, glassine_reach_name(reaches[i]));
        add_fields(w, "contested", is_also, reaches[i], true, false);
        add_fields(w, "fields", is_also, reaches[i], false, false);
        conv_add_char(&w->out, '}');
    }
    if (opened)
        conv_add_char(&w->out, '}');
}

static void add_reaches(json_writer *w) {
    if (!has_any(w, is_moved, GLASSINE_SHARED))
        return;
    json_open_object(&w->out, "reach");
    for (size_t i = 0; i < w->view.said_count; i++) {
        const conv_said *said = &w->view.said[i];
        if (!is_moved(said, GLASSINE_SHARED))
            continue;
        json_member(&w->out, said->field->name);
        conv_printf(&w->out, "\"%s\"", glassine_reach_name(said->field->reach));
    }
    conv_add_char(&w->out, '}');
}

/* ---------------------------------------------------------------------------------------------- records */

static void add_latest(json_writer *w) {
    static const glassine_reach reaches[] = {GLASSINE_PRIVATE, GLASSINE_SHARED,
                                             GLASSINE_TELLING}; /* by name */
    json_open_object(&w->out, "latest");
    for (size_t i = 0; i < sizeof reaches / sizeof *reaches; i++) {
        const char(*digests)[65] = NULL;
        size_t count = conv_latest(&w->view, reaches[i], &digests);
        if (!count)
            continue;
        json_member(&w->out, conv_span_of(glassine_reach_name(reaches[i])));
        for (size_t k = 0; k < count; k++)
            conv_printf(&w->out, "%c\"%s\"", k ? ',' : '[', digests[k]);
        conv_add_char(&w->out, ']');
    }
    conv_add_char(&w->out, '}');
}

static void add_slips(json_writer *w) {
    json_member(&w->out, conv_span_of("slips"));
    conv_add_char(&w->out, '[');
    for (size_t i = 0; i < w->view.slip_count; i++) {
        const conv_slip *slip = &w->view.slips[i];
        conv_printf(&w->out, "%s{\"digest\":\"%s\",\"slip\":", i ? "," : "", slip->digest);
        conv_add(&w->out, slip->line);
        conv_add_char(&w->out, '}');
    }
    conv_add_char(&w->out, ']');
}

void json_add_record(json_writer *w) {
    glassine_record *record = w->view.record;
    conv_output *out = &w->out;
    conv_add_char(out, '{');
    add_also(w);
    json_string_member(out, "author", glassine_record_author(w->bundle, record));
    add_fields(w, "contested", is_leading, GLASSINE_SHARED, true, false);
    add_fields(w, "fields", is_leading, GLASSINE_SHARED, false, true);
    json_string_member(out, "id", glassine_record_id(w->bundle, record));
    json_true_member(out, "incomplete", glassine_record_incomplete(w->bundle, record));
    if (w->lines)
        json_string_member(out, "key", glassine_record_key(w->bundle, record));
    json_string_member(out, "label", conv_label(w->bundle, record, w->view.with_private));
    add_latest(w);
    json_true_member(out, "private", w->lines && w->view.holds_private);
    add_reaches(w);
    json_true_member(out, "set_aside", glassine_record_set_aside(w->bundle, record));
    if (w->history)
        add_slips(w);
    json_string_member(out, "type", glassine_record_type(w->bundle, record));
    conv_add_char(out, '}');
}

void json_add_cautions(conv_output *out, const conv_cautions *cautions) {
    for (size_t i = 0; i < cautions->count; i++) {
        if (!i)
            json_member(out, conv_span_of("cautions"));
        conv_add_char(out, i ? ',' : '[');
        conv_add_json_string(out, conv_span_of(cautions->text[i]));
    }
    if (cautions->count)
        conv_add_char(out, ']');
}
