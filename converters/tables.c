#include "tables.h"

#include <errno.h>
#include <stdlib.h>

#include "units.h"

/* -------------------------------------------------------------------------------------------------- cells */

const glassine_field *tables_field(const conv_view *view, const table_column *column) {
    return column->kind == TABLE_FIELD || column->kind == TABLE_LABEL
               ? conv_view_field(view, column->name, column->reach)
               : NULL;
}

static void add_label(const conv_view *view, conv_output *list, glassine_value reference) {
    glassine_span id = glassine_value_text(view->bundle, reference);
    glassine_span label = conv_label_of(view->bundle, id, view->with_private);
    if (label.text)
        cell_element(list, label);
}

static void add_labels(const conv_view *view, conv_output *list, glassine_value value) {
    glassine_value item;
    if (value.text[0] != '[') {
        add_label(view, list, value);
        return;
    }
    for (size_t at = 0; glassine_value_next(value, &at, NULL, &item);)
        add_label(view, list, item);
}

/* The record's own word on its currency; none where it is contested. */
static glassine_span currency_of(const conv_view *view) {
    for (size_t i = 0; i < view->said_count; i++) {
        if (conv_is(view->said[i].field->name, "currency") && view->said[i].leading) {
            glassine_value value = conv_value(&view->said[i]);
            return value.text ? glassine_value_text(view->bundle, value) : value;
        }
    }
    return (glassine_span){NULL, 0};
}

static void add_in_units(const conv_view *view, conv_output *list, glassine_value value,
                         const glassine_field_info *info) {
    conv_output shown = {0};
    if (units_show(&shown, value, info, currency_of(view)))
        cell_element(list, conv_span(&shown));
    list->failed = list->failed ? list->failed : shown.failed;
    conv_free(&shown);
}

/* For every value of the field in turn: what people call the records that it refers to, or the value in their
 * units. */
static void fill_label(const conv_view *view, const table_column *column, const glassine_field *field,
                       conv_output *cell) {
    conv_output list = {0};
    for (size_t i = 0; i < field->saying_count; i++) {
        glassine_value value = field->sayings[i].value;
        if (!value.text)
            continue;
        if (units_differ(column->info))
            add_in_units(view, &list, value, column->info);
        else
            add_labels(view, &list, value);
    }
    if (list.length)
        cell_text(cell, conv_span(&list));
    cell->failed = cell->failed ? cell->failed : list.failed;
    conv_free(&list);
}

size_t tables_contested(const conv_view *view, const table_columns *columns, conv_output *cell) {
    size_t count = 0;
    for (size_t i = 0; i < columns->count; i++) {
        const table_column *column = &columns->list[i];
        const glassine_field *field = column->kind == TABLE_FIELD ? tables_field(view, column) : NULL;
        if (!field || !field->contested)
            continue;
        if (count++)
            conv_add_text(cell, "; ");
        table_column_header(cell, column);
    }
    return count;
}

/* "shared:DIGEST+DIGEST telling:DIGEST": the slips that a change of this row follows. */
static void fill_version(const conv_view *view, conv_output *cell) {
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        const char(*digests)[65] = NULL;
        size_t count = conv_latest(view, (glassine_reach)reach, &digests);
        for (size_t i = 0; i < count; i++) {
            if (i)
                conv_printf(cell, "+%s", digests[i]);
            else
                conv_printf(cell, "%s%s:%s", cell->length ? " " : "",
                            glassine_reach_name((glassine_reach)reach), digests[i]);
        }
    }
}

static void fill_author_label(const conv_view *view, conv_output *cell) {
    glassine_span author = glassine_record_author(view->bundle, view->record);
    glassine_span label = conv_label_of(view->bundle, author, view->with_private);
    if (label.text)
        cell_text(cell, label);
}

void tables_cell(const conv_view *view, const table_column *column, conv_output *cell) {
    const glassine_field *field = tables_field(view, column);
    switch (column->kind) {
    case TABLE_ID:
        conv_add(cell, glassine_record_id(view->bundle, view->record));
        break;
    case TABLE_PRIVATE:
        conv_add_text(cell, view->holds_private ? "yes" : "no");
        break;
    case TABLE_AUTHOR:
        conv_add(cell, glassine_record_author(view->bundle, view->record));
        break;
    case TABLE_AUTHOR_LABEL:
        fill_author_label(view, cell);
        break;
    case TABLE_FIELD:
        if (field)
            cell_field(cell, view->bundle, field);
        break;
    case TABLE_LABEL:
        if (field)
            fill_label(view, column, field, cell);
        break;
    case TABLE_CONTESTED: /* of the whole row: tables_contested */
        break;
    case TABLE_VERSION:
        fill_version(view, cell);
    }
}

/* --------------------------------------------------------------------------------------------------- walk */

void tables_new(tables *walk, glassine_bundle *bundle, bool with_private, bool with_aside) {
    *walk = (tables){.bundle = bundle,
                     .with_private = with_private,
                     .with_aside = with_aside,
                     .view = {.bundle = bundle, .with_private = with_private}};
}

void tables_free(tables *walk) {
    conv_view_free(&walk->view);
    table_columns_free(&walk->columns);
    free(walk->records);
}

void tables_tell(const tables *walk, glassine_report *report, const char *where) {
    if (walk->contested_cells)
        glassine_report_finding(report, GLASSINE_NOTE, NULL, where, NULL,
                                walk->contested_cells == 1 ? "%zu contested cell shows all its values"
                                                           : "%zu contested cells show all their values",
                                walk->contested_cells);
    if (walk->aside)
        glassine_report_finding(report, GLASSINE_NOTE, NULL, where, NULL,
                                walk->aside == 1 ? "%zu record that is set aside was left out"
                                                 : "%zu records that are set aside were left out",
                                walk->aside);
    for (size_t i = 0; i < walk->cautions.count; i++)
        glassine_report_finding(report, GLASSINE_NOTE, NULL, NULL, NULL, "%s", walk->cautions.text[i]);
}

static glassine_status collect_records(tables *walk, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(walk->bundle, walk->only, true, &cursor, error);
    if (status)
        return status;
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));) {
        if (!walk->with_aside && glassine_record_set_aside(walk->bundle, record)) {
            walk->aside++;
            continue;
        }
        glassine_record **grown = conv_grow(walk->records, &walk->room, walk->count + 1, sizeof *grown);
        if (!grown) {
            status = conv_fail_system(error, ENOMEM, NULL, "Cannot list the records");
            break;
        }
        walk->records = grown;
        grown[walk->count++] = record;
    }
    glassine_cursor_free(cursor);
    return status;
}

static glassine_status begin_table(tables *walk, const tables_sink *sink, glassine_record *const *records,
                                   size_t count, glassine_error *error) {
    table_columns_free(&walk->columns);
    walk->type = glassine_record_type(walk->bundle, records[0]);
    walk->authored = glassine_record_author(walk->bundle, records[0]).text;
    glassine_status status = walk->without_columns ? GLASSINE_OK
                                                   : table_columns_make(&walk->columns, walk->bundle, records,
                                                                        count, walk->with_private, error);
    return status ? status : sink->begin(sink->context, walk, error);
}

static size_t contested_fields(const conv_view *view) {
    size_t count = 0;
    for (size_t i = 0; i < view->said_count; i++)
        count += view->said[i].field->contested;
    return count;
}

enum { NOW_AND_THEN = 256 };

/* `at`: the record that is next. */
static glassine_status tell(const tables *walk, size_t at, glassine_error *error) {
    bool now = at % NOW_AND_THEN == 0 || at == walk->count;
    return now ? glassine_bundle_tell(walk->bundle, "writing", "records", at, walk->count, error)
               : GLASSINE_OK;
}

/* Records of one type; no table where none of them is shown. */
static glassine_status walk_table(tables *walk, const tables_sink *sink, glassine_record *const *records,
                                  size_t count, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    walk->rows = 0;
    for (size_t i = 0; i < count && !status; i++) {
        bool shown = false;
        status = tell(walk, (size_t)(records + i - walk->records), error);
        if (!status)
            status = conv_cautions_look(&walk->cautions, &walk->view, records[i], error);
        if (!status)
            status = conv_view_look(&walk->view, records[i], &shown, error);
        if (!status && shown && !walk->rows)
            status = begin_table(walk, sink, records, count, error);
        if (status || !shown)
            continue;
        walk->rows++;
        walk->contested_cells += contested_fields(&walk->view);
        status = sink->row(sink->context, walk, error);
    }
    return status || !walk->rows ? status : sink->end(sink->context, walk, error);
}

glassine_status tables_walk(tables *walk, const tables_sink *sink, glassine_error *error) {
    glassine_status status = collect_records(walk, error);
    for (size_t from = 0, to; from < walk->count && !status; from = to) {
        glassine_span type = glassine_record_type(walk->bundle, walk->records[from]);
        to = from + 1;
        while (to < walk->count && conv_equal(glassine_record_type(walk->bundle, walk->records[to]), type))
            to++;
        status = walk_table(walk, sink, walk->records + from, to - from, error);
    }
    return status ? status : tell(walk, walk->count, error);
}
