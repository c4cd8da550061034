/* What the post strikes on stamps and covers. */
#ifndef ENGRAVER_POSTMARKS_H
#define ENGRAVER_POSTMARKS_H

#include "raster.h"

/* Sizes are in dots of the raster: `scale` is its dots for one at 1200 to the inch. */
void postmark_obliterator(raster *r, point centre, float turn, float scale, int number);
void postmark_dated(raster *r, point centre, float turn, float scale, const char *town, const char *date);

#endif
