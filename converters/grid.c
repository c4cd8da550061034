#include "grid.h"

#include <inttypes.h>
#include <stdlib.h>

#include "spaces.h"

void grid_free(grid *sheet) {
    free(sheet->place);
    free(sheet->name);
    free(sheet->text);
    free(sheet->cells);
    free(sheet->rows);
    *sheet = (grid){0};
}

bool grid_name(grid *sheet, const char *path, const char *part) {
    conv_output place = {0}, name = {0};
    conv_add_text(&place, path);
    if (part)
        conv_printf(&place, ": sheet %s", part);
    const char *slash = strrchr(path, '/');
    const char *own = part ? part : slash ? slash + 1 : path;
    const char *dot = part ? NULL : strrchr(own, '.');
    conv_add(&name, (glassine_span){own, dot && dot > own ? (size_t)(dot - own) : strlen(own)});
    sheet->place = place.text;
    sheet->name = name.text;
    return !place.failed && !name.failed;
}

bool grid_add_row(grid *sheet, uint64_t line) {
    grid_row *grown = conv_grow(sheet->rows, &sheet->row_room, sheet->row_count + 1, sizeof *grown);
    if (!grown)
        return false;
    sheet->rows = grown;
    grown[sheet->row_count++] = (grid_row){.first = sheet->cell_count, .line = line};
    return true;
}

bool grid_add_cell(grid *sheet, grid_cell cell) {
    grid_cell *grown = conv_grow(sheet->cells, &sheet->cell_room, sheet->cell_count + 1, sizeof *grown);
    if (!grown)
        return false;
    sheet->cells = grown;
    grown[sheet->cell_count++] = cell;
    sheet->rows[sheet->row_count - 1].count++;
    return true;
}

bool grid_is_blank(const grid *sheet, const grid_row *row) {
    for (size_t i = 0; i < row->count; i++) {
        if (spaces_trim(grid_at(sheet, row, i)).length)
            return false;
    }
    return true;
}

void grid_say_place(conv_output *out, const grid *sheet, uint64_t line, size_t column, glassine_span header) {
    conv_printf(out, "%s: %s %" PRIu64, sheet->place, sheet->delimiter ? "line" : "row", line);
    if (column == SIZE_MAX)
        return;
    conv_printf(out, ", column %zu", column + 1);
    if (header.length)
        conv_printf(out, " (%.*s)", (int)(header.length < 60 ? header.length : 60), header.text);
}
