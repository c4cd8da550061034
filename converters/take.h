/* Taking sheets in: what own and foreign sheets, CSV and workbooks have in common. */
#ifndef CONVERTERS_TAKE_H
#define CONVERTERS_TAKE_H

#include "converters.h"
#include "grid.h"
#include "statements.h"
#include "view.h"

/* Slips up to this number of the draft came from this row. */
typedef struct taken_row {
    size_t slips;
    const char *place; /* of the sheet or document; borrowed */
    uint64_t line;     /* 0: it has no lines */
} taken_row;

typedef struct taking {
    glassine_bundle *bundle;
    glassine_draft *draft;
    glassine_sheets_options options;
    glassine_report *report;
    glassine_node *sheets;    /* of the report, where something is told of each sheet */
    glassine_node *contested; /* fields that are contested now */
    statements row;
    conv_view view;
    conv_output cell;
    taken_row *taken;
    size_t taken_count, taken_room;
    size_t entered, changed, unchanged, refused, struck; /* rows, over all sheets */
    uint64_t rows, rows_done;                            /* for the progress */
} taking;

typedef struct take_counts {
    const char *type;
    size_t rows, entered, changed, unchanged, refused, missing;
} take_counts;

/* Begins and ends taking in; `take_end` decides what of it stays in the draft, and tells of it. */
glassine_status take_begin(taking *t, glassine_error *error);
glassine_status take_end(taking *t, glassine_error *error);
void take_free(taking *t);

/* Why a row cannot be taken: a finding with its place. `message` with `rule` and `remedy` (may be NULL). */
void take_refuse(taking *t, const grid *sheet, const grid_row *row, size_t column, glassine_span header,
                 const char *rule, const char *remedy, const char *message);
/* The same for what has no rows. */
void take_refuse_at(taking *t, const char *place, const char *rule, const char *remedy, const char *message);
/* A row was taken whose slips are now in the draft. */
glassine_status take_note_row(taking *t, const char *place, uint64_t line, glassine_error *error);
/* Tells of a sheet that is through. */
void take_tell_sheet(taking *t, const char *place, const take_counts *counts);
/* Which of the fields that were said are contested now. */
void take_look_for_contests(taking *t, glassine_record *record);
/* A row is done, one way or the other. */
void take_progress(taking *t);

/* take_own.c: does the sheet have the columns `id` and `version`? */
bool take_is_own(const grid *sheet);
glassine_status take_own(taking *t, const grid *sheet, glassine_error *error);
/* The place of a sheet's type in the table of types, for taking what others refer to first. */
size_t take_order(taking *t, const grid *sheet);

/* take_foreign.c: a sheet of another program, by a map. */
struct map;
glassine_status take_foreign(taking *t, const grid *sheet, const struct map *by, glassine_error *error);

/* Sheets in whatever order they were named. */
glassine_status take_grids(taking *t, grid *const *sheets, size_t count, glassine_error *error);

#endif
