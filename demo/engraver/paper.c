#include "paper.h"

#include <math.h>

#include "die.h"
#include "noise.h"

#define HOLE_STEP 67.5f /* 14 holes in 20 mm */
#define HOLE_RADIUS 22.0f
#define SELVEDGE_DEPTH 250.0f

colour colour_mix(colour under, colour over, float part) {
    return (colour){under.r + (over.r - under.r) * part, under.g + (over.g - under.g) * part,
                    under.b + (over.b - under.b) * part};
}

colour colour_scale(colour c, float by) {
    return (colour){c.r * by, c.g * by, c.b * by};
}

colour paper_tone(colour base, uint32_t seed, float x, float y, float rough) {
    float stain = noise_smooth(seed, x / 420, y / 420) - 0.5f;
    float felt = noise_smooth(seed + 2, x / 17, y / 17) - 0.5f;
    /* A fibre is where a smooth noise crosses its middle: long thin curves. */
    float course = fabsf(noise_smooth(seed + 3, x / 58 + y / 160, y / 36 - x / 190) - 0.5f);
    float fibre = fmaxf(0, 1 - course * 55);
    float grain = noise_point(seed + 4, (int32_t)floorf(x / 2), (int32_t)floorf(y / 2)) - 0.5f;
    colour c =
        colour_scale(base, 1 + rough * (0.05f * stain + 0.035f * felt - 0.05f * fibre) + 0.03f * grain);
    c.b *= 1 + 0.06f * stain;
    return c;
}

colour card_tone(uint32_t seed, float x, float y) {
    float grain = noise_point(seed, (int32_t)floorf(x), (int32_t)floorf(y)) - 0.5f;
    float tone = 0.13f + 0.02f * noise_smooth(seed + 1, x / 60, y / 60) + 0.02f * grain;
    return (colour){tone, tone, tone * 1.08f};
}

outline outline_of(const item *of) {
    uint32_t seed = (uint32_t)(of - ITEMS) * 977 + 5;
    dice d = {seed, 0};
    outline o = {.of = of, .seed = seed};
    o.off_x = dice_between(&d, -17, 17);
    o.off_y = dice_between(&d, -15, 15);
    return o;
}

static void grid(const outline *o, float *left, float *top) { /* first lines of perforation */
    *left = o->off_x - (float)(PITCH_X - DIE_WIDTH) / 2;
    *top = o->off_y - (float)(PITCH_Y - DIE_HEIGHT) / 2;
}

void outline_bounds(const outline *o, float *x0, float *y0, float *x1, float *y1) {
    grid(o, x0, y0);
    *x1 = *x0 + (float)(o->of->columns * PITCH_X);
    *y1 = *y0 + (float)(o->of->rows * PITCH_Y);
    *x0 -= o->of->selvedge & SELVEDGE_LEFT ? SELVEDGE_DEPTH : 0;
    *y0 -= o->of->selvedge & SELVEDGE_TOP ? SELVEDGE_DEPTH : 0;
    *x1 += o->of->selvedge & SELVEDGE_RIGHT ? SELVEDGE_DEPTH : 0;
    *y1 += o->of->selvedge & SELVEDGE_BOTTOM ? SELVEDGE_DEPTH : 0;
}

/* Distance to the nearest hole of the nearest of these lines, along which the holes stand HOLE_STEP apart. */
static float hole_depth(float across, float along, float pitch, int lines) {
    float line = fminf(fmaxf(roundf(across / pitch), 0), (float)lines);
    float dx = across - line * pitch, dy = along - roundf(along / HOLE_STEP) * HOLE_STEP;
    return hypotf(dx, dy) - HOLE_RADIUS;
}

float outline_depth(const outline *o, float x, float y) {
    float left, top, x0, y0, x1, y1;
    grid(o, &left, &top);
    outline_bounds(o, &x0, &y0, &x1, &y1);
    float torn =
        7 * (noise_smooth(o->seed, x / 7, y / 7) - 0.5f) + 8 * (noise_smooth(o->seed, x / 31, y / 31) - 0.5f);
    float depth = fminf(fminf(x - x0, x1 - x), fminf(y - y0, y1 - y)) + torn;
    depth = fminf(depth, hole_depth(x - left, y - top, PITCH_X, o->of->columns));
    return fminf(depth, hole_depth(y - top, x - left, PITCH_Y, o->of->rows));
}
