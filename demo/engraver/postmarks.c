#include "postmarks.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "lettering.h"

static void ring(raster *r, point centre, float radius, float stroke) {
    point points[91];
    for (int i = 0; i <= 90; i++) {
        float angle = 6.2831853f * (float)i / 90;
        points[i] = (point){centre.x + radius * cosf(angle), centre.y + radius * sinf(angle)};
    }
    raster_path(r, points, 91, stroke, 1);
}

/* Bars that together fill an upright oval, the office's number in a gap in their middle. */
void postmark_obliterator(raster *r, point centre, float turn, float scale, int number) {
    const float half_height = 520 * scale, half_width = 400 * scale, step = 86 * scale;
    float sine = sinf(turn), cosine = cosf(turn);
    for (float y = -half_height + step / 2; y < half_height; y += step) {
        float half = half_width * sqrtf(fmaxf(1 - y * y / (half_height * half_height), 0));
        float gap = fabsf(y) < 1.7f * step ? 190 * scale : 0;
        for (int side = -1; side <= 1; side += 2) {
            point a = {(float)side * gap, y}, b = {(float)side * half, y};
            if (half > gap)
                raster_line(
                    r, (point){centre.x + a.x * cosine - a.y * sine, centre.y + a.x * sine + a.y * cosine},
                    (point){centre.x + b.x * cosine - b.y * sine, centre.y + b.x * sine + b.y * cosine},
                    30 * scale, 1);
        }
    }
    char figures[12];
    snprintf(figures, sizeof figures, "%d", number);
    lettering style = {.height = 210 * scale, .stroke = 42 * scale};
    /* Set around a far centre, the figures turn with the bars. */
    float far = 20000 * scale;
    point middle = {centre.x - sine * (105 * scale), centre.y + cosine * (105 * scale)};
    point axis = {middle.x - far * sine, middle.y + far * cosine};
    lettering_arc(r, &style, axis, far, turn - 1.5707963f, true, figures, 1);
}

void postmark_dated(raster *r, point centre, float turn, float scale, const char *town, const char *date) {
    const float radius = 470 * scale;
    ring(r, centre, radius, 16 * scale);
    ring(r, centre, radius * 0.62f, 9 * scale);
    lettering name = {.height = 96 * scale, .stroke = 17 * scale, .tracking = 14 * scale};
    lettering_arc(r, &name, centre, radius * 0.70f, turn - 1.5707963f, true, town, 1);
    lettering islands = {.height = 62 * scale, .stroke = 11 * scale, .tracking = 10 * scale};
    lettering_arc(r, &islands, centre, radius * 0.94f, turn + 1.5707963f, false, "SORREL ISLANDS", 1);

    char lines[3][8] = {{0}};
    sscanf(date, "%7s %7s %7s", lines[0], lines[1], lines[2]);
    lettering figures = {.height = 120 * scale, .stroke = 19 * scale, .tracking = 6 * scale};
    float far = 20000 * scale;
    for (int line = 0; line < 3; line++) {
        float down = (-110.0f + 160.0f * (float)line) * scale; /* base line of each */
        point middle = {centre.x - sinf(turn) * down, centre.y + cosf(turn) * down};
        point axis = {middle.x - far * sinf(turn), middle.y + far * cosf(turn)};
        lettering_arc(r, &figures, axis, far, turn - 1.5707963f, true, lines[line], 1);
    }
}
