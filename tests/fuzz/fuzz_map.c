/* The map of a foreign sheet, and behind a NUL byte the sheet: each cell is read as the map says. */
#include "fuzz.h"

#include "csv_get.h"
#include "map.h"

static void read_cells(const map *by, const grid *sheet) {
    conv_output typed = {0};
    for (size_t row = 0; row < sheet->row_count; row++)
        for (size_t i = 0; i < by->count; i++) {
            const map_column *column = &by->columns[i];
            conv_clear(&typed);
            map_cell(column, grid_at(sheet, &sheet->rows[row], column->column),
                     grid_kind(sheet, &sheet->rows[row], column->column), &typed);
        }
    conv_free(&typed);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const uint8_t *zero = size ? memchr(data, 0, size) : NULL;
    size_t length = zero ? (size_t)(zero - data) : size;
    map by;
    grid sheet = {0};
    glassine_error error = {0};
    glassine_report *report = glassine_report_new("from-csv");
    FUZZ_HOLDS(report != NULL);
    glassine_status status = map_read(fuzz_file("a.map.csv", fuzz_span(data, length)), &by, report, &error);
    fuzz_said(status, &error);
    if (!status && zero) {
        const csv_reading how = {by.encoding, by.delimiter};
        status = csv_get(fuzz_file("a.csv", fuzz_span(zero + 1, size - length - 1)), &how, &sheet, &error);
        if (!status)
            read_cells(&by, &sheet);
    }
    grid_free(&sheet);
    map_free(&by);
    glassine_report_free(report);
    return 0;
}
