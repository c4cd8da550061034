/* Ink on a plate: a raster of ink amounts (0 … 1) and the few tools that put ink on it or take it away.
 * Lengths are dots at 1200 to the inch; the origin is the top left corner of what is drawn, so that margins
 * have negative places. */
#ifndef ENGRAVER_RASTER_H
#define ENGRAVER_RASTER_H

#include <stdbool.h>
#include <stddef.h>

#define DOTS_PER_MM 47.244094f

typedef struct raster {
    int width, height;
    float left, top; /* how far the raster reaches left of and above the origin */
    float *ink;
} raster;

typedef struct point {
    float x, y;
} point;

bool raster_make(raster *r, int width, int height, float left, float top);
void raster_free(raster *r);
/* Ink at a place, between dots; 0 outside. */
float raster_at(const raster *r, float x, float y);
/* Lays `from` over `to`, its origin at (x, y); the darker ink stays. */
void raster_lay(raster *to, const raster *from, int x, int y);

/* Strokes: `width` wide with round ends; `ink` below 0 takes ink away down to paper. */
void raster_line(raster *r, point a, point b, float width, float ink);
void raster_path(raster *r, const point *points, size_t count, float width, float ink);
void raster_disc(raster *r, point centre, float radius, float ink);
void raster_frame(raster *r, float x, float y, float width, float height, float stroke, float ink);

/* Smooth closed outline through the points; `out` takes count * RASTER_SMOOTH points. */
#define RASTER_SMOOTH 8
size_t raster_closed_curve(const point *points, size_t count, point *out);

/* An area filled with engraved lines that swell with the tone. */
typedef struct hatch {
    float angle;          /* of the lines, radians */
    float spacing;        /* from line to line */
    float tone, tone_end; /* 0 … 1: how much of the spacing is ink, from one end of the area … */
    float fall;           /* … to the other, in this direction (radians) */
    float bend, wave;     /* how far and how often the lines wave */
} hatch;
void raster_hatch(raster *r, const point *outline, size_t count, const hatch *h);
void raster_clear_area(raster *r, const point *outline, size_t count);

#endif
