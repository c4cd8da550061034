/* Inside to-xlsx: a workbook that is being written. */
#ifndef CONVERTERS_XLSX_OUT_H
#define CONVERTERS_XLSX_OUT_H

#include <xlsxwriter.h>

#include "converters.h"
#include "late.h"
#include "tables.h"

#define XLSX_CALLS(X)                                                                                        \
    X(format_set_align)                                                                                      \
    X(format_set_bg_color)                                                                                   \
    X(format_set_bold)                                                                                       \
    X(format_set_border)                                                                                     \
    X(format_set_bottom)                                                                                     \
    X(format_set_font_color)                                                                                 \
    X(format_set_font_size)                                                                                  \
    X(format_set_num_format)                                                                                 \
    X(format_set_text_wrap)                                                                                  \
    X(lxw_strerror)                                                                                          \
    X(workbook_add_format)                                                                                   \
    X(workbook_add_worksheet)                                                                                \
    X(workbook_close)                                                                                        \
    X(workbook_new_opt)                                                                                      \
    X(workbook_set_properties)                                                                               \
    X(worksheet_autofilter)                                                                                  \
    X(worksheet_data_validation_range)                                                                       \
    X(worksheet_fit_to_pages)                                                                                \
    X(worksheet_freeze_panes)                                                                                \
    X(worksheet_insert_image_buffer_opt)                                                                     \
    X(worksheet_repeat_rows)                                                                                 \
    X(worksheet_set_column)                                                                                  \
    X(worksheet_set_default_row)                                                                             \
    X(worksheet_set_landscape)                                                                               \
    X(worksheet_set_row)                                                                                     \
    X(worksheet_write_datetime)                                                                              \
    X(worksheet_write_formula_num)                                                                           \
    X(worksheet_write_number)                                                                                \
    X(worksheet_write_string)
CONV_LATE_DECLARE(libxlsx, XLSX_CALLS);

typedef struct xlsx_out {
    glassine_bundle *bundle;
    glassine_xlsx_options options;
    glassine_report *report;
    glassine_node *sheets; /* of the report */
    lxw_workbook *book;
    lxw_worksheet *about; /* the first one, filled last */
    lxw_worksheet *sheet; /* of the type in hand */
    lxw_format *title, *header, *quiet, *plain, *date, *hundredths, *wrapped, *warning;
    size_t long_cells, pictures, pictures_failed;
    conv_output text, told; /* scratch */
    lxw_error failed;       /* the first failure */
    glassine_error picture; /* the system's, that no picture could be made */
} xlsx_out;

/* Formats of the workbook; false when memory ran out. */
bool xlsx_formats(xlsx_out *out);
/* A new sheet; NULL, and `failed`, where it cannot be. Names hold no more than 31 characters and none of
 * []:*?/\. */
lxw_worksheet *xlsx_sheet(xlsx_out *out, const char *name);
/* Notes the first failure; what fails for the length of a text is no failure. */
void xlsx_note(xlsx_out *out, lxw_error error);

/* Text as it is, made fit for a workbook; nothing where it is empty. */
void xlsx_text(xlsx_out *out, lxw_worksheet *sheet, size_t row, size_t column, glassine_span text,
               lxw_format *format);
void xlsx_line(xlsx_out *out, lxw_worksheet *sheet, size_t row, size_t column, const char *text,
               lxw_format *format);
/* A cell of a table: number, date or text (spec/xlsx.md). */
void xlsx_cell(xlsx_out *out, const tables *walk, const table_column *column, size_t row, size_t at);
/* How wide a column is, in characters. */
double xlsx_width(const table_column *column);

/* xlsx_picture.c: the item's front, in the second column; rows and that column have room for it. */
#define XLSX_PICTURE_HIGH 60.0 /* points */
#define XLSX_PICTURE_WIDE 18.0 /* characters */
void xlsx_picture(xlsx_out *out, glassine_record *item, size_t row);
/* xlsx_chart.c: a sheet for each plate whose layout is settled. */
glassine_status xlsx_charts(xlsx_out *out, glassine_error *error);
/* xlsx_insurance.c: what is owned, where it is, for how much; totals by currency. */
glassine_status xlsx_insurance(xlsx_out *out, glassine_error *error);
/* xlsx_about.c: origin, edition, digest, cautions; filled in once the rest is there. */
void xlsx_about(xlsx_out *out, const tables *walk);

#endif
