/* Reading CSV: as RFC 4180 has it, and kind to what programs write beyond it. */
#ifndef CONVERTERS_CSV_GET_H
#define CONVERTERS_CSV_GET_H

#include "grid.h"

/* How a file is to be read; what is NULL or 0 is found out. */
typedef struct csv_reading {
    const char *encoding;
    char delimiter; /* ',' ';' '\t' '|' */
} csv_reading;

/* Reads a whole file. Refused, with line and column: a quote that is never closed, text behind a closing
 * quote, NUL bytes, bytes that are not of the encoding, and what is beyond the bounds of grid.h. */
glassine_status csv_get(const char *path, const csv_reading *how, grid *sheet, glassine_error *error);

/* The whole file as it is, at most GRID_FILE_MOST bytes, appended. */
glassine_status file_get(const char *path, conv_output *out, glassine_error *error);

/* Which of ',' ';' '\t' '|' parts the cells: the one by which most rows of the beginning have the same number
 * of cells, and then the one that makes most cells. */
char csv_find_delimiter(glassine_span text);

/* Takes the text apart, in place; it begins at `line` of the file. */
glassine_status csv_parse(grid *sheet, char *text, size_t length, uint64_t line, glassine_error *error);

#endif
