#include "scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "die.h"
#include "lettering.h"
#include "noise.h"
#include "postmarks.h"

#define ROOM 340 /* dots kept around the stamps */
#define COVER_WIDTH (140 * DOTS_PER_MM)
#define COVER_HEIGHT (85 * DOTS_PER_MM)
#define PIECE_WIDTH (38 * DOTS_PER_MM)
#define PIECE_HEIGHT (34 * DOTS_PER_MM)

static const colour STAMP_PAPER = {0.925f, 0.895f, 0.815f};
static const colour INKS[] = {{0.05f, 0.27f, 0.25f}, {0.10f, 0.36f, 0.33f}, {0.20f, 0.45f, 0.40f}};
static const colour BLACK = {0.10f, 0.09f, 0.10f};
static const colour BROWN_INK = {0.27f, 0.17f, 0.10f};
static const colour PENCIL = {0.35f, 0.35f, 0.37f};

static bool print_stamps(scene *s, const raster *die) {
    const item *of = s->of;
    int width = (of->columns - 1) * PITCH_X + DIE_WIDTH + 2 * ROOM;
    int height = (of->rows - 1) * PITCH_Y + DIE_HEIGHT + 2 * ROOM;
    raster subject;
    if (!raster_make(&s->print, width, height, ROOM, ROOM) ||
        !raster_make(&s->strikes, width, height, ROOM, ROOM) ||
        !raster_make(&subject, die->width, die->height, die->left, die->top))
        return false;
    for (int row = 0; row < of->rows; row++) {
        for (int column = 0; column < of->columns; column++) {
            plate_subject(&subject, die, of->row + row, of->column + column, of->state);
            raster_lay(&s->print, &subject, column * PITCH_X, row * PITCH_Y);
        }
    }
    raster_free(&subject);
    return true;
}

static void cancel_stamps(scene *s) {
    const item *of = s->of;
    dice d = {s->edge.seed + 11, 0};
    /* Off to a corner, as struck in a hurry: part of the design stays free to be studied. */
    point at = {DIE_WIDTH * (0.5f + (dice_unit(&d) < 0.5f ? -0.33f : 0.33f)),
                DIE_HEIGHT * (0.5f + (dice_unit(&d) < 0.5f ? -0.30f : 0.30f))};
    if (of->columns > 1)
        at.x = PITCH_X;
    float turn = dice_between(&d, -0.6f, 0.6f);
    if (of->obliterator)
        postmark_obliterator(&s->strikes, at, turn, 1, of->obliterator);
    else if (of->town)
        postmark_dated(&s->strikes, at, turn, 1, of->town, of->date);
}

/* The cover's rasters have one dot for two. */
static bool write_cover(scene *s) {
    int width = (int)(s->width / 2), height = (int)(s->height / 2);
    if (!raster_make(&s->pen, width, height, 0, 0) || !raster_make(&s->posted, width, height, 0, 0))
        return false;
    lettering hand = {
        .height = 120, .stroke = 10, .slant = 0.42f, .tracking = 4, .shake = 3.5f, .seed = s->edge.seed};
    for (int line = 0; line < 4 && s->of->address[line]; line++) {
        point at = {(float)width * 0.20f + 130 * (float)line, (float)height * 0.47f + 250 * (float)line};
        lettering_draw(&s->pen, &hand, at, s->of->address[line], 1);
        hand.seed++;
    }
    return true;
}

static void strike_cover(scene *s) {
    const item *of = s->of;
    dice d = {s->edge.seed + 13, 0};
    point stamp = {(s->stamp_x + DIE_WIDTH * 0.28f) / 2, (s->stamp_y + DIE_HEIGHT * 0.62f) / 2};
    point clear = {stamp.x - (item_is_cover(of) ? 900 : 330), stamp.y + 60};
    float turn = dice_between(&d, -0.5f, 0.5f);
    if (of->obliterator) {
        postmark_obliterator(&s->posted, stamp, turn, 0.5f, of->obliterator);
        if (of->town)
            postmark_dated(&s->posted, clear, turn / 2, 0.5f, of->town, of->date);
    } else if (of->town) {
        postmark_dated(&s->posted, stamp, turn, 0.5f, of->town, of->date);
    }
}

bool scene_make(scene *s, const item *of, const raster *die) {
    *s = (scene){.of = of, .edge = outline_of(of)};
    dice d = {s->edge.seed + 17, 0};
    if (!print_stamps(s, die))
        return false;
    s->mounted = item_is_cover(of) || strcmp(of->kind, "piece") == 0;
    if (!s->mounted) {
        cancel_stamps(s);
        return true;
    }
    s->width = item_is_cover(of) ? COVER_WIDTH : PIECE_WIDTH;
    s->height = item_is_cover(of) ? COVER_HEIGHT : PIECE_HEIGHT;
    s->turn = dice_between(&d, -0.07f, 0.07f);
    s->stamp_x = s->width - DIE_WIDTH - (item_is_cover(of) ? 190 : 260);
    s->stamp_y = item_is_cover(of) ? 190 : 240;
    if (!write_cover(s))
        return false;
    strike_cover(s);
    return true;
}

void scene_free(scene *s) {
    raster_free(&s->print);
    raster_free(&s->strikes);
    raster_free(&s->pen);
    raster_free(&s->posted);
}

/* ---- colours */

/* Ink of a strike: uneven, as from a dabbed handstamp. */
static colour struck(colour under, float ink, uint32_t seed, float x, float y) {
    if (ink <= 0)
        return under;
    float dab =
        noise_smooth(seed + 21, x / 120, y / 120) * 0.6f + noise_smooth(seed + 22, x / 6, y / 6) * 0.55f;
    return colour_mix(under, BLACK, fminf(ink * (0.25f + dab * 0.75f), 0.9f));
}

/* The edge catches the light on one side and lies in shade on the other. */
static colour lit_edge(colour c, const outline *edge, float depth, float x, float y) {
    if (depth > 6)
        return c;
    float slope = outline_depth(edge, x + 3, y + 3) - depth;
    return colour_scale(c, 1 + 0.05f * (slope > 0 ? 1.0f : -1.6f) * (1 - depth / 6));
}

static colour stamp_front(const scene *s, float depth, float x, float y) {
    uint32_t seed = s->edge.seed;
    colour c = paper_tone(STAMP_PAPER, seed, x, y, 1);
    float ink = raster_at(&s->print, x, y);
    if (ink > 0) {
        float force = 0.86f + 0.14f * noise_smooth(seed + 31, x / 150, y / 150);
        float grain = 0.9f + 0.1f * noise_smooth(seed + 32, x / 3, y / 3);
        c = colour_mix(c, INKS[s->of->shade], ink * force * grain * 0.96f);
    }
    c = struck(c, raster_at(&s->strikes, x, y), seed, x, y);
    return lit_edge(c, &s->edge, depth, x, y);
}

static colour stamp_back(const scene *s, float depth, float x, float y) {
    uint32_t seed = s->edge.seed;
    colour c = paper_tone(STAMP_PAPER, seed + 50, x, y, 1.1f);
    float through = 0.10f * raster_at(&s->print, x, y) + 0.16f * raster_at(&s->strikes, x, y);
    c = colour_mix(c, (colour){0.45f, 0.42f, 0.36f}, through);
    float gum = noise_smooth(seed + 41, x / 260, y / 260);
    c = colour_mix(c, (colour){0.86f, 0.77f, 0.58f}, fmaxf(gum - 0.45f, 0) * 0.8f);
    float fray = 26 * noise_cloud(seed + 42, x / 40, y / 40);
    if (x + fray > 250 && x + fray < 600 && y + fray > 120 && y + fray < 360) /* what is left of a hinge */
        c = colour_mix(colour_scale(c, 0.95f), (colour){0.93f, 0.91f, 0.84f}, 0.5f);
    return lit_edge(c, &s->edge, depth, x, y);
}

static colour cover_base(const scene *s) {
    static const colour papers[] = {{0.86f, 0.78f, 0.62f}, {0.74f, 0.79f, 0.82f}, {0.90f, 0.86f, 0.76f}};
    return papers[s->edge.seed % 3];
}

/* Laid lines, and the flaps' edges seen as steps of light. */
static colour cover_paper(const scene *s, float x, float y, bool back) {
    colour c = paper_tone(cover_base(s), s->edge.seed + 60 + back, x / 1.6f, y / 1.6f, 1.3f);
    c = colour_scale(c, 1 + 0.012f * sinf(y * 0.22f));
    float side = fminf(x, s->width - x), flap = back ? s->height * 0.55f : s->height;
    float edge = y - fminf(side * 0.9f, flap);
    float strength = back ? 0.10f : 0.025f;
    if (item_is_cover(s->of) && edge > 0 && edge < 26)
        c = colour_scale(c, 1 - strength * (1 - edge / 26));
    float rim = fminf(fminf(x, s->width - x), fminf(y, s->height - y));
    return rim < 60 ? colour_scale(c, 1 - 0.06f * (1 - rim / 60)) : c;
}

static void to_stamp(const scene *s, float *x, float *y) {
    float dx = *x - s->stamp_x, dy = *y - s->stamp_y;
    *x = dx * cosf(s->turn) + dy * sinf(s->turn);
    *y = dy * cosf(s->turn) - dx * sinf(s->turn);
}

static colour mounted_front(const scene *s, float x, float y) {
    colour c = cover_paper(s, x, y, false);
    c = colour_mix(c, BROWN_INK, raster_at(&s->pen, x / 2, y / 2) * 0.82f);
    float sx = x, sy = y;
    to_stamp(s, &sx, &sy);
    float depth = outline_depth(&s->edge, sx, sy);
    if (depth > 0)
        c = stamp_front(s, depth, sx, sy);
    else if (depth > -9)
        c = colour_scale(c, 0.82f - 0.02f * depth);
    return struck(c, raster_at(&s->posted, x / 2, y / 2), s->edge.seed, x, y);
}

static colour mounted_back(const scene *s, float x, float y) {
    colour c = cover_paper(s, s->width - x, y, true);
    float through = 0.06f * raster_at(&s->posted, x / 2, y / 2) + 0.05f * raster_at(&s->pen, x / 2, y / 2);
    return colour_mix(c, PENCIL, through);
}

static colour scene_colour(const scene *s, const view *v, float x, float y) {
    if (s->mounted) {
        /* A piece was cut out by hand. */
        float ragged = item_is_cover(s->of) ? 0 : 10 * noise_cloud(s->edge.seed + 71, x / 90, y / 90);
        float rim = fminf(fminf(x, s->width - x), fminf(y, s->height - y)) + ragged;
        if (rim < 0)
            return colour_scale(card_tone(3, x, y), rim > -14 ? 0.6f : 1);
        return v->back ? mounted_back(s, x, y) : mounted_front(s, x, y);
    }
    float depth = outline_depth(&s->edge, x, y);
    if (depth < -1)
        return colour_scale(card_tone(3, x, y), depth > -10 ? 0.55f : 1);
    colour c = v->back ? stamp_back(s, fmaxf(depth, 0), x, y) : stamp_front(s, fmaxf(depth, 0), x, y);
    return depth < 0 ? colour_mix(c, card_tone(3, x, y), -depth) : c;
}

/* ---- pictures */

view scene_view(const scene *s, scan_side side) {
    dice d = {s->edge.seed + 97 + (uint32_t)side, 0};
    view v = {.dots = 1, .dpi = 1200, .turn = dice_between(&d, -0.012f, 0.012f), .back = side == BACK};
    float x0, y0, x1, y1;
    outline_bounds(&s->edge, &x0, &y0, &x1, &y1);
    if (side == DETAIL &&
        !s->mounted) { /* the part of the first stamp where most is to be seen, twice as large */
        v.dots = 0.5f;
        v.dpi = 2400;
        v.left = -70;
        v.top = s->of->row == 1 || s->of->row == 5 ? -70 : (float)DIE_HEIGHT / 2 - 90;
        v.width = 1100;
        v.height = 1200;
        return v;
    }
    if (s->mounted && side != DETAIL) {
        x0 = y0 = 0;
        x1 = s->width;
        y1 = s->height;
        if (item_is_cover(s->of))
            v.dots = side == BACK ? 4 : 2;
        v.dpi = (int)(1200 / v.dots);
    } else if (s->mounted) {
        x0 += s->stamp_x;
        x1 += s->stamp_x;
        y0 += s->stamp_y;
        y1 += s->stamp_y;
    }
    float rim = s->mounted && side != DETAIL && item_is_cover(s->of) ? 40 : 70;
    v.left = x0 - rim;
    v.top = y0 - rim;
    v.width = (int)((x1 - x0 + 2 * rim) / v.dots);
    v.height = (int)((y1 - y0 + 2 * rim) / v.dots);
    v.photograph = side == PHOTOGRAPH;
    if (item_is_cover(s->of))
        v.turn /= 4;
    return v;
}

static unsigned char level(float tone) {
    return (unsigned char)(fminf(fmaxf(tone, 0), 1) * 255 + 0.5f);
}

unsigned char *scene_picture(const scene *s, const view *v) {
    unsigned char *pixels = malloc((size_t)v->width * (size_t)v->height * 3);
    if (!pixels)
        return NULL;
    float sine = sinf(v->turn) * v->dots, cosine = cosf(v->turn) * v->dots;
    float middle_x = v->left + (float)v->width / 2 * v->dots,
          middle_y = v->top + (float)v->height / 2 * v->dots;
    unsigned char *out = pixels;
    for (int row = 0; row < v->height; row++) {
        for (int column = 0; column < v->width; column++) {
            float px = (float)(v->back ? v->width - 1 - column : column) - (float)v->width / 2;
            float py = (float)row - (float)v->height / 2;
            colour c =
                scene_colour(s, v, middle_x + px * cosine - py * sine, middle_y + px * sine + py * cosine);
            if (v->photograph)
                c = colour_scale(c, 1.06f - 0.5f * (px * px + py * py) / ((float)v->width * (float)v->width));
            float grain = (noise_point(s->edge.seed + 99, column, row) - 0.5f) * 0.018f;
            *out++ = level(c.r + grain);
            *out++ = level(c.g + grain);
            *out++ = level(c.b + grain);
        }
    }
    return pixels;
}
