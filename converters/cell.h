/* Cells of a sheet: what a value looks like in one (spec/csv.md). */
#ifndef CONVERTERS_CELL_H
#define CONVERTERS_CELL_H

#include "output.h"
#include "view.h"

/* A spreadsheet program cuts what is longer. */
#define CELL_MOST 32767

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

#endif
