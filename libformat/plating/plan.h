/* The plan of a plate: where each position lies, and what it is called (spec/plates.md).
 *
 * Inside the library a position is a dense index 0 … count-1 in the order of its number: with numbering
 * within panes pane after pane, with `across_sheet` row after row of the whole sheet. Rows, columns and
 * numbers count in a *field*: the pane, or with `across_sheet` the whole sheet. */
#ifndef GL_PLATING_PLAN_H
#define GL_PLATING_PLAN_H

#include "base/buf.h"
#include "base/error.h"
#include "base/map.h" /* GL_NONE */

#define GL_POSITIONS_MOST 100000u
#define GL_PANE_NAME_MOST 16u /* bytes */

typedef struct glassine_plan gl_plan;
struct glassine_plan {
    uint32_t rows, columns, panes_across, panes_down;
    uint32_t panes, count;
    uint32_t fields, field_rows, field_columns, per_field;
    bool down;         /* numbers run down the columns */
    bool across_sheet; /* numbers run through all panes */
    bool corner_letters;
    char *label;  /* NULL: none */
    char **names; /* one a pane; NULL: a single pane without a name */
};

/* A compiled copy; R210, R211. */
glassine_status gl_plan_new(const glassine_layout *layout, gl_plan **plan, glassine_error *error);
void gl_plan_free(gl_plan *plan);

typedef struct gl_cell {
    uint32_t field, row, column; /* all from 0 */
} gl_cell;
gl_cell gl_plan_cell(const gl_plan *plan, uint32_t index);
uint32_t gl_plan_index(const gl_plan *plan, gl_cell cell);
uint32_t gl_plan_pane(const gl_plan *plan, uint32_t index);

/* Every name of the place. */
glassine_place gl_plan_place(const gl_plan *plan, uint32_t index);
/* From pane (0 …), row and column within it (1 …); GL_NONE where the plate has no such place. */
uint32_t gl_plan_from_pane(const gl_plan *plan, uint32_t pane, uint32_t row, uint32_t column);
/* From row and column of the whole sheet (1 …). */
uint32_t gl_plan_from_sheet(const gl_plan *plan, uint32_t row, uint32_t column);
/* From two corner letters in either case, the row's first; GL_NONE where there is no such place. */
uint32_t gl_plan_from_letters(const gl_plan *plan, char row, char column);
/* The pane of that name (ASCII letters in either case); GL_NONE. */
uint32_t gl_plan_pane_find(const gl_plan *plan, gl_span name);
/* Equal but for the case of ASCII letters. */
bool gl_plan_names_equal(gl_span a, gl_span b);

/* The position `down` rows below and `across` columns right of it in the same pane; GL_NONE outside. */
uint32_t gl_plan_step(const gl_plan *plan, uint32_t index, int64_t down, int64_t across);
/* The position at this place of the sheet when one looks at the plate's face: left and right change places.
 */
uint32_t gl_plan_mirror(const gl_plan *plan, uint32_t index);

/* "7", or "7R" where the number alone would not do. */
void gl_plan_add_number(const gl_plan *plan, uint32_t index, gl_buf *out);

/* Equal in all that decides which place a position is (labels and names apart). */
bool gl_plan_same(const gl_plan *a, const gl_plan *b);

#endif
