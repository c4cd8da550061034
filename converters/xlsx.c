/* A bundle as a workbook: spec/xlsx.md. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>

#include "folder.h"
#include "xlsx_out.h"

#define ROWS_TO_FILL_IN 1000 /* below the last one, that have the lists of choices too */
#define LIST_MOST 255        /* characters of a drop-down list within its cell's rule */

CONV_LATE_DEFINE(libxlsx, XLSX_CALLS, GLASSINE_LATE_XLSXWRITER, "workbooks cannot be written");

/* ----------------------------------------------------------------------------------------------- workbook */

static lxw_format *format(xlsx_out *out) {
    return libxlsx.workbook_add_format(out->book);
}

bool xlsx_formats(xlsx_out *out) {
    lxw_format **all[] = {&out->title, &out->header,     &out->quiet,   &out->plain,
                          &out->date,  &out->hundredths, &out->wrapped, &out->warning};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        *all[i] = format(out);
        if (!*all[i])
            return false;
        libxlsx.format_set_align(*all[i], LXW_ALIGN_VERTICAL_TOP);
    }
    libxlsx.format_set_bold(out->title);
    libxlsx.format_set_font_size(out->title, 14);
    libxlsx.format_set_bold(out->header);
    libxlsx.format_set_bottom(out->header, LXW_BORDER_THIN);
    libxlsx.format_set_font_color(out->quiet, 0x808080);
    libxlsx.format_set_num_format(out->date, "yyyy-mm-dd");
    libxlsx.format_set_num_format(out->hundredths, "0.00");
    libxlsx.format_set_text_wrap(out->wrapped);
    libxlsx.format_set_bold(out->warning);
    libxlsx.format_set_font_color(out->warning, 0xB00000);
    return true;
}

/* On paper it lies lengthwise. */
lxw_worksheet *xlsx_sheet(xlsx_out *out, const char *name) {
    lxw_worksheet *sheet = libxlsx.workbook_add_worksheet(out->book, name);
    if (!sheet) {
        xlsx_note(out, LXW_ERROR_SHEETNAME_ALREADY_USED);
        return NULL;
    }
    libxlsx.worksheet_set_landscape(sheet);
    return sheet;
}

/* The edition's time, so that the same bundle gives the same workbook. Where there is none, not 0 either, for which
 * libxlsxwriter takes the clock's. */
static time_t edition_time(glassine_bundle *bundle) {
    glassine_edition edition = glassine_bundle_edition_at(bundle, glassine_bundle_edition(bundle));
    struct tm time = {0};
    if (!edition.at.length || sscanf(edition.at.text, "%d-%d-%dT%d:%d:%d", &time.tm_year, &time.tm_mon,
                                     &time.tm_mday, &time.tm_hour, &time.tm_min, &time.tm_sec) != 6)
        return 1;
    /* Days since 1970 in the Gregorian calendar, years beginning in March. */
    long year = time.tm_year - (time.tm_mon <= 2), era = year / 400, of_era = year % 400;
    long of_year = (153 * (time.tm_mon + (time.tm_mon > 2 ? -3 : 9)) + 2) / 5 + time.tm_mday - 1;
    int64_t days = era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
    int64_t seconds = days * 86400 + time.tm_hour * 3600 + time.tm_min * 60 + time.tm_sec;
    return seconds ? (time_t)seconds : 1;
}

static void set_properties(xlsx_out *out) {
    lxw_doc_properties properties = {.title = (char *)glassine_bundle_title(out->bundle),
                                     .created = edition_time(out->bundle)};
    if (out->options.with_private)
        properties.comments = (char *)"PRIVATE: holds prices, storage places, addresses";
    xlsx_note(out, libxlsx.workbook_set_properties(out->book, &properties));
}

/* --------------------------------------------------------------------------------------------- pictures */

static bool has_pictures(const xlsx_out *out, const tables *walk) {
    return out->options.pictures && conv_is(walk->type, "item");
}

/* In an item's sheet the second column is the picture's. */
static size_t place(const xlsx_out *out, const tables *walk, size_t column) {
    return column + (column > 0 && has_pictures(out, walk));
}

/* ----------------------------------------------------------------------------------------------- tables */

static glassine_status begin(void *context, const tables *walk, glassine_error *error) {
    xlsx_out *out = context;
    char name[32];
    snprintf(name, sizeof name, "%.*s", (int)(walk->type.length < 31 ? walk->type.length : 31),
             walk->type.text);
    out->sheet = xlsx_sheet(out, name);
    if (!out->sheet)
        return conv_fail(error, GLASSINE_REFUSED, name, "Use to-csv",
                         "the workbook takes no sheet of this name");
    for (size_t i = 0; i < walk->columns.count; i++) {
        const table_column *column = &walk->columns.list[i];
        lxw_col_t at = (lxw_col_t)place(out, walk, i);
        conv_clear(&out->text);
        table_column_header(&out->text, column);
        xlsx_text(out, out->sheet, 0, at, conv_span(&out->text), out->header);
        xlsx_note(out, libxlsx.worksheet_set_column(out->sheet, at, at, xlsx_width(column), NULL));
    }
    if (has_pictures(out, walk)) {
        xlsx_line(out, out->sheet, 0, 1, "picture", out->header);
        xlsx_note(out, libxlsx.worksheet_set_column(out->sheet, 1, 1, XLSX_PICTURE_WIDE, NULL));
        /* Heights of single rows are forgotten when a picture's lower end is worked out. */
        libxlsx.worksheet_set_default_row(out->sheet, XLSX_PICTURE_HIGH, LXW_FALSE);
        xlsx_note(out, libxlsx.worksheet_set_row(out->sheet, 0, LXW_DEF_ROW_HEIGHT, NULL));
    }
    libxlsx.worksheet_freeze_panes(out->sheet, 1, 0);
    xlsx_note(out, libxlsx.worksheet_repeat_rows(out->sheet, 0, 0));
    return GLASSINE_OK;
}

static glassine_status add_row(void *context, tables *walk, glassine_error *error) {
    xlsx_out *out = context;
    if (walk->rows >= LXW_ROW_MAX)
        return conv_fail(error, GLASSINE_REFUSED, NULL, "Use to-csv",
                         "there are more records than a sheet has rows");
    for (size_t i = 0; i < walk->columns.count; i++)
        xlsx_cell(out, walk, &walk->columns.list[i], walk->rows, place(out, walk, i));
    if (has_pictures(out, walk))
        xlsx_picture(out, walk->view.record, walk->rows);
    return GLASSINE_OK;
}

/* A list to choose from, where it is short enough to stand in the cell's rule. */
static void add_choices(xlsx_out *out, const tables *walk, size_t index) {
    static const char *const truth[] = {"yes", "no", NULL};
    const table_column *column = &walk->columns.list[index];
    if (column->kind != TABLE_FIELD || !column->info)
        return;
    const char *const *choices = column->info->kind == GLASSINE_TRUTH    ? truth
                                 : column->info->kind == GLASSINE_CHOICE ? column->info->choices
                                                                         : NULL;
    size_t length = 0;
    for (size_t i = 0; choices && choices[i]; i++)
        length += strlen(choices[i]) + 1;
    if (!choices || length > LIST_MOST)
        return;
    lxw_data_validation rule = {.validate = LXW_VALIDATION_TYPE_LIST,
                                .value_list = (char **)(uintptr_t)choices,
                                .error_type = LXW_VALIDATION_ERROR_TYPE_WARNING,
                                .error_title = (char *)"Not one of the choices",
                                .error_message = (char *)"The sheet could not be taken in like this."};
    lxw_col_t at = (lxw_col_t)place(out, walk, index);
    size_t last = walk->rows + ROWS_TO_FILL_IN;
    xlsx_note(out,
              libxlsx.worksheet_data_validation_range(
                  out->sheet, 1, at, (lxw_row_t)(last < LXW_ROW_MAX ? last : LXW_ROW_MAX - 1), at, &rule));
}

static glassine_status end(void *context, const tables *walk, glassine_error *error) {
    xlsx_out *out = context;
    (void)error;
    size_t last = place(out, walk, walk->columns.count - 1);
    xlsx_note(out, libxlsx.worksheet_autofilter(out->sheet, 0, 0, (lxw_row_t)walk->rows, (lxw_col_t)last));
    for (size_t i = 0; i < walk->columns.count; i++)
        add_choices(out, walk, i);
    glassine_node *row = glassine_node_object(out->sheets, NULL, NULL);
    glassine_node_text(row, "sheet", "Sheet", walk->type);
    glassine_node_integer(row, "records", "Records", (int64_t)walk->rows);
    glassine_node_integer(row, "columns", "Columns", (int64_t)walk->columns.count);
    return GLASSINE_OK;
}

/* ----------------------------------------------------------------------------------------------- report */

static void report_findings(const xlsx_out *out, const tables *walk, const char *path) {
    if (out->options.with_private)
        glassine_report_finding(out->report, GLASSINE_WARNING, NULL, path, "Do not pass it on",
                                "the workbook holds private fields");
    if (out->long_cells)
        glassine_report_finding(
            out->report, GLASSINE_WARNING, NULL, path,
            out->long_cells == 1 ? "to-csv and to-json hold it" : "to-csv and to-json hold them",
            out->long_cells == 1
                ? "%zu text is longer than the %d characters that a workbook's cell may hold, "
                  "and was left out"
                : "%zu texts are longer than the %d characters that a workbook's cell may hold, "
                  "and were left out",
            out->long_cells, CELL_MOST);
    if (out->pictures_failed)
        glassine_report_finding(out->report, GLASSINE_NOTE, NULL, path, NULL,
                                out->pictures_failed == 1
                                    ? "%zu scan is of a kind that no picture was made of"
                                    : "%zu scans are of a kind that no picture was made of",
                                out->pictures_failed);
    tables_tell(walk, out->report, path);
}

static glassine_status fill(xlsx_out *out, tables *walk, glassine_error *error) {
    const tables_sink sink = {out, begin, add_row, end};
    out->about = xlsx_sheet(out, "About this bundle");
    glassine_status status = xlsx_charts(out, error);
    if (!status && out->options.with_private)
        status = xlsx_insurance(out, error);
    if (!status)
        status = tables_walk(walk, &sink, error);
    if (!status)
        xlsx_about(out, walk);
    return !status && glassine_bundle_failed(out->bundle)
               ? conv_fail_system(error, ENOMEM, NULL, "Cannot write the workbook")
               : status;
}

static glassine_status tell(glassine_error *error, const glassine_error *what) {
    if (error)
        *error = *what;
    return what->status;
}

/* Writes the book into the file `temporary`, which is there. */
static glassine_status write_book(xlsx_out *out, tables *walk, const char *temporary, const char *path,
                                  glassine_error *error) {
    lxw_workbook_options options = {.constant_memory = LXW_TRUE, .use_zip64 = LXW_TRUE};
    out->book = libxlsx.workbook_new_opt(temporary, &options);
    if (!out->book || !xlsx_formats(out))
        return conv_fail_system(error, ENOMEM, path, "Cannot write the workbook");
    set_properties(out);
    glassine_status status = fill(out, walk, error);
    lxw_error closed = libxlsx.workbook_close(out->book);
    if (status)
        return status;
    xlsx_note(out, closed);
    if (!out->failed)
        return GLASSINE_OK;
    if (out->picture.status)
        return tell(error, &out->picture);
    char message[200];
    snprintf(message, sizeof message, "Cannot write the workbook: %.120s", libxlsx.lxw_strerror(out->failed));
    return conv_fail(error, GLASSINE_SYSTEM, path, NULL, message);
}

/* "." of "OUT", "FOLDER" of "FOLDER/OUT". */
static char *folder_of(const char *path, const char **name) {
    const char *slash = strrchr(path, '/');
    *name = slash ? slash + 1 : path;
    char *folder = slash ? strndup(path, slash == path ? 1 : (size_t)(slash - path)) : strdup(".");
    return folder;
}

static glassine_status write_file(xlsx_out *out, tables *walk, const char *path, glassine_error *error) {
    struct stat found;
    const char *name, *temporary;
    glassine_status status = conv_late_load(&libxlsx_late, path, error);
    if (status)
        return status;
    if (lstat(path, &found) == 0)
        return conv_fail(error, GLASSINE_REFUSED, path, "Choose another name, or move it away",
                         "the file is there already");
    char *in = folder_of(path, &name);
    if (!in)
        return conv_fail_system(error, ENOMEM, path, "Cannot write the workbook");
    conv_folder folder = {.path = in};
    status = conv_folder_claim(&folder, name, &temporary, error);
    if (!status)
        status = write_book(out, walk, temporary, path, error);
    if (!status)
        status = conv_folder_settle(&folder, error);
    if (!status)
        status = conv_folder_keep(&folder, error);
    conv_folder_close(&folder);
    free(in);
    return status;
}

glassine_status glassine_to_xlsx(glassine_bundle *bundle, const char *path,
                                 const glassine_xlsx_options *options, glassine_report *report,
                                 glassine_error *error) {
    xlsx_out out = {.bundle = bundle, .report = report};
    if (options)
        out.options = *options;
    tables walk;
    tables_new(&walk, bundle, out.options.with_private, out.options.with_aside);
    glassine_node *result = glassine_report_result(report);
    glassine_node_string(result, "written", "Written", path);
    glassine_node_truth(result, "private", out.options.with_private ? "With private fields" : NULL,
                        out.options.with_private);
    out.sheets = glassine_node_table(result, "sheets", "Sheets");
    glassine_status status = write_file(&out, &walk, path, error);
    glassine_node_integer(result, "pictures", out.options.pictures ? "Pictures" : NULL,
                          (int64_t)out.pictures);
    if (!status)
        report_findings(&out, &walk, path);
    tables_free(&walk);
    conv_free(&out.text);
    conv_free(&out.told);
    return status;
}
