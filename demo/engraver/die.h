/* The engraved design: the Twopence "Kingfisher" of the Sorrel Islands. */
#ifndef ENGRAVER_DIE_H
#define ENGRAVER_DIE_H

#include "raster.h"

#define DIE_WIDTH 850   /* dots: 18 mm */
#define DIE_HEIGHT 1039 /* 22 mm */
#define DIE_MARGIN 120  /* room around it for what stands in the margins */

bool die_engrave(raster *die);

#endif
