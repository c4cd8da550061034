/* The columns of a sheet: of every record of one type (spec/csv.md). */
#ifndef CONVERTERS_CSV_COLUMNS_H
#define CONVERTERS_CSV_COLUMNS_H

#include "output.h"
#include "view.h"

typedef enum csv_column_kind {
    CSV_ID,
    CSV_PRIVATE, /* whether the row holds something private; only where that was asked for */
    CSV_AUTHOR,
    CSV_AUTHOR_LABEL,
    CSV_FIELD, /* one field in one reach */
    CSV_LABEL, /* what people call the records that the column before refers to */
    CSV_CONTESTED,
    CSV_VERSION
} csv_column_kind;

typedef struct csv_column {
    csv_column_kind kind;
    glassine_span name; /* of a field */
    glassine_reach reach;
    const glassine_field_info *info; /* NULL: a field that is not known */
    bool said_reach;                 /* the header is NAME@REACH */
} csv_column;

typedef struct csv_columns {
    csv_column *list;
    size_t count, room;
} csv_columns;

/* The columns for `count` records of one type. */
glassine_status csv_columns_make(csv_columns *columns, glassine_bundle *bundle,
                                 glassine_record *const *records, size_t count, bool with_private,
                                 glassine_error *error);
void csv_columns_free(csv_columns *columns);
void csv_column_header(conv_output *out, const csv_column *column);

#endif
