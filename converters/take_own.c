/* Sheets that to-csv or to-xlsx wrote, and a person changed: spec/csv.md, "Taking sheets in". */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "own_columns.h"
#include "record_set.h"
#include "spaces.h"
#include "tables.h"
#include "take.h"

#define NAMED_MISSING 10

/* One sheet on its way in. */
typedef struct own {
    taking *t;
    const grid *sheet;
    own_columns columns;
    take_counts counts;
    record_set seen;
    uint32_t newest;   /* edition of the newest slip that any row was made from */
    size_t unread;     /* cells that differ in columns that are for reading only */
    char (*after)[65]; /* of the row in hand */
    size_t after_count, after_room;
    bool named[GLASSINE_REACHES]; /* reaches that the row's version has slips of */
    glassine_error *error;
} own;

static glassine_span cell_at(const own *o, const grid_row *row, size_t column) {
    return column == SIZE_MAX ? (glassine_span){"", 0} : spaces_trim(grid_at(o->sheet, row, column));
}

static void refuse(own *o, const grid_row *row, size_t column, const char *remedy, const char *message) {
    glassine_span header =
        column == SIZE_MAX ? (glassine_span){"", 0} : grid_at(o->sheet, &o->sheet->rows[0], column);
    o->counts.refused++;
    take_refuse(o->t, o->sheet, row, column, header, NULL, remedy, message);
}

/* A refusal of the library, put where it belongs: its place begins with the field's name. */
static void refuse_stated(own *o, const grid_row *row, const glassine_error *from) {
    size_t found = o->t->row.count == 1 ? 0 : statements_find(&o->t->row, from);
    size_t column = found == SIZE_MAX ? SIZE_MAX : o->t->row.columns[found];
    conv_output message = {0};
    if (from->place[0])
        conv_printf(&message, "%s: ", from->place);
    conv_add_text(&message, from->message);
    glassine_span header =
        column == SIZE_MAX ? (glassine_span){"", 0} : grid_at(o->sheet, &o->sheet->rows[0], column);
    o->counts.refused++;
    take_refuse(o->t, o->sheet, row, column, header, from->rule[0] ? from->rule : NULL,
                from->remedy[0] ? from->remedy : NULL, message.text ? message.text : from->message);
    conv_free(&message);
}

/* --------------------------------------------------------------------------------------------- version */

static bool add_after(own *o, const char *hex) {
    void *grown = conv_grow(o->after, &o->after_room, o->after_count + 1, sizeof *o->after);
    if (!grown)
        return false;
    o->after = grown;
    memcpy(o->after[o->after_count], hex, 64);
    o->after[o->after_count++][64] = '\0';
    return true;
}

static bool is_digest(glassine_span text) {
    if (text.length < 64)
        return false;
    for (size_t i = 0; i < 64; i++) {
        if (!((text.text[i] >= '0' && text.text[i] <= '9') || (text.text[i] >= 'a' && text.text[i] <= 'f')))
            return false;
    }
    return true;
}

static void step(glassine_span *text, size_t by) {
    text->text += by;
    text->length -= by;
}

/* "shared:DIGEST+DIGEST telling:DIGEST", or nothing. False where it is anything else. */
static bool read_version(own *o, glassine_span version, bool *failed) {
    o->after_count = 0;
    memset(o->named, 0, sizeof o->named);
    while (version.length) {
        int reach = 0;
        size_t length = 0;
        for (; reach < GLASSINE_REACHES; reach++) {
            const char *name = glassine_reach_name((glassine_reach)reach);
            length = strlen(name);
            if (version.length > length && memcmp(version.text, name, length) == 0 &&
                version.text[length] == ':')
                break;
        }
        if (reach == GLASSINE_REACHES || o->named[reach])
            return false;
        o->named[reach] = true;
        do {
            step(&version, length + 1);
            length = 64;
            if (!is_digest(version))
                return false;
            *failed = !add_after(o, version.text);
            if (*failed)
                return false;
        } while (version.length > 64 && version.text[64] == '+');
        step(&version, 64);
        if (version.length && *version.text != ' ')
            return false;
        version = spaces_trim(version);
    }
    return true;
}

static void refuse_version(own *o, const grid_row *row) {
    refuse(o, row, o->columns.version, "Put back what to-csv wrote there",
           "the version does not say what the row was made from");
}

/* Has nothing been said on the record since the row was made? Then its reading is the one that is at hand. */
static bool is_current(const own *o) {
    size_t count = 0;
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        const char(*latest)[65] = NULL;
        size_t of_reach = o->named[reach] ? conv_latest(&o->t->view, (glassine_reach)reach, &latest) : 0;
        for (size_t i = 0; i < of_reach; i++, count++) {
            if (count >= o->after_count || memcmp(latest[i], o->after[count], 64) != 0)
                return false;
        }
    }
    return count == o->after_count;
}

/* Remembers the newest edition that any row was made from. */
static void note_edition(own *o) {
    const conv_view *view = &o->t->view;
    for (size_t i = 0; i < view->slip_count; i++) {
        for (size_t k = 0; k < o->after_count && view->slips[i].edition > o->newest; k++) {
            if (memcmp(view->slips[i].digest, o->after[k], 64) == 0)
                o->newest = view->slips[i].edition;
        }
    }
}

/* -------------------------------------------------------------------------------------------------- a row */

static bool same_lines(glassine_span a, glassine_span b) {
    size_t i = 0, k = 0;
    while (i < a.length && k < b.length) {
        char x = a.text[i], y = b.text[k];
        if (x == '\r')
            i += i + 1 < a.length && a.text[i + 1] == '\n';
        if (y == '\r')
            k += k + 1 < b.length && b.text[k + 1] == '\n';
        if ((x == '\r' ? '\n' : x) != (y == '\r' ? '\n' : y))
            return false;
        i++;
        k++;
    }
    return i == a.length && k == b.length;
}

/* What the row says its record's `kind` is, which the reach of a new field may depend on. */
static const char *kind_of_row(own *o, const grid_row *row) {
    glassine_span kind = cell_unmarked(cell_at(o, row, o->columns.kind));
    return kind.length ? statements_keep(&o->t->row, kind) : NULL;
}

/* Where a cell's field goes: where the column says; but what is said for the first time goes where it would
 * go otherwise too. */
static const char *reach_for(own *o, const grid_row *row, const table_column *column, bool said_already) {
    if (column->said_reach || said_already)
        return glassine_reach_name(column->reach);
    if (!column->info)
        return glassine_reach_name(GLASSINE_SHARED);
    return glassine_reach_name(glassine_type_reach(o->columns.type, column->info, kind_of_row(o, row)));
}

/* The text of the cell as it was written. */
static glassine_span as_written(own *o, const table_column *column) {
    conv_clear(&o->t->cell);
    if (o->named[column->reach])
        tables_cell(&o->t->view, column, &o->t->cell);
    return conv_span(&o->t->cell);
}

static bool compare_cell(own *o, const grid_row *row, size_t index, bool current) {
    const table_column *column = &o->columns.list[index].column;
    glassine_span cell = grid_at(o->sheet, row, index), written;
    if (column->kind == TABLE_LABEL && current && o->sheet->delimiter)
        o->unread += !same_lines(cell, as_written(o, column));
    if (column->kind != TABLE_FIELD)
        return !o->t->cell.failed;
    written = as_written(o, column);
    if (o->t->cell.failed)
        return false;
    if (same_lines(cell, written) || same_lines(cell, cell_without_need(written)) || cell_is_left_out(cell))
        return true;
    const char *reach = reach_for(o, row, column, written.length > 0);
    return statements_add_cell(&o->t->row, cell, column->name, column->info, reach, index);
}

static glassine_status out_of_memory(const own *o) {
    return conv_fail_system(o->error, ENOMEM, o->sheet->place, "Cannot take the sheet in");
}

/* Hands what the row says to the draft. */
static glassine_status state_row(own *o, const grid_row *row, const char *id, size_t *counter) {
    taking *t = o->t;
    glassine_error wrong = {0};
    glassine_record *record;
    bool changed;
    glassine_status status =
        glassine_draft_state(t->draft, id, t->row.list, t->row.count, (const char(*)[65])o->after,
                             o->after_count, t->options.why, &record, &changed, &wrong);
    if (status == GLASSINE_REFUSED) {
        refuse_stated(o, row, &wrong);
        return GLASSINE_OK;
    }
    if (status) {
        if (o->error)
            *o->error = wrong;
        return status;
    }
    ++*(changed ? counter : &o->counts.unchanged);
    if (!changed)
        return GLASSINE_OK;
    take_look_for_contests(t, record);
    return take_note_row(t, o->sheet->place, row->line, o->error);
}

/* Names that are new to the bundle are those of other records in the row's columns for reading. */
static bool fill_new_row(own *o, const grid_row *row) {
    for (size_t i = 0; i < o->columns.count; i++) {
        const table_column *column = &o->columns.list[i].column;
        glassine_span cell = grid_at(o->sheet, row, i);
        if (column->kind != TABLE_FIELD)
            continue;
        if (!cell.length && o->columns.list[i].label != SIZE_MAX)
            cell = grid_at(o->sheet, row, o->columns.list[i].label);
        if (!spaces_trim(cell).length)
            continue;
        const char *reach = reach_for(o, row, column, false);
        if (!statements_add_cell(&o->t->row, cell, column->name, column->info, reach, i))
            return false;
    }
    return true;
}

static bool by_somebody_else(const own *o, glassine_span author) {
    return author.length && !conv_is(author, glassine_draft_by(o->t->draft));
}

static glassine_status take_new_row(own *o, const grid_row *row) {
    if (cell_at(o, row, o->columns.version).length) {
        refuse(o, row, o->columns.id, "Put the id back; for a new record empty `version` too",
               "the row has a version and no id");
        return GLASSINE_OK;
    }
    if (by_somebody_else(o, cell_at(o, row, o->columns.author))) {
        refuse(o, row, o->columns.author, "Leave the author empty", "you speak for yourself alone");
        return GLASSINE_OK;
    }
    if (!fill_new_row(o, row))
        return out_of_memory(o);
    o->after_count = 0;
    return state_row(o, row, o->counts.type, &o->counts.entered);
}

/* Is the row's record one that may be changed? What is wrong is told. */
static glassine_record *find_record(own *o, const grid_row *row, glassine_span id) {
    glassine_span author = cell_at(o, row, o->columns.author);
    glassine_record *record =
        glassine_bundle_record(o->t->bundle, id, author.length ? author : (glassine_span){0});
    if (!record) {
        refuse(o, row, o->columns.id,
               "Merge the bundle that the sheet is from; for a new record empty the id",
               "the bundle has no record of this id");
        return NULL;
    }
    if (!conv_is(glassine_record_type(o->t->bundle, record), o->counts.type)) {
        refuse(o, row, o->columns.id, "Put it into the sheet of its type", "the record is of another type");
        return NULL;
    }
    return record;
}

static bool is_first(own *o, const grid_row *row, const glassine_record *record, bool *failed) {
    uint64_t earlier = record_set_add(&o->seen, record, row->line, failed);
    if (*failed)
        return false;
    if (!earlier)
        return true;
    char message[96];
    snprintf(message, sizeof message, "line %" PRIu64 " is on the same record", earlier);
    refuse(o, row, o->columns.id, "Leave one of them; for a new record empty id and version", message);
    return false;
}

/* What the record was for the one who made the row. */
static glassine_status look_back(own *o, const grid_row *row, glassine_record *record, bool *good,
                                 bool *current) {
    conv_view *view = &o->t->view;
    bool shown;
    *good = false;
    view->with_private = o->columns.with_private || o->named[GLASSINE_PRIVATE];
    glassine_status status = conv_view_look(view, record, &shown, o->error);
    if (status)
        return status;
    if (!o->after_count && !conv_nothing_counts(view)) {
        refuse_version(o, row);
        return GLASSINE_OK;
    }
    note_edition(o);
    *current = shown && is_current(o);
    if (*current) {
        *good = true;
        return GLASSINE_OK;
    }
    glassine_error wrong;
    status = conv_view_look_back(view, record, (const char(*)[65])o->after, o->after_count, &wrong);
    if (status == GLASSINE_REFUSED) {
        refuse(o, row, o->columns.version, "Merge the bundle that the sheet is from",
               "the row was made from statements that this bundle has not, or does not count");
        return GLASSINE_OK;
    }
    if (status && o->error)
        *o->error = wrong;
    *good = !status;
    return status;
}

static glassine_status take_known_row(own *o, const grid_row *row, glassine_span id) {
    bool failed = false, good = false, current = false;
    glassine_record *record = find_record(o, row, id);
    if (!record || !is_first(o, row, record, &failed))
        return failed ? out_of_memory(o) : GLASSINE_OK;
    if (!read_version(o, cell_at(o, row, o->columns.version), &failed)) {
        if (failed)
            return out_of_memory(o);
        refuse_version(o, row);
        return GLASSINE_OK;
    }
    glassine_status status = look_back(o, row, record, &good, &current);
    if (status || !good)
        return status;
    for (size_t i = 0; i < o->columns.count; i++) {
        if (!compare_cell(o, row, i, current))
            return out_of_memory(o);
    }
    if (!o->t->row.count) {
        o->counts.unchanged++;
        return GLASSINE_OK;
    }
    if (by_somebody_else(o, glassine_record_author(o->t->bundle, record))) {
        refuse(o, row, o->t->row.columns[0], "Make a statement of your own beside it",
               "it speaks for its author alone, and you are not its author");
        return GLASSINE_OK;
    }
    char kept[96];
    snprintf(kept, sizeof kept, "%.*s", (int)id.length, id.text);
    return state_row(o, row, kept, &o->counts.changed);
}

/* Cells that refuse the row whatever it says. */
static bool is_sound(own *o, const grid_row *row) {
    for (size_t i = 0; i < row->count; i++) {
        bool outside = i >= o->columns.count;
        if (outside && grid_at(o->sheet, row, i).length) {
            refuse(o, row, i, "Put it under a header", "the cell stands in no column of the sheet");
            return false;
        }
        if (!outside && grid_kind(o->sheet, row, i) == GRID_WRONG) {
            refuse(o, row, i, "Correct its formula, or type the value", "the cell holds an error");
            return false;
        }
    }
    return true;
}

static glassine_status take_row(own *o, const grid_row *row) {
    statements_clear(&o->t->row);
    glassine_status status = GLASSINE_OK;
    if (!grid_is_blank(o->sheet, row) && is_sound(o, row)) {
        glassine_span id = cell_at(o, row, o->columns.id);
        o->counts.rows++;
        status = id.length ? take_known_row(o, row, id) : take_new_row(o, row);
    }
    take_progress(o->t);
    return status;
}

/* --------------------------------------------------------------------------------------- what is missing */

/* Did the record come after the sheet was made? Then the sheet could not have a row of it. */
static bool is_newer(own *o, glassine_record *record) {
    const uint32_t *slips;
    size_t count;
    if (glassine_record_history(o->t->bundle, record, &slips, &count, NULL))
        return true;
    for (size_t i = 0; i < count; i++) {
        if (glassine_bundle_slip(o->t->bundle, slips[i]).edition <= o->newest)
            return false;
    }
    return true;
}

static glassine_status strike(own *o, glassine_record *record) {
    const glassine_assignment aside = {.field = "set_aside", .value = "yes"};
    bool changed;
    glassine_status status =
        glassine_draft_revise(o->t->draft, record, &aside, 1, o->t->options.why, &changed, o->error);
    o->t->struck += !status && changed;
    return status;
}

static void tell_missing(own *o, const conv_output *names) {
    if (!o->counts.missing)
        return;
    bool struck = o->t->options.strike_missing, one = o->counts.missing == 1;
    glassine_report_finding(o->t->report, GLASSINE_NOTE, NULL, o->sheet->place,
                            struck ? NULL : "--strike-missing sets aside what has no row",
                            one ? "%zu record has no row here (%s%s)%s"
                                : "%zu records have no row here (%s%s)%s",
                            o->counts.missing, names->text, o->counts.missing > NAMED_MISSING ? ", …" : "",
                            struck ? ": set aside"
                            : one  ? "; it stays as it is"
                                   : "; they stay as they are");
}

static glassine_status look_for_missing(own *o) {
    glassine_bundle *bundle = o->t->bundle;
    glassine_cursor *cursor;
    conv_output names = {0};
    glassine_status status = glassine_cursor_new(bundle, o->counts.type, false, &cursor, o->error);
    if (status)
        return status;
    o->t->view.with_private = o->columns.with_private;
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));) {
        bool shown = false;
        if (record_set_has(&o->seen, record) || is_newer(o, record))
            continue;
        status = conv_view_look(&o->t->view, record, &shown, o->error);
        if (status || !shown)
            continue;
        glassine_span label = glassine_record_label(bundle, record);
        if (o->counts.missing++ < NAMED_MISSING)
            conv_printf(&names, "%s%.*s", names.length ? ", " : "", (int)label.length, label.text);
        if (o->t->options.strike_missing)
            status = strike(o, record);
    }
    glassine_cursor_free(cursor);
    if (!status)
        tell_missing(o, &names);
    conv_free(&names);
    return status;
}

/* ----------------------------------------------------------------------------------------- a whole sheet */

bool take_is_own(const grid *sheet) {
    return own_columns_fit(sheet);
}

size_t take_order(taking *t, const grid *sheet) {
    char type[64];
    (void)t;
    own_columns_type(sheet, type, sizeof type);
    for (size_t i = 0; i < glassine_type_count(); i++) {
        if (strcmp(glassine_type_at(i)->name, type) == 0)
            return i;
    }
    return glassine_type_count();
}

static glassine_status take_rows(own *o) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 1; i < o->sheet->row_count && !status; i++)
        status = take_row(o, &o->sheet->rows[i]);
    return status || !o->seen.count ? status : look_for_missing(o);
}

glassine_status take_own(taking *t, const grid *sheet, glassine_error *error) {
    own o = {.t = t, .sheet = sheet, .error = error};
    glassine_status status = own_columns_make(&o.columns, t->bundle, sheet, error);
    if (!status) {
        o.counts.type = o.columns.type_name;
        status = take_rows(&o);
    }
    if (!status && o.unread)
        glassine_report_finding(
            t->report, GLASSINE_NOTE, NULL, sheet->place, "Change the column beside it",
            o.unread == 1 ? "%zu cell of a column that is there to be read differs; it is left alone"
                          : "%zu cells of columns that are there to be read differ; they are left alone",
            o.unread);
    if (!status)
        take_tell_sheet(t, sheet->place, &o.counts);
    own_columns_free(&o.columns);
    record_set_free(&o.seen);
    free(o.after);
    return status;
}
