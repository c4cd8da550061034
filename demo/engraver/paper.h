/* Paper as a scanner sees it: tone, fibres, the perforated edge. Places are dots at 1200 to the inch. */
#ifndef ENGRAVER_PAPER_H
#define ENGRAVER_PAPER_H

#include "items.h"

typedef struct colour {
    float r, g, b; /* 0 … 1 */
} colour;

colour colour_mix(colour under, colour over, float part);
colour colour_scale(colour c, float by);

/* Paper of this base colour at a place; `rough` 1 for stamps, more for covers. */
colour paper_tone(colour base, uint32_t seed, float x, float y, float rough);
/* What lies under a scan: dark card. */
colour card_tone(uint32_t seed, float x, float y);

/* The outline of a multiple torn out of its sheet; the origin is the design's corner of its first stamp. */
typedef struct outline {
    const item *of;
    float off_x, off_y; /* how far the perforation sits off centre */
    uint32_t seed;
} outline;
outline outline_of(const item *of);
/* How far inside the paper a place is; below 0: outside. */
float outline_depth(const outline *o, float x, float y);
/* The paper's bounds without its teeth. */
void outline_bounds(const outline *o, float *x0, float *y0, float *x1, float *y1);

#endif
