/* An item as it lies on the scanner: printed, cancelled, on its cover; and its colour at any place. */
#ifndef ENGRAVER_SCENE_H
#define ENGRAVER_SCENE_H

#include "paper.h"

typedef struct scene {
    const item *of;
    outline edge;
    raster print, strikes;        /* on the stamps: ink, and the post's strikes */
    bool mounted;                 /* on a cover or a piece */
    float width, height;          /* of that, in dots */
    raster pen, posted;           /* on it, two dots to one: handwriting, strikes */
    float stamp_x, stamp_y, turn; /* where its stamp lies and how it is turned */
} scene;

bool scene_make(scene *s, const item *of, const raster *die);
void scene_free(scene *s);

/* What a picture shows: its top left corner, dots for a pixel, turn. */
typedef struct view {
    int width, height;
    float left, top, dots, turn;
    bool back;
    bool photograph; /* taken with a camera: the light falls off */
    int dpi;
} view;
view scene_view(const scene *s, scan_side side);
/* The picture, three bytes a pixel; NULL: no memory. */
unsigned char *scene_picture(const scene *s, const view *v);

#endif
