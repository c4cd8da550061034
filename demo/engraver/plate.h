/* Plate 1, 120 subjects in 12 rows of 10: what sets its positions apart. One table says where each mark is;
 * the scans are drawn from it and the list of known marks is written from it, so that plating works. */
#ifndef ENGRAVER_PLATE_H
#define ENGRAVER_PLATE_H

#include <stdint.h>

#include "raster.h"

#define PLATE_ROWS 12
#define PLATE_COLUMNS 10
#define PITCH_X 945  /* dots: 20 mm from subject to subject */
#define PITCH_Y 1134 /* 24 mm */

typedef enum plate_state { EARLY, LATE } plate_state;

typedef struct plate_mark {
    int row, column;                                /* from 1; 0: every row, or column */
    const char *appearance, *cause, *origin, *name; /* cause, name: may be NULL */
    int x, y;                                       /* thousandths of the design's width and height */
    int visibility;                                 /* 0 … 100 */
    bool late_only;
    const char *text; /* lettering of an imprint, or NULL */
    const char *note; /* or NULL */
} plate_mark;

extern const plate_mark PLATE_MARKS[];
extern const size_t PLATE_MARK_COUNT;

bool plate_mark_is_at(const plate_mark *mark, int row, int column, plate_state state);
/* Puts the marks of a position on a print of the die, and lets the plate wear. */
void plate_subject(raster *print, const raster *die, int row, int column, plate_state state);

#endif
