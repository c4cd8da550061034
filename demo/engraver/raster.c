#include "raster.h"

#include <math.h>
#include <stdlib.h>

bool raster_make(raster *r, int width, int height, float left, float top) {
    r->width = width;
    r->height = height;
    r->left = left;
    r->top = top;
    r->ink = calloc((size_t)width * (size_t)height, sizeof *r->ink);
    return r->ink != NULL;
}

void raster_free(raster *r) {
    free(r->ink);
    r->ink = NULL;
}

static float *dot(const raster *r, int x, int y) {
    return r->ink + (size_t)y * (size_t)r->width + (size_t)x;
}

float raster_at(const raster *r, float x, float y) {
    x += r->left;
    y += r->top;
    if (x < 0 || y < 0 || x >= (float)(r->width - 1) || y >= (float)(r->height - 1))
        return 0;
    int ix = (int)x, iy = (int)y;
    float u = x - (float)ix, v = y - (float)iy;
    const float *a = dot(r, ix, iy), *b = a + r->width;
    return (a[0] + (a[1] - a[0]) * u) * (1 - v) + (b[0] + (b[1] - b[0]) * u) * v;
}

void raster_lay(raster *to, const raster *from, int x, int y) {
    int dx = x + (int)(to->left - from->left), dy = y + (int)(to->top - from->top);
    for (int row = 0; row < from->height; row++) {
        if (row + dy < 0 || row + dy >= to->height)
            continue;
        for (int column = 0; column < from->width; column++) {
            if (column + dx < 0 || column + dx >= to->width)
                continue;
            float *under = dot(to, column + dx, row + dy);
            *under = fmaxf(*under, *dot(from, column, row));
        }
    }
}

static void put(float *dot, float cover, float ink) {
    if (cover <= 0)
        return;
    if (cover > 1)
        cover = 1;
    if (ink < 0)
        *dot *= 1 - cover;
    else
        *dot = fmaxf(*dot, cover * ink);
}

static int held(float value, int most) {
    return value < 0 ? 0 : value > (float)most ? most : (int)value;
}

/* The dots that a shape within these bounds may touch. */
typedef struct window {
    int x0, y0, x1, y1;
} window;

static window window_of(const raster *r, float x0, float y0, float x1, float y1) {
    return (window){held(floorf(x0 + r->left), r->width), held(floorf(y0 + r->top), r->height),
                    held(ceilf(x1 + r->left) + 1, r->width), held(ceilf(y1 + r->top) + 1, r->height)};
}

void raster_line(raster *r, point a, point b, float width, float ink) {
    float reach = width / 2 + 1;
    window w = window_of(r, fminf(a.x, b.x) - reach, fminf(a.y, b.y) - reach, fmaxf(a.x, b.x) + reach,
                         fmaxf(a.y, b.y) + reach);
    float dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy;
    for (int y = w.y0; y < w.y1; y++) {
        for (int x = w.x0; x < w.x1; x++) {
            float px = (float)x - r->left - a.x, py = (float)y - r->top - a.y;
            float t = square > 0 ? fminf(fmaxf((px * dx + py * dy) / square, 0), 1) : 0;
            float away = hypotf(px - t * dx, py - t * dy);
            put(dot(r, x, y), width / 2 + 0.5f - away, ink);
        }
    }
}

void raster_path(raster *r, const point *points, size_t count, float width, float ink) {
    for (size_t i = 1; i < count; i++)
        raster_line(r, points[i - 1], points[i], width, ink);
}

void raster_disc(raster *r, point centre, float radius, float ink) {
    raster_line(r, centre, centre, radius * 2, ink);
}

void raster_frame(raster *r, float x, float y, float width, float height, float stroke, float ink) {
    const point corners[] = {{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}, {x, y}};
    raster_path(r, corners, 5, stroke, ink);
}

static float through(float a, float b, float c, float d, float t) { /* Catmull-Rom, between b and c */
    return b + t / 2 * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
}

size_t raster_closed_curve(const point *p, size_t count, point *out) {
    size_t made = 0;
    for (size_t i = 0; i < count; i++) {
        const point a = p[(i + count - 1) % count], b = p[i], c = p[(i + 1) % count], d = p[(i + 2) % count];
        for (int step = 0; step < RASTER_SMOOTH; step++) {
            float t = (float)step / RASTER_SMOOTH;
            out[made++] = (point){through(a.x, b.x, c.x, d.x, t), through(a.y, b.y, c.y, d.y, t)};
        }
    }
    return made;
}

static bool inside(const point *p, size_t count, float x, float y) {
    bool in = false;
    for (size_t i = 0, j = count - 1; i < count; j = i++)
        if ((p[i].y > y) != (p[j].y > y) && x < (p[j].x - p[i].x) * (y - p[i].y) / (p[j].y - p[i].y) + p[i].x)
            in = !in;
    return in;
}

typedef struct bounds {
    float x0, y0, x1, y1;
} bounds;

static bounds bounds_of(const point *p, size_t count) {
    bounds b = {p[0].x, p[0].y, p[0].x, p[0].y};
    for (size_t i = 1; i < count; i++) {
        b.x0 = fminf(b.x0, p[i].x);
        b.y0 = fminf(b.y0, p[i].y);
        b.x1 = fmaxf(b.x1, p[i].x);
        b.y1 = fmaxf(b.y1, p[i].y);
    }
    return b;
}

static float tone_at(const hatch *h, const bounds *b, float x, float y) {
    float across = (b->x1 - b->x0) * fabsf(cosf(h->fall)) + (b->y1 - b->y0) * fabsf(sinf(h->fall));
    float along = (x - (b->x0 + b->x1) / 2) * cosf(h->fall) + (y - (b->y0 + b->y1) / 2) * sinf(h->fall);
    float t = fminf(fmaxf(along / fmaxf(across, 1) + 0.5f, 0), 1);
    return h->tone + (h->tone_end - h->tone) * t;
}

void raster_hatch(raster *r, const point *outline, size_t count, const hatch *h) {
    bounds b = bounds_of(outline, count);
    window w = window_of(r, b.x0, b.y0, b.x1, b.y1);
    float sine = sinf(h->angle), cosine = cosf(h->angle);
    for (int y = w.y0; y < w.y1; y++) {
        for (int x = w.x0; x < w.x1; x++) {
            float px = (float)x - r->left, py = (float)y - r->top;
            if (!inside(outline, count, px, py))
                continue;
            float along = px * cosine + py * sine;
            float across = py * cosine - px * sine + h->bend * sinf(along * h->wave);
            float phase = across / h->spacing;
            float away = fabsf(phase - floorf(phase) - 0.5f) * h->spacing;
            put(dot(r, x, y), tone_at(h, &b, px, py) * h->spacing / 2 + 0.5f - away, 1);
        }
    }
}

void raster_clear_area(raster *r, const point *outline, size_t count) {
    bounds b = bounds_of(outline, count);
    window w = window_of(r, b.x0, b.y0, b.x1, b.y1);
    for (int y = w.y0; y < w.y1; y++)
        for (int x = w.x0; x < w.x1; x++)
            if (inside(outline, count, (float)x - r->left, (float)y - r->top))
                *dot(r, x, y) = 0;
}
