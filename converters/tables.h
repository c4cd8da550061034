/* What a bundle holds, as tables: type after type, a record a row, a field a column (spec/csv.md). CSV, the
 * flat table, XLSX and JSON Lines are four ways of writing what one walk brings; a JSON document, whose
 * members stand in the order of their keys, shares the view of each record. */
#ifndef CONVERTERS_TABLES_H
#define CONVERTERS_TABLES_H

#include "cell.h"
#include "columns.h"

typedef struct tables tables;

/* Where the tables go; a status other than GLASSINE_OK ends the walk. */
typedef struct tables_sink {
    void *context;
    glassine_status (*begin)(void *context, const tables *walk,
                             glassine_error *error); /* the columns are known */
    glassine_status (*row)(void *context, tables *walk, glassine_error *error);
    glassine_status (*end)(void *context, const tables *walk, glassine_error *error);
} tables_sink;

struct tables {
    glassine_bundle *bundle;
    bool with_private, with_aside;
    bool without_columns; /* records are wanted, and no cells of them */
    const char *only;     /* records of this type; NULL: of every type */
    conv_view view;       /* of the row's record */
    table_columns columns;
    glassine_span type;
    bool authored;
    size_t rows;                   /* of this table so far */
    size_t aside, contested_cells; /* records that were left out; cells that show several values */
    conv_cautions cautions;        /* of what is shown */
    glassine_record **records;     /* in a cursor's order */
    size_t count, room;
};

/* Starts a walk; `tables_free` is due whatever happens. */
void tables_new(tables *walk, glassine_bundle *bundle, bool with_private, bool with_aside);
void tables_free(tables *walk);
glassine_status tables_walk(tables *walk, const tables_sink *sink, glassine_error *error);

/* What whoever reads the tables at `where` should know of them: cells with several values, records that are not there,
 * cautions. */
void tables_tell(const tables *walk, glassine_report *report, const char *where);

/* The text of a cell of the view's record, with its mark where it needs one; added to `cell`. */
void tables_cell(const conv_view *view, const table_column *column, conv_output *cell);
/* What a field's column says in the row; NULL: nothing. */
const glassine_field *tables_field(const conv_view *view, const table_column *column);
/* Headers of the columns that are contested in this row, with "; " between them; their count. */
size_t tables_contested(const conv_view *view, const table_columns *columns, conv_output *cell);

#endif
