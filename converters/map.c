#include "map.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "cell.h"
#include "csv_get.h"
#include "spaces.h"

/* Where the columns of the map itself stand. */
typedef struct heads {
    size_t column, header, goes_to, as;
} heads;

typedef struct map_reader {
    map *out;
    heads heads;
    glassine_report *report;
    glassine_error *error;
    size_t questions;
} map_reader;

static void free_column(map_column *column) {
    for (size_t i = 0; i < column->meaning_count; i++) {
        free(column->meanings[i].cell);
        free(column->meanings[i].value);
    }
    free(column->meanings);
    free(column->header);
    free(column->field);
    free(column->split);
    free(column->list);
}

void map_free(map *it) {
    for (size_t i = 0; i < it->count; i++)
        free_column(&it->columns[i]);
    free(it->columns);
    free(it->encoding);
    free(it->sheet);
    grid_free(&it->file);
    *it = (map){0};
}

static glassine_span cell_at(const map_reader *r, const grid_row *row, size_t column) {
    return column == SIZE_MAX ? (glassine_span){"", 0}
                              : spaces_trim(cell_unmarked(spaces_trim(grid_at(&r->out->file, row, column))));
}

static glassine_status wrong(const map_reader *r, const grid_row *row, size_t column, const char *remedy,
                             const char *message) {
    conv_output place = {0};
    grid_say_place(&place, &r->out->file, row->line, column,
                   column == SIZE_MAX ? (glassine_span){"", 0}
                                      : grid_at(&r->out->file, &r->out->file.rows[0], column));
    glassine_status status = conv_fail(r->error, GLASSINE_REFUSED, place.text, remedy, message);
    conv_free(&place);
    return status;
}

static glassine_status out_of_memory(const map_reader *r) {
    return conv_fail_system(r->error, ENOMEM, r->out->file.place, "Cannot read the map");
}

/* ---------------------------------------------------------------------------------------- of the sheet */

static glassine_status read_setting(map_reader *r, const grid_row *row) {
    static const char remedy[] =
        "The settings are: encoding, delimiter, sheet, skipped rows, header rows, stamps";
    glassine_span name = cell_at(r, row, r->heads.header), value = cell_at(r, row, r->heads.goes_to);
    char kept[64];
    map *out = r->out;
    bool good = value.length < sizeof kept;
    snprintf(kept, sizeof kept, "%.*s", good ? (int)value.length : 0, value.text);
    if (conv_is(name, "encoding") || conv_is(name, "sheet")) {
        char **of = conv_is(name, "sheet") ? &out->sheet : &out->encoding;
        free(*of);
        *of = map_copy(value);
        return *of ? GLASSINE_OK : out_of_memory(r);
    }
    if (conv_is(name, "delimiter")) {
        const char *sign = map_separator(kept);
        good = good && strlen(sign) == 1;
        out->delimiter = sign[0];
    } else if (conv_is(name, "skipped rows")) {
        good = map_count(value, 1000, &out->skipped);
    } else if (conv_is(name, "header rows")) {
        good = map_count(value, 2, &out->header_rows);
    } else if (conv_is(name, "stamps")) {
        good = map_count(value, 10000, &out->stamps);
    } else {
        return wrong(r, row, r->heads.header, remedy, "there is no such setting");
    }
    return good ? GLASSINE_OK : wrong(r, row, r->heads.goes_to, NULL, "the setting takes no such value");
}

/* -------------------------------------------------------------------------------------- of its columns */

/* TYPE.FIELD. */
static glassine_status read_target(map_reader *r, const grid_row *row, glassine_span target,
                                   map_column *column) {
    static const char remedy[] =
        "It is TYPE.FIELD, as `glassine help types` and `glassine help TYPE` list them; one of "
        "your own begins with own_";
    const char *point = memchr(target.text, '.', target.length);
    char name[64];
    if (!point || point - target.text > 40)
        return wrong(r, row, r->heads.goes_to, remedy, "it is neither a field nor - (left out)");
    snprintf(name, sizeof name, "%.*s", (int)(point - target.text), target.text);
    column->type = glassine_type_find(name);
    if (!column->type)
        return wrong(r, row, r->heads.goes_to, remedy, "there is no such type");
    column->field = map_copy((glassine_span){point + 1, target.length - (size_t)(point + 1 - target.text)});
    if (!column->field)
        return out_of_memory(r);
    column->info = glassine_type_field(column->type, column->field);
    if (!column->info && strncmp(column->field, "own_", 4) != 0)
        return wrong(r, row, r->heads.goes_to, remedy, "the type has no such field");
    return GLASSINE_OK;
}

/* What the draft asked, and nobody answered. */
static void ask(map_reader *r, const grid_row *row, size_t column, const char *question) {
    conv_output place = {0};
    glassine_span header = cell_at(r, row, r->heads.header);
    conv_printf(&place, "%s: line %llu (%.*s)", r->out->file.place, (unsigned long long)row->line,
                (int)(header.length < 60 ? header.length : 60), header.text);
    glassine_span said = cell_at(r, row, column);
    glassine_report_finding(r->report, GLASSINE_WARNING, NULL, place.text, NULL, "%s%s%.*s", question,
                            said.length ? ": " : "", (int)(said.length < 200 ? said.length : 200), said.text);
    conv_free(&place);
    r->questions++;
}

static bool is_question(glassine_span text) {
    return text.length && memchr(text.text, '?', text.length);
}

/* What every row says must be understood before any row is looked at. */
static glassine_status check_every(map_reader *r, const grid_row *row, const map_column *column) {
    conv_output typed = {0};
    const char *fault = map_cell(column, conv_span_of(column->header), GRID_TEXT, &typed);
    bool failed = typed.failed;
    if (!fault && !typed.length)
        fault = "what every row says is missing";
    conv_free(&typed);
    if (failed)
        return out_of_memory(r);
    return fault ? wrong(r, row, r->heads.header, NULL, fault) : GLASSINE_OK;
}

/* A column without a target, or with a question, is told, and the map is not used. */
static glassine_status read_column(map_reader *r, const grid_row *row, size_t number) {
    glassine_span target = cell_at(r, row, r->heads.goes_to), as = cell_at(r, row, r->heads.as);
    map_column column = {
        .every = number == SIZE_MAX, .column = number, .line = row->line, .left_out = conv_is(target, "-")};
    if (!target.length || is_question(target)) {
        ask(r, row, r->heads.goes_to, "say where the column goes: TYPE.FIELD, or - to leave it out");
        return GLASSINE_OK;
    }
    glassine_status status = column.left_out ? GLASSINE_OK : read_target(r, row, target, &column);
    if (!status && !column.left_out && is_question(as)) {
        ask(r, row, r->heads.as, "decide how the column is to be read");
    } else if (!status && !column.left_out) {
        const char *fault = map_read_as(&column, as);
        status = fault ? wrong(r, row, r->heads.as, NULL, fault) : GLASSINE_OK;
    }
    column.header = map_copy(cell_at(r, row, r->heads.header));
    if (column.every && column.header && column.type && !status)
        status = check_every(r, row, &column);
    map_column *grown = conv_grow(r->out->columns, &r->out->room, r->out->count + 1, sizeof *grown);
    if (grown)
        r->out->columns = grown;
    if (grown && column.header && !status) {
        grown[r->out->count++] = column;
        return GLASSINE_OK;
    }
    free_column(&column);
    return status ? status : out_of_memory(r);
}

static glassine_status read_row(map_reader *r, const grid_row *row) {
    glassine_span first = cell_at(r, row, r->heads.column);
    size_t column;
    if (grid_is_blank(&r->out->file, row))
        return GLASSINE_OK;
    if (conv_is(first, "sheet"))
        return read_setting(r, row);
    if (conv_is(first, "every row"))
        return read_column(r, row, SIZE_MAX);
    if (!map_count(first, GRID_COLUMNS_MOST, &column) || !column)
        return wrong(
            r, row, r->heads.column,
            "It is a column's number, `every row` for what all of them say, or `sheet` for a setting",
            "this line of the map is about no column");
    return read_column(r, row, column - 1);
}

static glassine_status read_heads(map_reader *r) {
    static const char *const names[] = {"column", "header", "goes_to", "as"};
    size_t *places[] = {&r->heads.column, &r->heads.header, &r->heads.goes_to, &r->heads.as};
    const grid *file = &r->out->file;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        *places[i] = SIZE_MAX;
        for (size_t k = 0; file->row_count && k < file->rows[0].count; k++) {
            if (conv_is(cell_at(r, &file->rows[0], k), names[i]))
                *places[i] = k;
        }
        if (*places[i] == SIZE_MAX)
            return conv_fail(r->error, GLASSINE_REFUSED, file->place, "--map-draft writes one",
                             "it is no map: its first row lacks one of column, header, goes_to, as");
    }
    return GLASSINE_OK;
}

static bool may_be_several(const glassine_field_info *info) {
    return !info || info->kind == GLASSINE_TEXT || info->kind == GLASSINE_TEXTS ||
           info->kind == GLASSINE_CHOICES || info->kind == GLASSINE_REFS;
}

/* "money EUR" says the currency, and the digits that it has; so may another line, where it has others. */
static bool says_currency_again(const map_column *money, const map_column *other) {
    return money->currency[0] && strcmp(other->field, "currency") == 0;
}

/* Texts and lists may come from several columns; one number or date may not. */
static const char *clash(const map_column *one, const map_column *other) {
    if (one->left_out || other->left_out || one->type != other->type)
        return NULL;
    if (strcmp(one->field, other->field) == 0 && !may_be_several(one->info))
        return "two columns go to one field, which holds one value";
    return says_currency_again(one, other) || says_currency_again(other, one)
               ? "the currency is said of an amount, and again by another line"
               : NULL;
}

static glassine_status check_doubles(const map_reader *r) {
    const map *out = r->out;
    for (size_t i = 0; i < out->count; i++) {
        const map_column *one = &out->columns[i];
        for (size_t k = 0; k < i; k++) {
            const char *fault = clash(one, &out->columns[k]);
            if (!fault)
                continue;
            conv_output place = {0};
            conv_printf(&place, "%s: line %llu", out->file.place, (unsigned long long)one->line);
            glassine_status status =
                conv_fail(r->error, GLASSINE_REFUSED, place.text, "Leave one of them out", fault);
            conv_free(&place);
            return status;
        }
    }
    return GLASSINE_OK;
}

static glassine_status check_questions(const map_reader *r) {
    if (!r->questions)
        return GLASSINE_OK;
    char message[96];
    snprintf(message, sizeof message, "the map leaves %zu question%s open", r->questions,
             r->questions == 1 ? "" : "s");
    return conv_fail(r->error, GLASSINE_REFUSED, r->out->file.place, "Answer them in the map", message);
}

glassine_status map_read(const char *path, map *out, glassine_report *report, glassine_error *error) {
    *out = (map){.header_rows = 1, .stamps = 1};
    map_reader r = {.out = out, .report = report, .error = error};
    glassine_status status = csv_get(path, NULL, &out->file, error);
    if (!status)
        status = read_heads(&r);
    for (size_t i = 1; i < out->file.row_count && !status; i++)
        status = read_row(&r, &out->file.rows[i]);
    if (!status)
        status = check_doubles(&r);
    return status ? status : check_questions(&r);
}
