/* What a row says: statements gathered until they are handed to the draft, with the text behind them. */
#ifndef CONVERTERS_STATEMENTS_H
#define CONVERTERS_STATEMENTS_H

#include "output.h"

typedef struct statements {
    glassine_statement *list;
    size_t *columns; /* of the sheet, that each came from */
    size_t count, room, columns_room;
    char **texts; /* behind the statements, NUL-ended */
    size_t text_count, text_room;
} statements;

void statements_free(statements *row);
void statements_clear(statements *row);

/* Text that lives until the row is cleared; NULL when memory ran out. */
const char *statements_keep(statements *row, glassine_span text);
/* False when memory ran out. */
bool statements_add(statements *row, glassine_statement statement, size_t column);

/* The statement that a refusal of the library is about: its place begins with the field's name. SIZE_MAX:
 * none. */
size_t statements_find(const statements *row, const glassine_error *wrong);

/* The cell of a sheet that to-csv wrote, or that a person filled in there, as a statement on the field: what
 * the page spec/csv.md calls reading. Nothing is added for a cell that shows several people's values and was
 * left alone. */
bool statements_add_cell(statements *row, glassine_span cell, glassine_span name,
                         const glassine_field_info *info, const char *reach, size_t column);

#endif
