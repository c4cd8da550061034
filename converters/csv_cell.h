/* Cells of a sheet: what a value looks like in one (spec/csv.md). */
#ifndef CONVERTERS_CSV_CELL_H
#define CONVERTERS_CSV_CELL_H

#include "output.h"
#include "view.h"

/* A spreadsheet program cuts what is longer. */
#define CSV_CELL_MOST 32767

/* The text of a field's cell: its value, or all of them where it is contested. */
void csv_cell_field(conv_output *out, glassine_bundle *bundle, const glassine_field *field);
/* Any other text, made harmless in the same way. */
void csv_cell_text(conv_output *out, glassine_span text);
/* One more element of a list in a cell: "a; b". */
void csv_cell_element(conv_output *list, glassine_span element);

/* Writes a cell's text into a sheet, between quotes where RFC 4180 wants them; a comma before it unless
 * `first`. */
void csv_put_cell(conv_output *sheet, glassine_span text, bool first);
void csv_end_row(conv_output *sheet);

#endif
