#include "take.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#define FINDINGS_MOST 1000 /* rows that are told one by one */
#define PROGRESS_STEP 256

glassine_status take_begin(taking *t, glassine_error *error) {
    if (glassine_draft_slips(t->draft))
        return conv_fail(error, GLASSINE_REFUSED, NULL, "Save it first", "the draft holds something already");
    glassine_node *result = glassine_report_result(t->report);
    t->view.bundle = t->bundle;
    t->sheets = glassine_node_table(result, "sheets", "Sheets");
    t->contested = glassine_node_table(result, "contested", "Contested now");
    return GLASSINE_OK;
}

void take_free(taking *t) {
    statements_free(&t->row);
    conv_view_free(&t->view);
    conv_free(&t->cell);
    free(t->taken);
}

/* ------------------------------------------------------------------------------------------------ rows */

void take_refuse_at(taking *t, const char *place, const char *rule, const char *remedy, const char *message) {
    if (t->refused++ < FINDINGS_MOST)
        glassine_report_finding(t->report, GLASSINE_WARNING, rule, place, remedy, "%s", message);
}

void take_refuse(taking *t, const grid *sheet, const grid_row *row, size_t column, glassine_span header,
                 const char *rule, const char *remedy, const char *message) {
    conv_output place = {0};
    grid_say_place(&place, sheet, row->line, column, header);
    take_refuse_at(t, place.text, rule, remedy, message);
    conv_free(&place);
}

glassine_status take_note_row(taking *t, const char *place, uint64_t line, glassine_error *error) {
    taken_row *grown = conv_grow(t->taken, &t->taken_room, t->taken_count + 1, sizeof *grown);
    if (!grown)
        return conv_fail_system(error, ENOMEM, place, "Cannot take it in");
    t->taken = grown;
    grown[t->taken_count++] = (taken_row){glassine_draft_slips(t->draft), place, line};
    return GLASSINE_OK;
}

void take_progress(taking *t) {
    t->rows_done++;
    if (t->options.progress && (t->rows_done % PROGRESS_STEP == 0 || t->rows_done == t->rows))
        t->options.progress(t->options.context, t->rows_done, t->rows);
}

void take_look_for_contests(taking *t, glassine_record *record) {
    for (size_t i = 0; i < t->row.count; i++) {
        bool contested;
        glassine_record_get(t->bundle, record, t->row.list[i].field, &contested);
        if (!contested)
            continue;
        glassine_node *one = glassine_node_object(t->contested, NULL, NULL);
        glassine_node_text(one, "record", NULL, glassine_record_id(t->bundle, record));
        glassine_node_text(one, "label", "Record", glassine_record_label(t->bundle, record));
        glassine_node_string(one, "field", "Field", t->row.list[i].field);
        glassine_report_attention(t->report);
    }
}

/* ---------------------------------------------------------------------------------------------- report */

void take_tell_sheet(taking *t, const char *place, const take_counts *counts) {
    glassine_node *row = glassine_node_object(t->sheets, NULL, NULL);
    glassine_node_string(row, "file", "Sheet", place);
    glassine_node_string(row, "type", NULL, counts->type);
    glassine_node_integer(row, "rows", "Rows", (int64_t)counts->rows);
    glassine_node_integer(row, "unchanged", "Unchanged", (int64_t)counts->unchanged);
    glassine_node_integer(row, "changed", "Changed", (int64_t)counts->changed);
    glassine_node_integer(row, "new", "New", (int64_t)counts->entered);
    glassine_node_integer(row, "refused", "Not taken", (int64_t)counts->refused);
    glassine_node_integer(row, "missing", NULL, (int64_t)counts->missing);
    t->entered += counts->entered;
    t->changed += counts->changed;
    t->unchanged += counts->unchanged;
}

/* "kind: block; note cleared" */
static void say_slip(taking *t, conv_output *out, const glassine_slip *slip, const glassine_type_info *type) {
    glassine_span name;
    glassine_value value;
    for (size_t at = 0; glassine_value_next(slip->set, &at, &name, &value);) {
        char field[64];
        snprintf(field, sizeof field, "%.*s", (int)name.length, name.text);
        conv_printf(out, "%s%s: ", out->length ? "; " : "", field);
        conv_add(out, glassine_value_shown(t->bundle, value, type ? glassine_type_field(type, field) : NULL));
    }
    for (size_t at = 0; slip->clear.text && glassine_value_next(slip->clear, &at, NULL, &value);) {
        glassine_span field = glassine_value_text(t->bundle, value);
        conv_printf(out, "%s%.*s cleared", out->length ? "; " : "", (int)field.length, field.text);
    }
    if (!out->length)
        conv_add_text(out, "entered");
}

static void tell_slip(taking *t, glassine_node *list, const taken_row *from, const glassine_slip *slip) {
    const char *slash = slip->record.length ? memchr(slip->record.text, '/', slip->record.length) : NULL;
    char name[64];
    snprintf(name, sizeof name, "%.*s", slash ? (int)(slash - slip->record.text) : 0, slip->record.text);
    const glassine_type_info *type = glassine_type_find(name);
    glassine_record *record = glassine_bundle_record(t->bundle, slip->record,
                                                     type && type->authored ? slip->by : (glassine_span){0});
    conv_output says = {0};
    say_slip(t, &says, slip, type);
    glassine_node *one = glassine_node_object(list, NULL, NULL);
    if (from)
        glassine_node_string(one, "sheet", NULL, from->place);
    if (from && from->line)
        glassine_node_integer(one, "line", "Line", (int64_t)from->line);
    glassine_node_text(one, "record", NULL, slip->record);
    glassine_node_text(one, "label", "Record",
                       record ? glassine_record_label(t->bundle, record) : slip->record);
    glassine_node_string(one, "reach", "Reach", glassine_reach_name(slip->reach));
    glassine_node_text(one, NULL, "Says", conv_span(&says));
    glassine_node_json(one, "set", slip->set);
    if (slip->clear.text)
        glassine_node_json(one, "clear", slip->clear);
    glassine_node_json(one, "after", slip->after);
    conv_free(&says);
}

/* The slips that were made, each with the row it comes from. */
static void tell_slips(taking *t) {
    glassine_node *list = glassine_node_table(glassine_report_result(t->report), "slips", "Slips");
    size_t count = glassine_draft_slips(t->draft), row = 0;
    uint64_t first = glassine_bundle_slips(t->bundle) - count;
    for (size_t i = 0; i < count; i++) {
        while (row < t->taken_count && t->taken[row].slips <= i)
            row++;
        glassine_slip slip = glassine_bundle_slip(t->bundle, (uint32_t)(first + i));
        tell_slip(t, list, row < t->taken_count ? &t->taken[row] : NULL, &slip);
    }
}

static glassine_status refuse_all(const taking *t, glassine_error *error) {
    char message[128];
    snprintf(message, sizeof message, "%zu row%s cannot be taken; nothing was changed", t->refused,
             t->refused == 1 ? "" : "s");
    return conv_fail(error, GLASSINE_REFUSED, NULL, "Correct them, or leave them out with --accept-partial",
                     message);
}

glassine_status take_end(taking *t, glassine_error *error) {
    glassine_node *result = glassine_report_result(t->report);
    bool refused = t->refused && !t->options.accept_partial;
    if (t->refused)
        glassine_report_attention(t->report);
    if (t->refused > FINDINGS_MOST)
        glassine_report_finding(t->report, GLASSINE_WARNING, NULL, NULL, NULL, "and %zu more row%s",
                                t->refused - FINDINGS_MOST, t->refused - FINDINGS_MOST == 1 ? "" : "s");
    if (t->options.preview || refused)
        tell_slips(t);
    glassine_node_integer(result, "new", NULL, (int64_t)t->entered);
    glassine_node_integer(result, "changed", NULL, (int64_t)t->changed);
    glassine_node_integer(result, "unchanged", NULL, (int64_t)t->unchanged);
    glassine_node_integer(result, "refused", NULL, (int64_t)t->refused);
    glassine_node_integer(result, "struck", NULL, (int64_t)t->struck);
    glassine_node_integer(result, "slip_count", NULL, (int64_t)glassine_draft_slips(t->draft));
    glassine_node_truth(result, "taken", NULL, !t->options.preview && !refused);
    glassine_node_say(result, "%zu new, %zu changed, %zu unchanged, %zu not taken: %zu slip%s%s", t->entered,
                      t->changed, t->unchanged, t->refused, glassine_draft_slips(t->draft),
                      glassine_draft_slips(t->draft) == 1 ? "" : "s",
                      t->options.preview || refused ? " (nothing was written)" : "");
    if (t->options.preview || refused)
        glassine_draft_back(t->draft, 0);
    return refused && !t->options.preview ? refuse_all(t, error) : GLASSINE_OK;
}

/* -------------------------------------------------------------------------------------------- all sheets */

typedef struct ordered {
    grid *sheet;
    size_t order, given;
} ordered;

static int by_order(const void *a, const void *b) {
    const ordered *x = a, *y = b;
    if (x->order != y->order)
        return x->order < y->order ? -1 : 1;
    return x->given < y->given ? -1 : 1;
}

glassine_status take_grids(taking *t, grid *const *sheets, size_t count, glassine_error *error) {
    ordered *list = calloc(count + 1, sizeof *list);
    glassine_status status =
        list ? GLASSINE_OK : conv_fail_system(error, ENOMEM, NULL, "Cannot take the sheets in");
    for (size_t i = 0; i < count && !status; i++) {
        list[i] = (ordered){sheets[i], take_order(t, sheets[i]), i};
        t->rows += sheets[i]->row_count ? sheets[i]->row_count - 1 : 0;
    }
    if (!status && count)
        qsort(list, count, sizeof *list, by_order);
    for (size_t i = 0; i < count && !status; i++)
        status = take_own(t, list[i].sheet, error);
    free(list);
    return status;
}
