/* Reading a workbook: its sheets as grids, whatever program wrote it. */
#ifndef CONVERTERS_XLSX_IN_H
#define CONVERTERS_XLSX_IN_H

#include "grid.h"

typedef struct xlsx_strings {
    char *text;
    size_t *starts; /* of each string, and where the last one ends */
    size_t count, room;
} xlsx_strings;

typedef struct xlsx_part {
    char *name, *relation, *member; /* "item", "rId1", "xl/worksheets/sheet1.xml" */
} xlsx_part;

typedef struct xlsx_book {
    const char *path;
    bool from_1904;   /* days are counted from 1904-01-01 */
    bool *date_style; /* by the number of a cell's style */
    size_t style_count, style_room;
    xlsx_strings strings;
    xlsx_part *parts;
    size_t part_count, part_room;
    grid *sheets; /* in the workbook's order */
} xlsx_book;

/* Refused where it is no workbook, or beyond the bounds of grid.h and zip_in.h, or its XML has a DOCTYPE, as
 * no workbook has. `xlsx_free` is due whatever happens. */
glassine_status xlsx_get(const char *path, xlsx_book *book, glassine_error *error);
void xlsx_free(xlsx_book *book);

/* A number as a workbook keeps it ("1.2E3"), as people write it ("1200"), with fifteen digits at most, which
 * is what a double has for sure. False: it is none. */
bool xlsx_number(glassine_span kept, conv_output *out);
/* A day counted in a workbook, as YYYY-MM-DD; with a time behind it where there is one. */
bool xlsx_day(glassine_span kept, bool from_1904, conv_output *out);
/* Is the number format that of a date? By its code (ECMA-376 part 1, 18.8.30, 18.8.31). */
bool xlsx_is_date_format(unsigned number, const char *code);

#endif
