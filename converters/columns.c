#include "columns.h"

#include <errno.h>
#include <stdlib.h>

#include "units.h"

#define COLUMNS_MOST 16384 /* of a spreadsheet program's sheet */

static const char *const own_columns[] = {"id",           "contains_private", "author",
                                          "author_label", "contested",        "version"};

static bool ends_in(glassine_span text, const char *end) {
    size_t length = strlen(end);
    return text.length >= length && memcmp(text.text + text.length - length, end, length) == 0;
}

/* A field that is not known may be called like a column of ours: its header then says the reach too. */
static bool is_taken(glassine_span name) {
    for (size_t i = 0; i < sizeof own_columns / sizeof *own_columns; i++) {
        if (conv_is(name, own_columns[i]))
            return true;
    }
    return ends_in(name, "_label");
}

static bool add(table_columns *columns, table_column column) {
    table_column *grown = conv_grow(columns->list, &columns->room, columns->count + 1, sizeof *grown);
    if (!grown)
        return false;
    columns->list = grown;
    grown[columns->count++] = column;
    return true;
}

/* Behind references, what people call the records; behind numbers in small units, the value in people's. */
static bool wants_label(const glassine_field_info *info) {
    return info && (info->kind == GLASSINE_REF || info->kind == GLASSINE_REFS || units_differ(info));
}

static bool add_field(table_columns *columns, table_column column) {
    column.kind = TABLE_FIELD;
    if (!add(columns, column))
        return false;
    column.kind = TABLE_LABEL;
    return !wants_label(column.info) || add(columns, column);
}

/* ---------------------------------------------------------------- columns that the table does not have */

static int by_name_and_reach(const table_column *x, const table_column *y) {
    int order = conv_compare(x->name, y->name);
    return order ? order : (int)x->reach - (int)y->reach;
}

/* Keeps the list sorted, each column once. */
static bool insert(table_columns *sorted, table_column column) {
    size_t from = 0, to = sorted->count;
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        int order = by_name_and_reach(&sorted->list[middle], &column);
        if (order == 0)
            return true;
        if (order < 0)
            from = middle + 1;
        else
            to = middle;
    }
    if (!add(sorted, column))
        return false;
    memmove(sorted->list + from + 1, sorted->list + from, (sorted->count - 1 - from) * sizeof column);
    sorted->list[from] = column;
    return true;
}

/* Where a reader looks for the field unless a header says otherwise. */
static glassine_reach usual_reach(const glassine_field_info *info) {
    return info ? info->reach : GLASSINE_SHARED;
}

static bool add_extra(table_columns *extra, const glassine_field *field, bool with_private) {
    bool usual = field->reach == usual_reach(field->info);
    bool says = field->contested || field->sayings[0].value.text;
    if (!says || (field->info && usual) || (field->reach == GLASSINE_PRIVATE && !with_private))
        return true;
    table_column column = {
        .kind = TABLE_FIELD, .name = field->name, .reach = field->reach, .info = field->info};
    column.said_reach = !usual || (!field->info && is_taken(field->name));
    return insert(extra, column);
}

static glassine_status find_extra(table_columns *extra, glassine_bundle *bundle,
                                  glassine_record *const *records, size_t count, bool with_private,
                                  glassine_error *error) {
    for (size_t i = 0; i < count; i++) {
        const glassine_field *fields;
        size_t field_count;
        glassine_status status = glassine_record_fields(bundle, records[i], &fields, &field_count, error);
        if (status)
            return status;
        for (size_t k = 0; k < field_count; k++) {
            if (!add_extra(extra, &fields[k], with_private))
                return conv_fail_system(error, ENOMEM, NULL, "Cannot list the columns");
        }
        if (extra->count > COLUMNS_MOST)
            return conv_fail(error, GLASSINE_REFUSED, NULL, "Use to-json",
                             "There are more fields than a sheet has columns");
    }
    return GLASSINE_OK;
}

/* ------------------------------------------------------------------------------------------- all of them */

static bool add_front(table_columns *columns, const glassine_type_info *type, bool authored,
                      bool with_private) {
    bool good = add(columns, (table_column){.kind = TABLE_ID});
    if (with_private)
        good = good && add(columns, (table_column){.kind = TABLE_PRIVATE});
    if (authored)
        good = good && add(columns, (table_column){.kind = TABLE_AUTHOR}) &&
               add(columns, (table_column){.kind = TABLE_AUTHOR_LABEL});
    for (size_t i = 0; good && type && i < type->field_count; i++) {
        const glassine_field_info *info = &type->fields[i];
        if (info->reach != GLASSINE_PRIVATE || with_private)
            good = add_field(
                columns,
                (table_column){.name = conv_span_of(info->name), .reach = info->reach, .info = info});
    }
    return good;
}

static bool add_back(table_columns *columns, const table_columns *extra) {
    bool good = true;
    for (size_t i = 0; good && i < extra->count; i++)
        good = add_field(columns, extra->list[i]);
    return good && add(columns, (table_column){.kind = TABLE_CONTESTED}) &&
           add(columns, (table_column){.kind = TABLE_VERSION});
}

glassine_status table_columns_make(table_columns *columns, glassine_bundle *bundle,
                                   glassine_record *const *records, size_t count, bool with_private,
                                   glassine_error *error) {
    *columns = (table_columns){0};
    table_columns extra = {0};
    const glassine_type_info *type = glassine_record_info(bundle, records[0]);
    bool authored = glassine_record_author(bundle, records[0]).text;
    glassine_status status = find_extra(&extra, bundle, records, count, with_private, error);
    if (!status && !(add_front(columns, type, authored, with_private) && add_back(columns, &extra)))
        status = conv_fail_system(error, ENOMEM, NULL, "Cannot list the columns");
    table_columns_free(&extra);
    return status;
}

void table_columns_free(table_columns *columns) {
    free(columns->list);
    *columns = (table_columns){0};
}

void table_column_header(conv_output *out, const table_column *column) {
    switch (column->kind) {
    case TABLE_ID:
        conv_add_text(out, "id");
        return;
    case TABLE_PRIVATE:
        conv_add_text(out, "contains_private");
        return;
    case TABLE_AUTHOR:
        conv_add_text(out, "author");
        return;
    case TABLE_AUTHOR_LABEL:
        conv_add_text(out, "author_label");
        return;
    case TABLE_CONTESTED:
        conv_add_text(out, "contested");
        return;
    case TABLE_VERSION:
        conv_add_text(out, "version");
        return;
    case TABLE_FIELD:
    case TABLE_LABEL:
        conv_add(out, column->name);
        if (column->kind == TABLE_LABEL)
            conv_add_text(out, "_label");
        if (column->said_reach)
            conv_printf(out, "@%s", glassine_reach_name(column->reach));
    }
}
