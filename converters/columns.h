/* The columns of a sheet: of every record of one type (spec/csv.md). */
#ifndef CONVERTERS_COLUMNS_H
#define CONVERTERS_COLUMNS_H

#include "output.h"
#include "view.h"

typedef enum table_column_kind {
    TABLE_ID,
    TABLE_PRIVATE, /* whether the row holds something private; only where that was asked for */
    TABLE_AUTHOR,
    TABLE_AUTHOR_LABEL,
    TABLE_FIELD, /* one field in one reach */
    TABLE_LABEL, /* the column before for people: names of records, or units they use */
    TABLE_CONTESTED,
    TABLE_VERSION
} table_column_kind;

typedef struct table_column {
    table_column_kind kind;
    glassine_span name; /* of a field */
    glassine_reach reach;
    const glassine_field_info *info; /* NULL: a field that is not known */
    bool said_reach;                 /* the header is NAME@REACH */
} table_column;

typedef struct table_columns {
    table_column *list;
    size_t count, room;
} table_columns;

/* The columns for `count` records of one type. */
glassine_status table_columns_make(table_columns *columns, glassine_bundle *bundle,
                                   glassine_record *const *records, size_t count, bool with_private,
                                   glassine_error *error);
void table_columns_free(table_columns *columns);
void table_column_header(conv_output *out, const table_column *column);

#endif
