/* One table for people: a row for each item, with what belongs to it (spec/csv.md, "The flat table"). */
#ifndef CONVERTERS_FLAT_H
#define CONVERTERS_FLAT_H

#include "tables.h"

typedef struct flat flat;

/* `report` (may be NULL) is told where standings had to be left out. */
glassine_status flat_new(glassine_bundle *bundle, bool with_private, glassine_report *report, flat **out,
                         glassine_error *error);
void flat_free(flat *table);

size_t flat_columns(const flat *table);
const char *flat_header(const flat *table, size_t column);
const char *flat_help(const flat *table, size_t column); /* NULL: none */

/* Gathers what belongs to the item that the walk is at; then the row's cells can be had one by one. */
glassine_status flat_look(flat *table, tables *walk, glassine_error *error);
glassine_status flat_cell(flat *table, tables *walk, size_t column, conv_output *cell, glassine_error *error);

#endif
