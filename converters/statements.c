#include "statements.h"

#include <stdlib.h>

#include "cell.h"

void statements_clear(statements *row) {
    while (row->text_count)
        free(row->texts[--row->text_count]);
    row->count = 0;
}

void statements_free(statements *row) {
    statements_clear(row);
    free(row->texts);
    free(row->list);
    free(row->columns);
    *row = (statements){0};
}

const char *statements_keep(statements *row, glassine_span text) {
    char **grown = conv_grow(row->texts, &row->text_room, row->text_count + 1, sizeof *grown);
    char *copy = grown && text.length < SIZE_MAX ? malloc(text.length + 1) : NULL;
    if (grown)
        row->texts = grown;
    if (!copy)
        return NULL;
    if (text.length)
        memcpy(copy, text.text, text.length);
    copy[text.length] = '\0';
    row->texts[row->text_count++] = copy;
    return copy;
}

bool statements_add(statements *row, glassine_statement statement, size_t column) {
    glassine_statement *list = conv_grow(row->list, &row->room, row->count + 1, sizeof *list);
    if (list)
        row->list = list;
    size_t *columns = conv_grow(row->columns, &row->columns_room, row->count + 1, sizeof *columns);
    if (columns)
        row->columns = columns;
    if (!list || !columns)
        return false;
    list[row->count] = statement;
    columns[row->count++] = column;
    return true;
}

size_t statements_find(const statements *row, const glassine_error *wrong) {
    for (size_t i = 0; i < row->count; i++) {
        size_t length = strlen(row->list[i].field);
        if (strncmp(wrong->place, row->list[i].field, length) == 0 && strchr(" :", wrong->place[length]))
            return i;
    }
    return SIZE_MAX;
}

static bool is_list(const glassine_field_info *info) {
    return info && (info->kind == GLASSINE_TEXTS || info->kind == GLASSINE_CHOICES ||
                    info->kind == GLASSINE_REFS || info->kind == GLASSINE_REGION);
}

/* "a\;b; c" as people type a list in a command: "a;b,c". */
static void add_as_typed(conv_output *out, glassine_span list) {
    for (size_t i = 0; i < list.length; i++) {
        char c = list.text[i];
        if (c == ';') {
            conv_add_char(out, ',');
            continue;
        }
        bool escaped = c == '\\' && i + 1 < list.length && memchr("\\;", list.text[i + 1], 2);
        c = escaped ? list.text[++i] : c;
        if (c == ',' || c == '\\')
            conv_add_char(out, '\\');
        conv_add_char(out, c);
    }
}

/* A field that the table does not have is taken as it is called, its text as it stands. */
static bool add_as_json(statements *row, glassine_span text, glassine_statement statement, size_t column) {
    conv_output json = {0};
    conv_add_json_string(&json, text);
    const char *kept = json.failed ? NULL : statements_keep(row, conv_span(&json));
    statement.value = conv_span_of(kept);
    conv_free(&json);
    return kept && statements_add(row, statement, column);
}

static bool is_own(glassine_span name) {
    return name.length > 4 && memcmp(name.text, "own_", 4) == 0;
}

bool statements_add_cell(statements *row, glassine_span cell, glassine_span name,
                         const glassine_field_info *info, const char *reach, size_t column) {
    glassine_statement statement = {.field = statements_keep(row, name), .reach = reach};
    glassine_span json = {NULL, 0};
    if (!statement.field)
        return false;
    if (cell_is_contested(cell))
        return true;
    if (!cell.length)
        return statements_add(row, statement, column); /* clears it */
    if (cell_is_json(cell, &json)) {
        statement.value = conv_span_of(statements_keep(row, json));
        return statement.value.text && statements_add(row, statement, column);
    }
    glassine_span text = cell_unmarked(cell);
    if (!text.length || (!info && !is_own(name)))
        return add_as_json(row, text, statement, column);
    conv_output typed = {0};
    if (is_list(info))
        add_as_typed(&typed, text);
    else
        conv_add(&typed, text);
    statement.typed = typed.failed ? NULL : statements_keep(row, conv_span(&typed));
    conv_free(&typed);
    return statement.typed && statements_add(row, statement, column);
}
