/* Sheets of other programs, by a map. */
#ifndef CONVERTERS_FOREIGN_IN_H
#define CONVERTERS_FOREIGN_IN_H

#include "take.h"
#include "xlsx_in.h"

/* By `t->options.map`. */
glassine_status foreign_csv(taking *t, const char *path, glassine_error *error);
glassine_status foreign_book(taking *t, const xlsx_book *book, glassine_error *error);

/* "It has not the headers …": what to do with a sheet that is none of ours. */
glassine_status foreign_refuse(const char *place, glassine_error *error);

#endif
