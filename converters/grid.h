/* A sheet as it was read: rows of cells, of whatever file they came from. */
#ifndef CONVERTERS_GRID_H
#define CONVERTERS_GRID_H

#include "output.h"

/* Bounds on what is read: a sheet may come from anyone. */
#define GRID_FILE_MOST ((size_t)1 << 29)   /* bytes of a file */
#define GRID_CELLS_MOST ((size_t)50000000) /* a million rows of fifty */
#define GRID_COLUMNS_MOST 16384            /* what spreadsheet programs have */

typedef struct grid_cell {
    const char *text; /* UTF-8, not NUL-ended */
    uint32_t length;
    uint8_t kind;
} grid_cell;

enum {
    GRID_TEXT,
    GRID_NUMBER, /* of a workbook: its point is a decimal point */
    GRID_DATE,   /* of a workbook: YYYY-MM-DD */
    GRID_WRONG   /* of a workbook: #N/A and the like */
};

typedef struct grid_row {
    size_t first;   /* of its cells */
    uint32_t count; /* rows need not be of one length */
    uint64_t line;  /* where it begins, from 1 */
} grid_row;

typedef struct grid {
    char *place;          /* what messages call it: the file's path, and the sheet's name in a workbook */
    char *name;           /* the file's or the sheet's own name, without folder and ending */
    const char *encoding; /* "UTF-8" …: as it was found; static text, NULL in a workbook */
    char delimiter;       /* 0 in a workbook */
    char *text;           /* behind the cells; of a workbook, those that are not shared */
    grid_cell *cells;
    grid_row *rows;
    size_t cell_count, cell_room, row_count, row_room;
} grid;

void grid_free(grid *sheet);
/* `path` is what place and name are made of; `part` a sheet's own name, or NULL. */
bool grid_name(grid *sheet, const char *path, const char *part);

/* False when memory ran out. */
bool grid_add_row(grid *sheet, uint64_t line);
bool grid_add_cell(grid *sheet, grid_cell cell); /* to the last row */

static inline glassine_span grid_at(const grid *sheet, const grid_row *row, size_t column) {
    if (column >= row->count)
        return (glassine_span){"", 0};
    const grid_cell *cell = &sheet->cells[row->first + column];
    return (glassine_span){cell->text, cell->length};
}
static inline int grid_kind(const grid *sheet, const grid_row *row, size_t column) {
    return column < row->count ? sheet->cells[row->first + column].kind : GRID_TEXT;
}
/* Nothing but white space in it. */
bool grid_is_blank(const grid *sheet, const grid_row *row);

/* "sorrel.csv: line 12, column 4 (kind)"; column counted from 0, SIZE_MAX: none; header may be empty. */
void grid_say_place(conv_output *out, const grid *sheet, uint64_t line, size_t column, glassine_span header);

#endif
