#include "exchange/contested.h"

#include <stdlib.h>

#include "base/error.h"
#include "exchange/subject.h"

static void add_value(glassine_bundle *bundle, glassine_value value, const glassine_field_info *info,
                      glassine_node *json, glassine_node *text) {
    gl_span shown = value.text ? glassine_value_shown(bundle, value, info) : GL_SPAN("(taken away)");
    if (value.text)
        glassine_node_json(json, "value", value);
    else
        glassine_node_truth(json, "cleared", NULL, true);
    glassine_node_text(json, "shown", NULL, shown);
    glassine_node_text(text, NULL, "value", shown);
}

/* Among the values that stand in a field: those that were answers to a contested field themselves, by slip.
 */
typedef struct earlier_answers {
    const glassine_change **list;
    size_t count;
} earlier_answers;

static int by_slip(const void *a, const void *b) {
    const glassine_change *x = *(const glassine_change *const *)a, *y = *(const glassine_change *const *)b;
    return (x->slip > y->slip) - (x->slip < y->slip);
}

static bool is_answer(const glassine_change *change, const glassine_field *field) {
    return change->fate == GLASSINE_DISPUTED && change->from_total > 1 && change->reach == field->reach &&
           gl_span_equal(change->field, field->name);
}

static earlier_answers answers_in(glassine_bundle *bundle, glassine_record *record,
                                  const glassine_field *field) {
    const glassine_change *changes;
    size_t count = 0;
    earlier_answers it = {0};
    if (glassine_record_life(bundle, record, &changes, &count, NULL))
        return it;
    size_t answers = 0;
    for (size_t i = 0; i < count; i++)
        answers += is_answer(&changes[i], field);
    it.list = answers ? GL_ARENA_ARRAY(bundle->arena, const glassine_change *, answers) : NULL;
    for (size_t i = 0; it.list && i < count; i++)
        if (is_answer(&changes[i], field))
            it.list[it.count++] = &changes[i];
    if (it.count)
        qsort(it.list, it.count, sizeof *it.list, by_slip);
    return it;
}

/* The answer that a slip gave; NULL: it gave none. */
static const glassine_change *answer_of(const earlier_answers *all, uint32_t slip) {
    const glassine_change wanted = {.slip = slip}, *key = &wanted;
    const glassine_change **found =
        all->count ? bsearch(&key, all->list, all->count, sizeof *all->list, by_slip) : NULL;
    return found ? *found : NULL;
}

static void add_settled(glassine_bundle *bundle, const glassine_change *answer, glassine_node *json,
                        glassine_node *text) {
    gl_buf shown = GL_BUF_EMPTY;
    glassine_node *list = answer ? glassine_node_list(json, "settled", NULL) : NULL;
    for (uint32_t i = 0; answer && i < answer->from_count; i++) {
        const glassine_saying *from = &answer->from[i];
        glassine_node *one = glassine_node_object(list, NULL, NULL);
        add_value(bundle, from->value, answer->info, one, NULL);
        glassine_node_text(one, "by", NULL, from->by);
        glassine_node_text(one, "by_name", NULL, gl_person_shown(bundle, from->by));
        glassine_node_text(one, "at", NULL, from->at);
        gl_buf_add_text(&shown, i ? " | " : "settled ");
        gl_buf_add(&shown, from->value.text ? glassine_value_shown(bundle, from->value, answer->info)
                                            : GL_SPAN("(taken away)"));
    }
    glassine_node_string(text, NULL, "answer to", shown.failed || !shown.text ? "" : shown.text);
    gl_buf_free(&shown);
}

static void add_saying(glassine_bundle *bundle, const glassine_field *field, const glassine_saying *saying,
                       bool came, const glassine_change *answer, bool answers, glassine_node *list,
                       glassine_node *table) {
    glassine_node *json = glassine_node_object(list, NULL, NULL),
                  *text = glassine_node_object(table, NULL, NULL);
    gl_span who = gl_person_shown(bundle, saying->by);
    add_value(bundle, saying->value, field->info, json, text);
    glassine_node_text(json, "by", NULL, saying->by);
    glassine_node_text(json, "by_name", NULL, who);
    glassine_node_text(text, NULL, "by", who);
    glassine_node_text(json, "at", NULL, saying->at);
    glassine_node_text(text, NULL, "at", saying->at);
    glassine_node_string(json, "slip", NULL, glassine_bundle_slip(bundle, saying->slip).digest);
    if (came)
        glassine_node_truth(json, "came", NULL, true);
    glassine_node_text(json, "why", NULL, saying->why.text ? saying->why : GL_SPAN(""));
    glassine_node_text(text, NULL, "why", saying->why.text ? saying->why : GL_SPAN(""));
    if (answers)
        add_settled(bundle, answer, json, text);
}

void gl_report_contested_field(glassine_bundle *bundle, glassine_record *record, const glassine_field *field,
                               uint32_t first, glassine_node *list, glassine_node *text) {
    gl_span label = glassine_record_label(bundle, record), type = glassine_record_type(bundle, record);
    const earlier_answers all = answers_in(bundle, record, field);
    glassine_node *one = glassine_node_object(list, NULL, NULL),
                  *block = glassine_node_object(text, NULL, NULL);
    glassine_node_text(one, "record", NULL, glassine_record_key(bundle, record));
    glassine_node_text(one, "label", NULL, label);
    glassine_node_text(one, "field", NULL, field->name);
    glassine_node_string(one, "reach", NULL, glassine_reach_name(field->reach));
    glassine_node_say(block, "%.*s %.*s: %.*s", GL_SPAN_ARGS(type), GL_SPAN_ARGS(label),
                      GL_SPAN_ARGS(field->name));
    glassine_node *values = glassine_node_list(one, "values", NULL),
                  *table = glassine_node_table(block, NULL, "");
    for (size_t i = 0; i < field->saying_count; i++) {
        const glassine_saying *said = &field->sayings[i];
        add_saying(bundle, field, said, first != GL_NONE && said->slip >= first, answer_of(&all, said->slip),
                   all.count > 0, values, table);
    }
}

static glassine_status add_record(glassine_bundle *bundle, glassine_record *record, glassine_node *list,
                                  glassine_node *text, size_t *count, glassine_error *error) {
    const glassine_field *fields;
    const gl_reading *reading;
    size_t field_count = 0;
    bool any = false;
    glassine_status status = gl_record_reading(bundle, record, &reading, error);
    for (uint32_t i = 0; !status && i < reading->field_count; i++)
        any = any || reading->fields[i].contested;
    if (!status && any)
        status = glassine_record_fields(bundle, record, &fields, &field_count, error);
    for (size_t i = 0; i < field_count; i++)
        if (fields[i].contested) {
            gl_report_contested_field(bundle, record, &fields[i], GL_NONE, list, text);
            ++*count;
        }
    return status;
}

glassine_status glassine_contested(glassine_bundle *bundle, glassine_report *report, glassine_error *error) {
    glassine_report_about(report, bundle->path, bundle->edition);
    glassine_node *result = glassine_report_result(report);
    glassine_node *list = glassine_node_list(result, "contested", NULL);
    glassine_node *text = glassine_node_list(result, NULL, "");
    glassine_cursor *cursor;
    size_t count = 0;
    glassine_status status = glassine_cursor_new(bundle, NULL, false, &cursor, error);
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));)
        status = add_record(bundle, record, list, text, &count, error);
    glassine_cursor_free(cursor);
    if (status)
        return status;
    if (count)
        glassine_report_attention(report);
    else
        glassine_node_say(result, "No field is contested.");
    return gl_bundle_end(bundle, report, GLASSINE_OK, error);
}
