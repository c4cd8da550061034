/* Cells of a workbook, each of the type that spreadsheet programs calculate with. */
#include "units.h"
#include "xlsx_out.h"

#define FIRST_DATE "1900-03-01" /* programs disagree on the days before: some hold 1900 to be a leap year */

void xlsx_note(xlsx_out *out, lxw_error error) {
    if (error && !out->failed)
        out->failed = error;
}

/* ------------------------------------------------------------------------------------------------ text */

static bool is_hex(char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}

/* "_x0041_" stands for a character in a workbook's texts (ECMA-376 part 1, 22.4.2.4, ST_Xstring). */
static bool looks_escaped(glassine_span text, size_t at) {
    if (text.length - at < 7 || text.text[at] != '_' || text.text[at + 1] != 'x' || text.text[at + 6] != '_')
        return false;
    for (size_t i = 2; i < 6; i++) {
        if (!is_hex(text.text[at + i]))
            return false;
    }
    return true;
}

/* U+FFFE and U+FFFF are characters to UTF-8 and none to XML. */
static const char *no_xml(glassine_span text, size_t at) {
    if (text.length - at < 3 || memcmp(text.text + at, "\xef\xbf", 2) != 0)
        return NULL;
    unsigned char last = (unsigned char)text.text[at + 2];
    return last == 0xbe ? "_xFFFE_" : last == 0xbf ? "_xFFFF_" : NULL;
}

static void add_fit(conv_output *out, glassine_span text) {
    for (size_t i = 0; i < text.length; i++) {
        const char *escaped = no_xml(text, i);
        if (escaped) {
            conv_add_text(out, escaped);
            i += 2;
            continue;
        }
        if (looks_escaped(text, i))
            conv_add_text(out, "_x005F");
        conv_add_char(out, text.text[i]);
    }
}

void xlsx_text(xlsx_out *out, lxw_worksheet *sheet, size_t row, size_t column, glassine_span text,
               lxw_format *format) {
    if (!text.length || !sheet)
        return;
    conv_clear(&out->told);
    add_fit(&out->told, text);
    if (out->told.failed) {
        xlsx_note(out, LXW_ERROR_MEMORY_MALLOC_FAILED);
        return;
    }
    lxw_error error =
        libxlsx.worksheet_write_string(sheet, (lxw_row_t)row, (lxw_col_t)column, out->told.text, format);
    if (error == LXW_ERROR_MAX_STRING_LENGTH_EXCEEDED) {
        out->long_cells++;
        error =
            libxlsx.worksheet_write_string(sheet, (lxw_row_t)row, (lxw_col_t)column, CELL_LEFT_OUT, format);
    }
    xlsx_note(out, error);
}

void xlsx_line(xlsx_out *out, lxw_worksheet *sheet, size_t row, size_t column, const char *text,
               lxw_format *format) {
    xlsx_text(out, sheet, row, column, conv_span_of(text), format);
}

/* -------------------------------------------------------------------------------------------- real types */

static glassine_value one_value(const glassine_field *field) {
    return field && !field->contested ? field->sayings[0].value : (glassine_value){NULL, 0};
}

static bool write_number(xlsx_out *out, const table_column *column, glassine_value value, size_t row,
                         size_t at) {
    int64_t number;
    if (column->info->kind != GLASSINE_INTEGER || !glassine_value_integer(value, &number) ||
        value.length > CELL_DIGITS_KEPT)
        return false;
    xlsx_note(out, libxlsx.worksheet_write_number(out->sheet, (lxw_row_t)row, (lxw_col_t)at, (double)number,
                                                  out->plain));
    return true;
}

static int digits(const char *text, size_t count) {
    int number = 0;
    for (size_t i = 0; i < count; i++) {
        if (text[i] < '0' || text[i] > '9')
            return -1;
        number = number * 10 + (text[i] - '0');
    }
    return number;
}

/* A whole day that every program can count from its first. */
static bool read_day(glassine_span text, lxw_datetime *day) {
    if (text.length != 10 || text.text[4] != '-' || text.text[7] != '-')
        return false;
    *day = (lxw_datetime){
        .year = digits(text.text, 4), .month = digits(text.text + 5, 2), .day = digits(text.text + 8, 2)};
    return day->year >= 0 && day->month > 0 && day->day > 0 && memcmp(text.text, FIRST_DATE, 10) >= 0;
}

static bool write_date(xlsx_out *out, const table_column *column, glassine_value value, size_t row,
                       size_t at) {
    lxw_datetime day;
    if (column->info->kind != GLASSINE_DATE || value.text[0] != '"' ||
        !read_day(glassine_value_text(out->bundle, value), &day))
        return false;
    xlsx_note(out,
              libxlsx.worksheet_write_datetime(out->sheet, (lxw_row_t)row, (lxw_col_t)at, &day, out->date));
    return true;
}

/* What the column before has in hundredths, as a number. */
static bool write_hundredths(xlsx_out *out, const table_column *column, glassine_value value, size_t row,
                             size_t at) {
    int64_t number;
    if (!units_are_hundredths(column->info) || !glassine_value_integer(value, &number))
        return false;
    xlsx_note(out, libxlsx.worksheet_write_number(out->sheet, (lxw_row_t)row, (lxw_col_t)at,
                                                  (double)number / 100.0, out->hundredths));
    return true;
}

void xlsx_cell(xlsx_out *out, const tables *walk, const table_column *column, size_t row, size_t at) {
    glassine_value value = one_value(tables_field(&walk->view, column));
    bool field = column->kind == TABLE_FIELD && column->info && value.text;
    if (field && (write_number(out, column, value, row, at) || write_date(out, column, value, row, at)))
        return;
    if (column->kind == TABLE_LABEL && value.text && write_hundredths(out, column, value, row, at))
        return;
    conv_clear(&out->text);
    if (column->kind == TABLE_CONTESTED)
        tables_contested(&walk->view, &walk->columns, &out->text);
    else
        tables_cell(&walk->view, column, &out->text);
    bool for_people = column->kind == TABLE_FIELD || column->kind == TABLE_LABEL;
    xlsx_text(out, out->sheet, row, at,
              for_people ? cell_without_need(conv_span(&out->text)) : conv_span(&out->text),
              for_people ? out->plain : out->quiet);
}

double xlsx_width(const table_column *column) {
    switch (column->kind) {
    case TABLE_ID:
    case TABLE_VERSION:
    case TABLE_AUTHOR:
        return 10;
    case TABLE_FIELD:
        break;
    default:
        return 16;
    }
    glassine_kind kind = column->info ? column->info->kind : GLASSINE_TEXT;
    if (kind == GLASSINE_TEXT)
        return 22;
    return kind == GLASSINE_REF || kind == GLASSINE_REFS || kind == GLASSINE_HEX ? 10 : 13;
}
