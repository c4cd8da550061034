/* A bundle as sheets: spec/csv.md. */
#include <stdio.h>

#include "converters.h"
#include "csv_about.h"
#include "csv_put.h"
#include "flat.h"
#include "folder.h"
#include "tables.h"

typedef struct writer {
    glassine_csv_options options;
    glassine_report *report;
    glassine_node *sheets; /* of the report */
    conv_folder folder;
    csv_about about;
    flat *table; /* the flat one; else NULL */
    size_t long_cells;
    conv_output sheet, cell;
    char file[128];
} writer;

/* ------------------------------------------------------------------------------------------------- sheets */

static glassine_status begin_file(writer *w, glassine_error *error) {
    glassine_status status = conv_folder_begin(&w->folder, w->file, &w->sheet, error);
    if (!status && !w->options.without_bom)
        conv_add_text(&w->sheet, CSV_BOM);
    return status;
}

static void put_cell(writer *w, size_t column) {
    w->long_cells += w->cell.length > CELL_MOST;
    csv_put_cell(&w->sheet, conv_span(&w->cell), column == 0);
}

static glassine_status end_file(writer *w, const tables *walk, size_t columns, glassine_error *error) {
    glassine_node *row = glassine_node_object(w->sheets, NULL, NULL);
    glassine_node_string(row, "file", "File", w->file);
    glassine_node_text(row, "type", "Type", walk->type);
    glassine_node_integer(row, "records", "Records", (int64_t)walk->rows);
    glassine_node_integer(row, "columns", "Columns", (int64_t)columns);
    if (w->cell.failed)
        w->sheet.failed = w->cell.failed;
    return conv_folder_end(&w->folder, &w->sheet, error);
}

static glassine_status begin(void *context, const tables *walk, glassine_error *error) {
    writer *w = context;
    snprintf(w->file, sizeof w->file, "%.*s.csv", (int)walk->type.length, walk->type.text);
    glassine_status status = begin_file(w, error);
    if (status)
        return status;
    for (size_t i = 0; i < walk->columns.count; i++) {
        conv_clear(&w->cell);
        table_column_header(&w->cell, &walk->columns.list[i]);
        csv_put_cell(&w->sheet, conv_span(&w->cell), i == 0);
    }
    csv_end_row(&w->sheet);
    return GLASSINE_OK;
}

/* What cannot be written any more is told when the sheet ends. */
static glassine_status add_row(void *context, tables *walk, glassine_error *error) {
    writer *w = context;
    (void)error;
    for (size_t i = 0; i < walk->columns.count; i++) {
        const table_column *column = &walk->columns.list[i];
        conv_clear(&w->cell);
        if (column->kind == TABLE_CONTESTED)
            tables_contested(&walk->view, &walk->columns, &w->cell);
        else
            tables_cell(&walk->view, column, &w->cell);
        put_cell(w, i);
    }
    csv_end_row(&w->sheet);
    return GLASSINE_OK;
}

static glassine_status end(void *context, const tables *walk, glassine_error *error) {
    writer *w = context;
    csv_about_sheet(&w->about, w->file, &walk->columns, walk->authored);
    return end_file(w, walk, walk->columns.count, error);
}

/* ----------------------------------------------------------------------------------------- the flat table */

static glassine_status begin_flat(void *context, const tables *walk, glassine_error *error) {
    writer *w = context;
    (void)walk;
    snprintf(w->file, sizeof w->file, "items.csv");
    glassine_status status = begin_file(w, error);
    if (status)
        return status;
    csv_about_begin(&w->about, w->file);
    for (size_t i = 0; i < flat_columns(w->table); i++) {
        const char *header = flat_header(w->table, i);
        csv_about_column(&w->about, header, flat_help(w->table, i), strcmp(header, "id") == 0);
        csv_put_cell(&w->sheet, conv_span_of(header), i == 0);
    }
    csv_about_end(&w->about, "\"id\"");
    csv_end_row(&w->sheet);
    return GLASSINE_OK;
}

static glassine_status add_flat_row(void *context, tables *walk, glassine_error *error) {
    writer *w = context;
    glassine_status status = flat_look(w->table, walk, error);
    for (size_t i = 0; i < flat_columns(w->table) && !status; i++) {
        conv_clear(&w->cell);
        status = flat_cell(w->table, walk, i, &w->cell, error);
        put_cell(w, i);
    }
    csv_end_row(&w->sheet);
    return status;
}

static glassine_status end_flat(void *context, const tables *walk, glassine_error *error) {
    writer *w = context;
    return end_file(w, walk, flat_columns(w->table), error);
}

/* -------------------------------------------------------------------------------------- what goes with it */

static glassine_status write_about(writer *w, glassine_error *error) {
    conv_output out;
    glassine_status status =
        conv_signers_find(w->about.bundle, w->about.with_private, &w->about.signers, error);
    if (!status)
        status = conv_folder_begin(&w->folder, "read-me.txt", &out, error);
    if (!status)
        csv_about_read_me(&out, &w->about);
    conv_signers_free(&w->about.signers);
    if (status)
        return status;
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

static void start_report(writer *w, const char *folder) {
    glassine_node *result = glassine_report_result(w->report);
    glassine_node_string(result, "folder", "Folder", folder);
    glassine_node_truth(result, "private", w->options.with_private ? "With private fields" : NULL,
                        w->options.with_private);
    w->sheets = glassine_node_table(result, "sheets", "Sheets");
}

static void report_findings(const writer *w, const tables *walk, const char *folder) {
    if (w->options.with_private)
        glassine_report_finding(w->report, GLASSINE_WARNING, NULL, folder, "Do not pass them on",
                                "the sheets hold private fields");
    if (w->long_cells)
        glassine_report_finding(
            w->report, GLASSINE_WARNING, NULL, folder, "Do not save these sheets from one",
            w->long_cells == 1 ? "%zu cell is longer than the %d characters that spreadsheet programs keep"
                               : "%zu cells are longer than the %d characters that spreadsheet programs keep",
            w->long_cells, CELL_MOST);
    tables_tell(walk, w->report, folder);
}

static glassine_status write_all(writer *w, tables *walk, glassine_error *error) {
    const tables_sink sheets = {w, begin, add_row, end}, table = {w, begin_flat, add_flat_row, end_flat};
    glassine_status status = GLASSINE_OK;
    if (w->options.flat) {
        walk->only = "item";
        walk->without_columns = true;
        status = flat_new(walk->bundle, w->options.with_private, w->report, &w->table, error);
    }
    if (!status)
        status = tables_walk(walk, w->options.flat ? &table : &sheets, error);
    w->about.cautions = walk->cautions;
    if (!status)
        status = write_about(w, error);
    return status ? status : conv_folder_keep(&w->folder, error);
}

glassine_status glassine_to_csv(glassine_bundle *bundle, const char *folder,
                                const glassine_csv_options *options, glassine_report *report,
                                glassine_error *error) {
    writer w = {.report = report};
    if (options)
        w.options = *options;
    w.about = (csv_about){.bundle = bundle, .with_private = w.options.with_private, .flat = w.options.flat};
    glassine_status status = conv_folder_open(&w.folder, folder, error);
    if (status)
        return status;
    tables walk;
    tables_new(&walk, bundle, w.options.with_private, w.options.with_aside);
    start_report(&w, folder);
    status = write_all(&w, &walk, error);
    if (!status)
        report_findings(&w, &walk, folder);
    conv_folder_close(&w.folder);
    tables_free(&walk);
    flat_free(w.table);
    conv_free(&w.sheet);
    conv_free(&w.cell);
    conv_free(&w.about.tables);
    return status;
}
