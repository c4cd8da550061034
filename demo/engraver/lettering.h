/* A stroke font of our own: capitals, figures and a running hand. */
#ifndef ENGRAVER_LETTERING_H
#define ENGRAVER_LETTERING_H

#include "raster.h"

typedef struct lettering {
    float height;   /* of a capital */
    float stroke;   /* width of the heavy strokes; the light ones are half of it */
    float slant;    /* sideways for each unit of height */
    float tracking; /* added between letters */
    float shake;    /* how far a hand errs; 0 for an engraver's */
    unsigned seed;
} lettering;

/* How wide the text comes out. */
float lettering_width(const lettering *style, const char *text);
/* Draws from the base line's left end at `at`. */
void lettering_draw(raster *r, const lettering *style, point at, const char *text, float ink);
/* Draws around a centre, the text's middle at `angle` (radians, 0 is to the right, clockwise); `outwards`:
 * the letters' heads point away from the centre. */
void lettering_arc(raster *r, const lettering *style, point centre, float radius, float angle, bool outwards,
                   const char *text, float ink);

#endif
