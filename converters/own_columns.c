#include "own_columns.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "cell.h"
#include "spaces.h"

static glassine_span header_at(const grid *sheet, size_t column) {
    return cell_unmarked(spaces_trim(grid_at(sheet, &sheet->rows[0], column)));
}

static size_t find_header(const grid *sheet, const char *name) {
    for (size_t i = 0; sheet->row_count && i < sheet->rows[0].count; i++) {
        if (conv_is(header_at(sheet, i), name))
            return i;
    }
    return SIZE_MAX;
}

bool own_columns_fit(const grid *sheet) {
    return find_header(sheet, "id") != SIZE_MAX && find_header(sheet, "version") != SIZE_MAX;
}

void own_columns_type(const grid *sheet, char *out, size_t size) {
    size_t id = find_header(sheet, "id");
    glassine_span cell = {"", 0};
    const char *slash = NULL;
    for (size_t i = 1; i < sheet->row_count && !slash; i++) {
        cell = spaces_trim(grid_at(sheet, &sheet->rows[i], id));
        slash = cell.length ? memchr(cell.text, '/', cell.length) : NULL;
    }
    if (slash)
        snprintf(out, size, "%.*s", (int)(slash - cell.text), cell.text);
    else
        snprintf(out, size, "%s", glassine_type_find(sheet->name) ? sheet->name : "");
}

/* --------------------------------------------------------------------------------------------- headers */

static glassine_status refuse(const grid *sheet, size_t column, const char *remedy, const char *message,
                              glassine_error *error) {
    conv_output place = {0};
    grid_say_place(&place, sheet, sheet->rows[0].line, column, header_at(sheet, column));
    glassine_status status = conv_fail(error, GLASSINE_REFUSED, place.text, remedy, message);
    conv_free(&place);
    return status;
}

static bool ends_in(glassine_span text, const char *end) {
    size_t length = strlen(end);
    return text.length > length && memcmp(text.text + text.length - length, end, length) == 0;
}

/* Does some record of the type say a field of that name? The sheet then has its column from there. */
static bool is_said(glassine_bundle *bundle, const char *type, glassine_span name) {
    glassine_cursor *cursor;
    bool said = false;
    if (glassine_cursor_new(bundle, type, true, &cursor, NULL))
        return false;
    for (glassine_record *record; !said && (record = glassine_cursor_next(cursor));) {
        const glassine_field *fields;
        size_t count;
        if (glassine_record_fields(bundle, record, &fields, &count, NULL))
            continue;
        for (size_t i = 0; i < count; i++)
            said |= conv_equal(fields[i].name, name);
    }
    glassine_cursor_free(cursor);
    return said;
}

static const glassine_field_info *field_of(const own_columns *columns, glassine_span name) {
    char text[64];
    snprintf(text, sizeof text, "%.*s", (int)(name.length < 63 ? name.length : 63), name.text);
    return columns->type ? glassine_type_field(columns->type, text) : NULL;
}

/* NAME, or NAME@REACH. */
static bool read_reach(table_column *column) {
    const char *at = column->name.length ? memchr(column->name.text, '@', column->name.length) : NULL;
    if (!at)
        return true;
    size_t before = (size_t)(at - column->name.text);
    glassine_span reach = {at + 1, column->name.length - before - 1};
    column->name.length = before;
    column->said_reach = true;
    for (int i = 0; i < GLASSINE_REACHES; i++) {
        column->reach = (glassine_reach)i;
        if (conv_is(reach, glassine_reach_name(column->reach)))
            return true;
    }
    return false;
}

static bool is_for_reading(glassine_span header) {
    return conv_is(header, "contains_private") || conv_is(header, "author_label") ||
           conv_is(header, "contested") || conv_is(header, "picture");
}

/* "item_label" behind the field item; its reach is the field's. */
static bool read_label(own_columns *columns, glassine_span header, table_column *column) {
    table_column field = {.name = header, .reach = GLASSINE_SHARED};
    if (!read_reach(&field) || !ends_in(field.name, "_label"))
        return false;
    field.name.length -= strlen("_label");
    field.info = field_of(columns, field.name);
    if (!field.said_reach && field.info)
        field.reach = field.info->reach;
    field.kind = TABLE_LABEL;
    *column = field;
    return true;
}

static bool same_field(const table_column *a, const table_column *b) {
    return a->reach == b->reach && conv_equal(a->name, b->name);
}

static glassine_status read_field(own_columns *columns, glassine_bundle *bundle, const grid *sheet, size_t at,
                                  glassine_error *error) {
    table_column column = {.kind = TABLE_FIELD, .name = header_at(sheet, at)};
    if (!read_reach(&column))
        return refuse(sheet, at, "It is shared, telling or private", "there is no such reach", error);
    column.info = field_of(columns, column.name);
    if (!column.said_reach)
        column.reach = column.info ? column.info->reach : GLASSINE_SHARED;
    bool own = column.name.length > 4 && memcmp(column.name.text, "own_", 4) == 0;
    if (!column.info && !own && !is_said(bundle, columns->type_name, column.name))
        return refuse(sheet, at, "`glassine help TYPE` lists the fields; one of your own begins with own_",
                      "there is no such field", error);
    for (size_t i = 0; i < at; i++) {
        if (columns->list[i].column.kind == TABLE_FIELD && same_field(&columns->list[i].column, &column))
            return refuse(sheet, at, "Leave one of them", "the column stands twice", error);
    }
    columns->list[at].column = column;
    return GLASSINE_OK;
}

static bool has_cells(const grid *sheet, size_t column) {
    for (size_t i = 1; i < sheet->row_count; i++) {
        if (grid_at(sheet, &sheet->rows[i], column).length)
            return true;
    }
    return false;
}

static glassine_status read_header(own_columns *columns, glassine_bundle *bundle, const grid *sheet,
                                   size_t at, glassine_error *error) {
    glassine_span header = header_at(sheet, at);
    table_column *column = &columns->list[at].column;
    columns->list[at].label = SIZE_MAX;
    *column = (table_column){.kind = TABLE_CONTESTED};
    if (at == columns->id || at == columns->version || at == columns->author || is_for_reading(header))
        return GLASSINE_OK;
    if (!header.length)
        return has_cells(sheet, at) ? refuse(sheet, at, "Give it a header", "the column has no header", error)
                                    : GLASSINE_OK;
    if (read_label(columns, header, column))
        return GLASSINE_OK;
    return read_field(columns, bundle, sheet, at, error);
}

static void join_labels(own_columns *columns) {
    for (size_t i = 0; i < columns->count; i++) {
        const table_column *label = &columns->list[i].column;
        for (size_t k = 0; label->kind == TABLE_LABEL && k < columns->count; k++) {
            own_column *field = &columns->list[k];
            bool refers = field->column.info && (field->column.info->kind == GLASSINE_REF ||
                                                 field->column.info->kind == GLASSINE_REFS);
            if (field->column.kind == TABLE_FIELD && refers && same_field(label, &field->column))
                field->label = i;
        }
    }
}

glassine_status own_columns_make(own_columns *columns, glassine_bundle *bundle, const grid *sheet,
                                 glassine_error *error) {
    *columns = (own_columns){.id = find_header(sheet, "id"),
                             .version = find_header(sheet, "version"),
                             .author = find_header(sheet, "author"),
                             .kind = find_header(sheet, "kind"),
                             .with_private = find_header(sheet, "contains_private") != SIZE_MAX,
                             .count = sheet->rows[0].count};
    own_columns_type(sheet, columns->type_name, sizeof columns->type_name);
    if (!columns->type_name[0])
        return conv_fail(error, GLASSINE_REFUSED, sheet->place, "Name it for its type: item.csv",
                         "no row has an id, and the sheet is named for no type");
    columns->type = glassine_type_find(columns->type_name);
    columns->list = calloc(columns->count + 1, sizeof *columns->list);
    if (!columns->list)
        return conv_fail_system(error, ENOMEM, sheet->place, "Cannot take the sheet in");
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < columns->count && !status; i++)
        status = read_header(columns, bundle, sheet, i, error);
    if (!status)
        join_labels(columns);
    return status;
}

void own_columns_free(own_columns *columns) {
    free(columns->list);
    *columns = (own_columns){0};
}
