/* Rows of a foreign sheet, by a map: each becomes an item with what belongs to it, or one record of another
 * type. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "map.h"
#include "spaces.h"
#include "take.h"
#include "units.h"

typedef struct foreign {
    taking *t;
    const map *map;
    const grid *sheet;
    take_counts counts;
    char item[80], stamp[80]; /* of the row in hand, once they are there */
    glassine_error *error;
} foreign;

static glassine_status out_of_memory(const foreign *f) {
    return conv_fail_system(f->error, ENOMEM, f->sheet->place, "Cannot take the sheet in");
}

static void refuse(foreign *f, const grid_row *row, const map_column *column, const char *rule,
                   const char *remedy, const char *message) {
    conv_output header = {0};
    if (column && column->every)
        conv_printf(&header, "line %llu of the map", (unsigned long long)column->line);
    else if (column)
        map_header(f->sheet, f->map->skipped, f->map->header_rows, column->column, &header);
    take_refuse(f->t, f->sheet, row, column ? column->column : SIZE_MAX, conv_span(&header), rule, remedy,
                message);
    conv_free(&header);
}

/* The map's column that a refused statement came from. */
static const map_column *column_of(const foreign *f, const glassine_error *wrong) {
    size_t found = statements_find(&f->t->row, wrong);
    size_t column = found == SIZE_MAX ? SIZE_MAX : f->t->row.columns[found];
    return column == SIZE_MAX ? NULL : &f->map->columns[column];
}

/* ------------------------------------------------------------------------------------------ statements */

static bool add_typed(foreign *f, const char *field, glassine_span typed, size_t column) {
    const char *kept = statements_keep(&f->t->row, typed);
    const char *name = statements_keep(&f->t->row, conv_span_of(field));
    return kept && name &&
           statements_add(&f->t->row, (glassine_statement){.field = name, .typed = kept}, column);
}

static bool is_said(const foreign *f, const char *field) {
    for (size_t i = 0; i < f->t->row.count; i++) {
        if (strcmp(f->t->row.list[i].field, field) == 0)
            return true;
    }
    return false;
}

static bool is_text(const glassine_field_info *info) {
    return !info || info->kind == GLASSINE_TEXT;
}

/* Two columns for one field are one text, with a line between them, or one list (map_read lets no others
 * through). */
static bool add_to_text(foreign *f, const map_column *column, glassine_span typed) {
    statements *row = &f->t->row;
    for (size_t i = 0; i < row->count; i++) {
        if (strcmp(row->list[i].field, column->field) != 0)
            continue;
        conv_output both = {0};
        conv_printf(&both, "%s%c", row->list[i].typed, is_text(column->info) ? '\n' : ',');
        conv_add(&both, typed);
        row->list[i].typed = both.failed ? NULL : statements_keep(row, conv_span(&both));
        conv_free(&both);
        return row->list[i].typed;
    }
    return add_typed(f, column->field, typed, (size_t)(column - f->map->columns));
}

/* What a column's cell says, or what the map says of all rows, as it would be typed. NULL, or what is wrong. */
static const char *read_cell(const foreign *f, const grid_row *row, const map_column *column,
                             conv_output *typed) {
    conv_clear(typed);
    return column->every ? map_cell(column, conv_span_of(column->header), GRID_TEXT, typed)
                         : map_cell(column, grid_at(f->sheet, row, column->column),
                                    grid_kind(f->sheet, row, column->column), typed);
}

/* An amount whose currency another line says has that one's digits. False: no memory. */
static bool find_currency(foreign *f, const grid_row *row, map_column *money) {
    for (size_t i = 0; i < f->map->count; i++) {
        const map_column *column = &f->map->columns[i];
        conv_output *typed = &f->t->cell;
        if (column->left_out || column->type != money->type || strcmp(column->field, "currency") != 0)
            continue;
        if (!read_cell(f, row, column, typed) && units_minor_digits(conv_span(typed)) >= 0)
            memcpy(money->currency, typed->text, sizeof money->currency - 1);
        if (typed->failed)
            return false;
    }
    return true;
}

/* What the row's cells say of a type, or (`every`) what the map says of it for all rows. *good is false where
 * a cell cannot be understood, which is told. */
static glassine_status gather(foreign *f, const grid_row *row, const glassine_type_info *type, bool every,
                              bool *good) {
    *good = true;
    const char *currency = NULL;
    for (size_t i = 0; i < f->map->count; i++) {
        const map_column *column = &f->map->columns[i];
        if (column->left_out || column->type != type || column->every != every)
            continue;
        map_column as_said = *column;
        if (column->money && !column->currency[0] && !find_currency(f, row, &as_said))
            return out_of_memory(f);
        conv_output *typed = &f->t->cell;
        const char *fault = read_cell(f, row, &as_said, typed);
        if (typed->failed)
            return out_of_memory(f);
        if (fault) {
            refuse(f, row, column, NULL, NULL, fault);
            *good = false;
            return GLASSINE_OK;
        }
        if (typed->length && column->money && column->currency[0])
            currency = column->currency;
        if (typed->length && !add_to_text(f, column, conv_span(typed)))
            return out_of_memory(f);
    }
    if (currency && !is_said(f, "currency") && !add_typed(f, "currency", conv_span_of(currency), SIZE_MAX))
        return out_of_memory(f);
    return GLASSINE_OK;
}

/* References that the row itself gives: its item and its stamp, where the type needs them. */
static bool add_links(foreign *f, const glassine_type_info *type) {
    static const char *const fields[] = {"stamp", "item"};
    const char *ids[] = {f->stamp, f->item};
    bool linked = false;
    for (size_t i = 0; i < 2; i++) {
        const glassine_field_info *field = glassine_type_field(type, fields[i]);
        bool wanted = field && ids[i][0] && !is_said(f, fields[i]) && (field->required || !linked);
        if (wanted && !add_typed(f, fields[i], conv_span_of(ids[i]), SIZE_MAX))
            return false;
        linked |= wanted;
    }
    return true;
}

/* --------------------------------------------------------------------------------------------- records */

static glassine_status enter(foreign *f, const grid_row *row, const glassine_type_info *type, char id[80],
                             bool *good) {
    glassine_error wrong = {0};
    glassine_record *record = NULL;
    bool changed;
    glassine_status status = glassine_draft_state(f->t->draft, type->name, f->t->row.list, f->t->row.count,
                                                  NULL, 0, f->t->options.why, &record, &changed, &wrong);
    if (status == GLASSINE_REFUSED) {
        conv_output message = {0};
        conv_printf(&message, "%s%s%s", wrong.place, wrong.place[0] ? ": " : "", wrong.message);
        refuse(f, row, column_of(f, &wrong), wrong.rule[0] ? wrong.rule : NULL,
               wrong.remedy[0] ? wrong.remedy : NULL, message.text);
        conv_free(&message);
        *good = false;
        return GLASSINE_OK;
    }
    if (status && f->error)
        *f->error = wrong;
    if (!status && id) {
        glassine_span given = glassine_record_id(f->t->bundle, record);
        snprintf(id, 80, "%.*s", (int)given.length, given.text);
    }
    return status;
}

/* A label that an item has already is no new item. */
static bool is_fresh(foreign *f, const grid_row *row) {
    for (size_t i = 0; i < f->t->row.count; i++) {
        const glassine_statement *one = &f->t->row.list[i];
        glassine_record *found;
        if (strcmp(one->field, "label") != 0 ||
            glassine_bundle_find(f->t->bundle, "item", one->typed, &found, NULL) ||
            !conv_is(glassine_record_text(f->t->bundle, found, "label"), one->typed))
            continue;
        refuse(f, row, &f->map->columns[f->t->row.columns[i]], NULL,
               "Take the row out, or change the item by a sheet of `glassine to-csv`",
               "an item of this label is there already");
        return false;
    }
    return true;
}

/* Stamps of a new item beyond the one that the row may speak of. */
static glassine_status enter_more_stamps(foreign *f, const grid_row *row, bool *good) {
    const glassine_type_info *type = glassine_type_find("stamp");
    glassine_status status = GLASSINE_OK;
    for (size_t i = 1; i < f->map->stamps && !status && *good; i++) {
        statements_clear(&f->t->row);
        status = gather(f, row, type, true, good);
        if (!status && *good)
            status = add_links(f, type) ? enter(f, row, type, NULL, good) : out_of_memory(f);
    }
    return status;
}

static glassine_status take_type(foreign *f, const grid_row *row, const glassine_type_info *type,
                                 bool *good) {
    bool is_item = strcmp(type->name, "item") == 0, is_stamp = strcmp(type->name, "stamp") == 0;
    statements_clear(&f->t->row);
    glassine_status status = gather(f, row, type, false, good);
    bool wanted = f->t->row.count || (is_stamp && f->item[0] && f->map->stamps);
    if (!status && *good && wanted)
        status = gather(f, row, type, true, good);
    if (status || !*good || !wanted)
        return status;
    if (is_item && !is_fresh(f, row)) {
        *good = false;
        return GLASSINE_OK;
    }
    if (!is_item && !add_links(f, type))
        return out_of_memory(f);
    status = enter(f, row, type, is_item ? f->item : is_stamp ? f->stamp : NULL, good);
    return status || !*good || !is_stamp || !f->item[0] ? status : enter_more_stamps(f, row, good);
}

/* All that the row says, or nothing of it. */
static glassine_status take_row(foreign *f, const grid_row *row) {
    size_t before = glassine_draft_slips(f->t->draft);
    bool good = true;
    glassine_status status = GLASSINE_OK;
    f->item[0] = f->stamp[0] = '\0';
    f->counts.rows++;
    for (size_t i = 0; i < glassine_type_count() && !status && good; i++)
        status = take_type(f, row, glassine_type_at(i), &good);
    if (!status && good && glassine_draft_slips(f->t->draft) > before) {
        f->counts.entered++;
        return take_note_row(f->t, f->sheet->place, row->line, f->error);
    }
    if (!good) {
        f->counts.refused++;
        glassine_draft_back(f->t->draft, before);
    }
    return status;
}

/* Cells that no column of the map is about, and that stand under no header, are lost by nobody's wish. */
static bool is_within(foreign *f, const grid_row *row) {
    size_t columns = 0;
    for (size_t i = 0; i < f->map->count; i++) {
        const map_column *column = &f->map->columns[i];
        if (!column->every && column->column >= columns)
            columns = column->column + 1;
    }
    for (size_t i = columns; i < row->count; i++) {
        if (!spaces_trim(grid_at(f->sheet, row, i)).length)
            continue;
        f->counts.refused++;
        take_refuse(f->t, f->sheet, row, i, (glassine_span){"", 0}, NULL, "Say in the map what the column is",
                    "the row has more cells than the map has columns");
        return false;
    }
    return true;
}

/* ----------------------------------------------------------------------------------------------- sheet */

/* Is it the sheet that the map is of? */
static glassine_status check_headers(const foreign *f) {
    for (size_t i = 0; i < f->map->count; i++) {
        const map_column *column = &f->map->columns[i];
        if (column->every)
            continue;
        conv_output header = {0};
        map_header(f->sheet, f->map->skipped, f->map->header_rows, column->column, &header);
        bool same = !column->header[0] || conv_is(conv_span(&header), column->header);
        bool failed = header.failed;
        conv_free(&header);
        if (failed)
            return out_of_memory(f);
        if (same)
            continue;
        conv_output place = {0};
        char message[128];
        snprintf(message, sizeof message, "the header is not \"%.60s\", as the map has it", column->header);
        conv_printf(&place, "%s: column %zu", f->sheet->place, column->column + 1);
        glassine_status status =
            conv_fail(f->error, GLASSINE_REFUSED, place.text, "Correct the map, or write a new one", message);
        conv_free(&place);
        return status;
    }
    return GLASSINE_OK;
}

glassine_status take_foreign(taking *t, const grid *sheet, const map *by, glassine_error *error) {
    foreign f = {.t = t, .map = by, .sheet = sheet, .counts = {.type = ""}, .error = error};
    size_t first = by->skipped + by->header_rows;
    glassine_status status = check_headers(&f);
    t->rows += sheet->row_count > first ? sheet->row_count - first : 0;
    for (size_t i = first; i < sheet->row_count && !status; i++) {
        const grid_row *row = &sheet->rows[i];
        if (!grid_is_blank(sheet, row) && is_within(&f, row))
            status = take_row(&f, row);
        take_progress(t);
    }
    if (!status)
        take_tell_sheet(t, sheet->place, &f.counts);
    return status;
}
