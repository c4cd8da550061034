/* The map of a foreign sheet: what its columns are, and how their cells are to be read
 * (spec/foreign-sheets.md). It is a sheet itself, so that a person corrects it in the program that the sheet
 * is from. */
#ifndef CONVERTERS_MAP_H
#define CONVERTERS_MAP_H

#include "grid.h"

typedef enum map_order { MAP_NO_ORDER, MAP_DAY_MONTH_YEAR, MAP_MONTH_DAY_YEAR, MAP_YEAR_MONTH_DAY } map_order;

/* What a cell's text stands for: "Paar=pair"; "*=other" of whatever else it says. */
typedef struct map_meaning {
    char *cell, *value;
} map_meaning;

typedef struct map_column {
    bool every;    /* no column, but what every row says: `header` has it as a cell would */
    size_t column; /* of the sheet, from 0; SIZE_MAX where `every` */
    uint64_t line; /* of the map */
    char *header;  /* as the map has it; "" where it says none */
    bool left_out;
    const glassine_type_info *type;
    char *field;
    const glassine_field_info *info; /* NULL: a field of the writer's own */
    map_order order;
    int years_from; /* of two-digit years, the first of the hundred that they lie in; 0: unsaid */
    bool money;
    char currency[4]; /* of the money; "": another column says it */
    char decimal;     /* ',' or '.'; 0: unsaid */
    int64_t factor;   /* the field's units in one of the cell's; 0: the same */
    char *split;      /* what parts the cell; NULL: it is whole */
    size_t part;      /* which part, from 1 */
    bool part_on;     /* and all behind it */
    char *list;       /* what parts the elements of a list */
    map_meaning *meanings;
    size_t meaning_count, meaning_room;
} map_column;

typedef struct map {
    grid file;
    char *encoding, *sheet; /* NULL: found out; the only one */
    char delimiter;         /* 0: found out */
    size_t skipped;         /* rows before the header */
    size_t header_rows;
    size_t stamps; /* that a new item gets */
    map_column *columns;
    size_t count, room;
} map;

/* Reads a map. Refused with its line and column where it says nothing that can be done; questions that the
 * draft left open are told one by one in the report. `map_free` is due whatever happens. */
glassine_status map_read(const char *path, map *out, glassine_report *report, glassine_error *error);
void map_free(map *it);

/* map_as.c: a copy that ends with NUL; NULL when memory ran out. */
char *map_copy(glassine_span text);
/* A whole number of up to six digits, at most `most`. */
bool map_count(glassine_span text, size_t most, size_t *value);
/* The instructions of one column ("date day month year; years from 1850"). NULL, or what is wrong
 * with it. */
const char *map_read_as(map_column *column, glassine_span as);
/* A separator by its name, or as it stands. */
const char *map_separator(const char *named);

/* map_value.c: what a cell says, as people type it for its field; nothing where it says nothing. `kind` of
 * grid.h. NULL, or why the cell cannot be understood (a constant). */
const char *map_cell(const map_column *column, glassine_span cell, int kind, conv_output *typed);
/* "1.234,50" as "1234.50". False where it is no number, or the sign of its decimals is not told. */
bool map_number(glassine_span cell, char decimal, conv_output *plain);
/* The parts of a date in numbers: "3.4.61". False where it is none. */
bool map_triple(glassine_span cell, unsigned parts[3], unsigned digits[3]);

/* map_draft.c: a first map of the sheet. *questions: what the person has to decide. */
glassine_status map_draft(const grid *sheet, conv_output *out, size_t *questions, glassine_error *error);
/* How many rows stand before the header, and how many are one. */
void map_find_header(const grid *sheet, size_t *skipped, size_t *header_rows);
/* The header of a column: of two rows the first one's label, carried to the right, and the second's. */
void map_header(const grid *sheet, size_t skipped, size_t header_rows, size_t column, conv_output *out);

#endif
