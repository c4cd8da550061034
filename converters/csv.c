/* A bundle as sheets: spec/csv.md. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "converters.h"
#include "csv_about.h"
#include "csv_cell.h"
#include "csv_columns.h"
#include "folder.h"

#define BOM "\xef\xbb\xbf"

typedef struct writer {
    glassine_bundle *bundle;
    glassine_csv_options options;
    glassine_report *report;
    glassine_node *sheets; /* of the report */
    conv_folder folder;
    conv_view view;
    csv_about about;
    glassine_record **records; /* in a cursor's order: type after type */
    size_t count, room;
    size_t aside, contested, long_cells;
    csv_columns columns;
    conv_output sheet, cell;
    bool open; /* a sheet is */
    int64_t rows;
} writer;

/* -------------------------------------------------------------------------------------------------- cells */

static const glassine_field *said_in(const writer *w, const csv_column *column) {
    size_t from = 0, to = w->view.said_count;
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        const glassine_field *field = w->view.said[middle].field;
        int order = conv_compare(field->name, column->name);
        if (order == 0)
            order = (int)field->reach - (int)column->reach;
        if (order == 0)
            return field;
        if (order < 0)
            from = middle + 1;
        else
            to = middle;
    }
    return NULL;
}

static void add_label(writer *w, conv_output *list, glassine_value reference) {
    glassine_span id = glassine_value_text(w->bundle, reference);
    glassine_span label = conv_label_of(w->bundle, id, w->options.with_private);
    if (label.text)
        csv_cell_element(list, label);
}

/* The labels of all records that the field refers to, each value's in turn. */
static void fill_labels(writer *w, const glassine_field *field) {
    conv_output list = {0};
    for (size_t i = 0; i < field->saying_count; i++) {
        glassine_value value = field->sayings[i].value, item;
        if (!value.text)
            continue;
        if (value.text[0] != '[') {
            add_label(w, &list, value);
            continue;
        }
        for (size_t at = 0; glassine_value_next(value, &at, NULL, &item);)
            add_label(w, &list, item);
    }
    if (list.length)
        csv_cell_text(&w->cell, conv_span(&list));
    w->cell.failed = w->cell.failed ? w->cell.failed : list.failed;
    conv_free(&list);
}

/* Headers of the columns that are contested in this row. */
static void fill_contested(writer *w) {
    for (size_t i = 0; i < w->columns.count; i++) {
        const csv_column *column = &w->columns.list[i];
        const glassine_field *field = column->kind == CSV_FIELD ? said_in(w, column) : NULL;
        if (!field || !field->contested)
            continue;
        w->contested++;
        if (w->cell.length)
            conv_add_text(&w->cell, "; ");
        csv_column_header(&w->cell, column);
    }
}

/* "shared:DIGEST+DIGEST telling:DIGEST": the slips that a change of this row follows. */
static void fill_version(writer *w) {
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        const char(*digests)[65] = NULL;
        size_t count = conv_latest(&w->view, (glassine_reach)reach, &digests);
        for (size_t i = 0; i < count; i++) {
            if (i)
                conv_printf(&w->cell, "+%s", digests[i]);
            else
                conv_printf(&w->cell, "%s%s:%s", w->cell.length ? " " : "",
                            glassine_reach_name((glassine_reach)reach), digests[i]);
        }
    }
}

static void fill_author_label(writer *w) {
    glassine_span author = glassine_record_author(w->bundle, w->view.record);
    glassine_span label = conv_label_of(w->bundle, author, w->options.with_private);
    if (label.text)
        csv_cell_text(&w->cell, label);
}

static void fill_cell(writer *w, const csv_column *column) {
    const glassine_field *field = NULL;
    switch (column->kind) {
    case CSV_ID:
        conv_add(&w->cell, glassine_record_id(w->bundle, w->view.record));
        break;
    case CSV_PRIVATE:
        conv_add_text(&w->cell, w->view.holds_private ? "yes" : "no");
        break;
    case CSV_AUTHOR:
        conv_add(&w->cell, glassine_record_author(w->bundle, w->view.record));
        break;
    case CSV_AUTHOR_LABEL:
        fill_author_label(w);
        break;
    case CSV_FIELD:
        field = said_in(w, column);
        if (field)
            csv_cell_field(&w->cell, w->bundle, field);
        break;
    case CSV_LABEL:
        field = said_in(w, column);
        if (field)
            fill_labels(w, field);
        break;
    case CSV_CONTESTED:
        fill_contested(w);
        break;
    case CSV_VERSION:
        fill_version(w);
    }
}

static void add_row(writer *w) {
    for (size_t i = 0; i < w->columns.count; i++) {
        conv_clear(&w->cell);
        fill_cell(w, &w->columns.list[i]);
        w->long_cells += w->cell.length > CSV_CELL_MOST;
        csv_put_cell(&w->sheet, conv_span(&w->cell), i == 0);
    }
    csv_end_row(&w->sheet);
    w->rows++;
    if (w->cell.failed)
        w->sheet.failed = w->cell.failed;
}

/* -------------------------------------------------------------------------------------------------- sheets
 */

static void add_header(writer *w) {
    if (!w->options.without_bom)
        conv_add_text(&w->sheet, BOM);
    for (size_t i = 0; i < w->columns.count; i++) {
        conv_clear(&w->cell);
        csv_column_header(&w->cell, &w->columns.list[i]);
        csv_put_cell(&w->sheet, conv_span(&w->cell), i == 0);
    }
    csv_end_row(&w->sheet);
}

static glassine_status begin_sheet(writer *w, glassine_record *const *records, size_t count, const char *file,
                                   glassine_error *error) {
    glassine_status status = conv_folder_begin(&w->folder, file, &w->sheet, error);
    if (status)
        return status;
    w->open = true;
    w->rows = 0;
    status = csv_columns_make(&w->columns, w->bundle, records, count, w->options.with_private, error);
    if (!status)
        add_header(w);
    return status;
}

static glassine_status end_sheet(writer *w, glassine_span type, const char *file, glassine_error *error) {
    bool authored = w->columns.count > 1 && w->columns.list[1 + w->options.with_private].kind == CSV_AUTHOR;
    w->open = false;
    csv_about_sheet(&w->about, file, &w->columns, authored);
    glassine_node *row = glassine_node_object(w->sheets, NULL, NULL);
    glassine_node_string(row, "file", "File", file);
    glassine_node_text(row, "type", "Type", type);
    glassine_node_integer(row, "records", "Records", w->rows);
    glassine_node_integer(row, "columns", "Columns", (int64_t)w->columns.count);
    csv_columns_free(&w->columns);
    return conv_folder_end(&w->folder, &w->sheet, error);
}

/* Records of one type; no sheet where none of them is shown. */
static glassine_status write_sheet(writer *w, glassine_record *const *records, size_t count,
                                   glassine_error *error) {
    glassine_span type = glassine_record_type(w->bundle, records[0]);
    char file[128];
    snprintf(file, sizeof file, "%.*s.csv", (int)type.length, type.text);
    for (size_t i = 0; i < count && !w->sheet.failed; i++) {
        bool shown;
        glassine_status status = conv_cautions_look(&w->about.cautions, &w->view, records[i], error);
        if (!status)
            status = conv_view_look(&w->view, records[i], &shown, error);
        if (!status && shown && !w->open)
            status = begin_sheet(w, records, count, file, error);
        if (status)
            return status;
        if (shown)
            add_row(w);
    }
    return w->open ? end_sheet(w, type, file, error) : GLASSINE_OK;
}

static glassine_status write_sheets(writer *w, glassine_error *error) {
    for (size_t from = 0, to; from < w->count; from = to) {
        glassine_span type = glassine_record_type(w->bundle, w->records[from]);
        to = from + 1;
        while (to < w->count && conv_equal(glassine_record_type(w->bundle, w->records[to]), type))
            to++;
        glassine_status status = write_sheet(w, w->records + from, to - from, error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

static glassine_status collect_records(writer *w, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(w->bundle, NULL, true, &cursor, error);
    if (status)
        return status;
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));) {
        if (!w->options.with_aside && glassine_record_set_aside(w->bundle, record)) {
            w->aside++;
            continue;
        }
        glassine_record **grown = conv_grow(w->records, &w->room, w->count + 1, sizeof *grown);
        if (!grown) {
            status = conv_fail_system(error, ENOMEM, NULL, "Cannot list the records");
            break;
        }
        w->records = grown;
        grown[w->count++] = record;
    }
    glassine_cursor_free(cursor);
    return status;
}

static glassine_status write_about(writer *w, glassine_error *error) {
    conv_output out;
    glassine_status status = conv_folder_begin(&w->folder, "read-me.txt", &out, error);
    if (status)
        return status;
    csv_about_read_me(&out, &w->about);
    status = conv_folder_end(&w->folder, &out, error);
    if (!status)
        status = conv_folder_begin(&w->folder, "csv-metadata.json", &out, error);
    if (status)
        return status;
    csv_about_metadata(&out, &w->about);
    if (w->about.tables.failed)
        out.failed = w->about.tables.failed;
    return conv_folder_end(&w->folder, &out, error);
}

/* ------------------------------------------------------------------------------------------------ report */

static void start_report(writer *w, const char *folder) {
    glassine_node *result = glassine_report_result(w->report);
    glassine_node_string(result, "folder", "Folder", folder);
    glassine_node_truth(result, "private", w->options.with_private ? "With private fields" : NULL,
                        w->options.with_private);
    w->sheets = glassine_node_table(result, "sheets", "Sheets");
}

static void report_findings(writer *w, const char *folder) {
    if (w->options.with_private)
        glassine_report_finding(w->report, GLASSINE_WARNING, NULL, folder, "Do not pass them on",
                                "the sheets hold private fields");
    if (w->contested)
        glassine_report_finding(w->report, GLASSINE_NOTE, NULL, folder, NULL,
                                "%zu contested cells show all their values", w->contested);
    if (w->aside)
        glassine_report_finding(w->report, GLASSINE_NOTE, NULL, folder, NULL,
                                "%zu records that are set aside were left out", w->aside);
    if (w->long_cells)
        glassine_report_finding(w->report, GLASSINE_WARNING, NULL, folder,
                                "Do not save these sheets from one",
                                "%zu cells are longer than the %d characters that spreadsheet programs keep",
                                w->long_cells, CSV_CELL_MOST);
    for (size_t i = 0; i < w->about.cautions.count; i++)
        glassine_report_finding(w->report, GLASSINE_NOTE, NULL, NULL, NULL, "%s", w->about.cautions.text[i]);
}

static glassine_status write_all(writer *w, glassine_error *error) {
    glassine_status status = collect_records(w, error);
    if (!status)
        status = write_sheets(w, error);
    if (!status)
        status = write_about(w, error);
    return status ? status : conv_folder_keep(&w->folder, error);
}

glassine_status glassine_to_csv(glassine_bundle *bundle, const char *folder,
                                const glassine_csv_options *options, glassine_report *report,
                                glassine_error *error) {
    writer w = {.bundle = bundle, .report = report};
    if (options)
        w.options = *options;
    w.view = (conv_view){.bundle = bundle, .with_private = w.options.with_private};
    w.about = (csv_about){.bundle = bundle, .with_private = w.options.with_private};
    glassine_status status = conv_folder_open(&w.folder, folder, error);
    if (status)
        return status;
    start_report(&w, folder);
    status = write_all(&w, error);
    if (!status)
        report_findings(&w, folder);
    conv_folder_close(&w.folder);
    conv_view_free(&w.view);
    csv_columns_free(&w.columns);
    conv_free(&w.sheet);
    conv_free(&w.cell);
    conv_free(&w.about.tables);
    free(w.records);
    return status;
}
