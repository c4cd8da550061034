/* Contested fields with all their values, as a report. */
#include "exchange/contested.h"

#include "base/error.h"

static void add_saying(glassine_bundle *bundle, glassine_node *table, const glassine_field *field,
                       const glassine_saying *saying) {
    glassine_record *who = glassine_bundle_record(bundle, saying->by, GL_NO_SPAN);
    glassine_slip slip = glassine_bundle_slip(bundle, saying->slip);
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    if (saying->value.text) {
        glassine_node_json(row, "value", saying->value);
        glassine_node_text(row, "shown", "value", glassine_value_shown(bundle, saying->value, field->info));
    } else {
        glassine_node_truth(row, "cleared", NULL, true);
        glassine_node_string(row, "shown", "value", "(taken away)");
    }
    glassine_node_text(row, "by", NULL, saying->by);
    glassine_node_text(row, "by_name", "by", who ? glassine_record_label(bundle, who) : saying->by);
    glassine_node_text(row, "at", "at", saying->at);
    glassine_node_string(row, "slip", NULL, slip.digest);
    glassine_node_text(row, "why", "why", saying->why.text ? saying->why : GL_SPAN(""));
}

static void add_field(glassine_bundle *bundle, glassine_record *record, const glassine_field *field,
                      glassine_node *list) {
    glassine_node *one = glassine_node_object(list, NULL, NULL);
    gl_span label = glassine_record_label(bundle, record), type = glassine_record_type(bundle, record);
    glassine_node_say(one, "%.*s %.*s: %.*s", GL_SPAN_ARGS(type), GL_SPAN_ARGS(label), GL_SPAN_ARGS(field->name));
    glassine_node_text(one, "record", NULL, glassine_record_key(bundle, record));
    glassine_node_text(one, "label", NULL, label);
    glassine_node_text(one, "field", NULL, field->name);
    glassine_node_string(one, "reach", NULL, glassine_reach_name(field->reach));
    glassine_node *values = glassine_node_table(one, "values", "");
    for (size_t i = 0; i < field->saying_count; i++)
        add_saying(bundle, values, field, &field->sayings[i]);
}

glassine_status gl_report_contested_of(glassine_bundle *bundle, glassine_record *record, glassine_node *list,
                                       size_t *count, glassine_error *error) {
    const glassine_field *fields;
    const gl_reading *reading;
    size_t field_count;
    bool any = false;
    glassine_status status = gl_record_reading(bundle, record, &reading, error);
    for (uint32_t i = 0; !status && i < reading->field_count; i++)
        any = any || reading->fields[i].contested;
    if (!status && any)
        status = glassine_record_fields(bundle, record, &fields, &field_count, error);
    for (size_t i = 0; !status && any && i < field_count; i++)
        if (fields[i].contested) {
            add_field(bundle, record, &fields[i], list);
            ++*count;
        }
    return status;
}

glassine_status glassine_contested(glassine_bundle *bundle, glassine_report *report, glassine_error *error) {
    glassine_report_about(report, bundle->path, bundle->edition);
    glassine_node *result = glassine_report_result(report);
    glassine_node *list = glassine_node_list(result, "contested", "");
    glassine_cursor *cursor;
    size_t count = 0;
    glassine_status status = glassine_cursor_new(bundle, NULL, false, &cursor, error);
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));)
        status = gl_report_contested_of(bundle, record, list, &count, error);
    glassine_cursor_free(cursor);
    if (status)
        return status;
    if (count)
        glassine_report_attention(report);
    else
        glassine_node_say(result, "No field is contested.");
    return glassine_report_failed(report) ? gl_fail_memory(error) : GLASSINE_OK;
}
