/* Cells of a sheet: what a value looks like in one (spec/csv.md). */
#ifndef CONVERTERS_CELL_H
#define CONVERTERS_CELL_H

#include "output.h"
#include "view.h"

/* A spreadsheet program cuts what is longer. */
#define CELL_MOST 32767

/* Longer integers are more than a double holds, and spreadsheet programs count in doubles. */
#define CELL_DIGITS_KEPT 15
/* What stands in a workbook for a text that is longer. Reading leaves such a cell alone. */
#define CELL_LEFT_OUT "`left out: longer than a workbook's cell may be"

/* The text of a field's cell: its value, or all of them where it is contested. */
void cell_field(conv_output *out, glassine_bundle *bundle, const glassine_field *field);
/* Any other text, made harmless in the same way. */
void cell_text(conv_output *out, glassine_span text);
/* One more element of a list in a cell: "a; b". */
void cell_element(conv_output *list, glassine_span element);

/* Reading. A cell that shows several people's values, and was left alone. */
bool cell_is_contested(glassine_span cell);
/* Canonical JSON that stands in a cell. */
bool cell_is_json(glassine_span cell, glassine_span *json);
/* Without the one mark at its beginning. */
glassine_span cell_unmarked(glassine_span cell);
/* The same cell where a program keeps texts as texts: without a mark that nothing but such programs asks for.
 * It reads as the same value. */
glassine_span cell_without_need(glassine_span cell);
bool cell_is_left_out(glassine_span cell);

#endif
