/* The columns of a sheet of ours, as its header has them, in whatever order. */
#ifndef CONVERTERS_OWN_COLUMNS_H
#define CONVERTERS_OWN_COLUMNS_H

#include "columns.h"
#include "grid.h"

typedef struct own_column {
    table_column column; /* a column that is for reading, and has no kind of its own, is TABLE_CONTESTED */
    size_t label;        /* of a field: the column that shows it to people, SIZE_MAX for none */
} own_column;

typedef struct own_columns {
    own_column *list;
    size_t count;
    char type_name[64];
    const glassine_type_info *type;   /* NULL: not in the table */
    size_t id, version, author, kind; /* where they stand, SIZE_MAX for nowhere */
    bool with_private;                /* the sheet says that it was asked for */
} own_columns;

/* Does the first row have the headers `id` and `version`? */
bool own_columns_fit(const grid *sheet);
/* The type that the ids are of; without any, the one that the sheet is named for; else "". */
void own_columns_type(const grid *sheet, char *out, size_t size);
/* Refused where a header stands twice, or says nothing that the type has. */
glassine_status own_columns_make(own_columns *columns, glassine_bundle *bundle, const grid *sheet,
                                 glassine_error *error);
void own_columns_free(own_columns *columns);

#endif
