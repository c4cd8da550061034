#include "plate.h"

#include <math.h>
#include <string.h>

#include "die.h"
#include "lettering.h"
#include "noise.h"

#define COLUMN_DOT(c, x, y)                                                                                  \
    { 0, c, "dot", "layout", "plate", NULL, x, y, 85, false, NULL, NULL }
#define ROW_DOT(r, x, y)                                                                                     \
    { r, 0, "dot", "layout", "plate", NULL, x, y, 85, false, NULL, NULL }

const plate_mark PLATE_MARKS[] = {
    /* The layer-out's dots: under the lower frame line one for each column, left of the frame one for each
       row. */
    COLUMN_DOT(1, 96, 1020),
    COLUMN_DOT(2, 181, 1023),
    COLUMN_DOT(3, 274, 1019),
    COLUMN_DOT(4, 358, 1022),
    COLUMN_DOT(5, 449, 1021),
    COLUMN_DOT(6, 536, 1018),
    COLUMN_DOT(7, 627, 1023),
    COLUMN_DOT(8, 712, 1020),
    COLUMN_DOT(9, 801, 1022),
    COLUMN_DOT(10, 889, 1019),
    ROW_DOT(1, -24, 72),
    ROW_DOT(2, -22, 148),
    ROW_DOT(3, -25, 229),
    ROW_DOT(4, -23, 304),
    ROW_DOT(5, -24, 386),
    ROW_DOT(6, -22, 461),
    ROW_DOT(7, -25, 540),
    ROW_DOT(8, -23, 618),
    ROW_DOT(9, -22, 694),
    ROW_DOT(10, -25, 775),
    ROW_DOT(11, -23, 851),
    ROW_DOT(12, -24, 930),

    {1, 4, "doubling", "re_entry", "plate", NULL, 480, 4, 90, false, NULL, "Top frame line doubled upwards"},
    {1, 4, "doubling", "re_entry", "plate", NULL, 4, 180, 70, false, NULL, NULL},
    {1, 7, "guide_line", "layout", "plate", NULL, 512, -22, 80, false, NULL, "Across the upper margin"},
    {2, 2, "flaw", "damage", "plate", "Pebble flaw", 233, 640, 90, false, NULL, NULL},
    {2, 9, "doubling", "re_entry", "plate", NULL, 996, 420, 90, false, NULL,
     "Right frame line doubled outwards"},
    {2, 9, "doubling", "re_entry", "plate", NULL, 820, 996, 70, false, NULL, NULL},
    {3, 5, "remains", "misplaced_entry", "plate", NULL, 700, -22, 70, false, NULL,
     "Left of an entry made too high"},
    {3, 6, "guide_line", "layout", "plate", NULL, -16, 880, 80, false, NULL, "Down the left margin"},
    {3, 10, "scratch", "damage", "plate", NULL, 640, 300, 80, false, NULL, NULL},
    {4, 1, "flaw", "damage", "plate", "Blot in the upper corner", 880, 120, 90, false, NULL, NULL},
    {4, 8, "doubling", "shifted_transfer", "plate", NULL, 500, 996, 85, false, NULL, "Lower frame line only"},
    {4, 8, "burr", NULL, "plate", NULL, 6, 700, 60, false, NULL, NULL},
    {5, 3, "doubling", "re_entry", "plate", NULL, 4, 480, 90, false, NULL,
     "Left frame line doubled outwards"},
    {5, 3, "doubling", "re_entry", "plate", NULL, 200, 4, 70, false, NULL, NULL},
    {5, 4, "guide_line", "layout", "plate", NULL, 1016, 60, 80, false, NULL, NULL},
    {5, 7, "flaw", "damage", "plate", "Drop under the branch", 655, 800, 90, false, NULL, NULL},
    {6, 2, "recut", "repair", "plate", NULL, 996, 300, 75, true, NULL, "Right frame line cut again by hand"},
    {6, 3, "flaw", "damage", "plate", "Hole in the ground", 150, 250, 90, false, NULL, NULL},
    {6, 6, "scratch", "damage", "plate", NULL, 350, 700, 80, false, NULL, NULL},
    {6, 10, "guide_line", "layout", "plate", NULL, 480, 1024, 80, false, NULL, "Across the lower margin"},
    {7, 1, "remains", "misplaced_entry", "plate", NULL, 300, 1022, 70, false, NULL, NULL},
    {7, 5, "doubling", "re_entry", "plate", NULL, 780, 4, 90, false, NULL, NULL},
    {8, 6, "crack", "damage", "plate", "Plate crack, left part", 860, 540, 90, true, NULL,
     "Runs on into 8/7"},
    {8, 7, "crack", "damage", "plate", "Plate crack, right part", 140, 560, 90, true, NULL,
     "Comes out of 8/6"},
    {8, 9, "flaw", "damage", "plate", NULL, 520, 150, 85, true, NULL, NULL},
    {9, 2, "guide_line", "layout", "plate", NULL, -16, 120, 80, false, NULL, NULL},
    {9, 4, "doubling", "fresh_entry", "plate", NULL, 4, 850, 90, true, NULL,
     "Entered afresh before the late state"},
    {9, 4, "doubling", "fresh_entry", "plate", NULL, 640, 996, 75, true, NULL, NULL},
    {9, 10, "flaw", "damage", "plate", "Tick in the corner", 905, 905, 90, false, NULL, NULL},
    {10, 3, "burr", NULL, "plate", NULL, 994, 620, 60, false, NULL, NULL},
    {10, 8, "recut", "repair", "plate", NULL, 4, 300, 75, true, NULL, "Left frame line cut again by hand"},
    {11, 1, "scratch", "damage", "plate", NULL, 500, 480, 80, false, NULL, NULL},
    {11, 6, "doubling", "re_entry", "plate", NULL, 996, 760, 90, false, NULL, NULL},
    {12, 4, "imprint", NULL, "plate", NULL, 700, 1068, 90, false, "ENGRAVED AND", NULL},
    {12, 5, "imprint", NULL, "plate", NULL, 500, 1068, 90, false, "PRINTED BY TARN", NULL},
    {12, 6, "imprint", NULL, "plate", NULL, 500, 1068, 90, false, "AND PELLOW OF", NULL},
    {12, 7, "imprint", NULL, "plate", NULL, 300, 1068, 90, false, "PORT SORREL", NULL},
    {12, 10, "flaw", "damage", "plate", "Nick in the lower ground", 112, 800, 90, false, NULL, NULL},
};
const size_t PLATE_MARK_COUNT = sizeof PLATE_MARKS / sizeof *PLATE_MARKS;

bool plate_mark_is_at(const plate_mark *mark, int row, int column, plate_state state) {
    return (!mark->row || mark->row == row) && (!mark->column || mark->column == column) &&
           (!mark->late_only || state == LATE);
}

/* ---- the look of each mark */

/* The design once more, a little off its place, in a window around the mark. */
static void doubled(raster *print, const raster *die, point at, float reach, float ink, uint32_t patches) {
    bool upright = at.x < 100 || at.x > DIE_WIDTH - 100;
    float dx = at.x < 100 ? -11.0f : at.x > DIE_WIDTH - 100 ? 11.0f : 3.0f;
    float dy = upright ? 4.0f : at.y < 100 ? -11.0f : 11.0f;
    float reach_x = upright ? 60 : reach, reach_y = upright ? reach : 60;
    for (float y = at.y - reach_y; y < at.y + reach_y; y++) {
        for (float x = at.x - reach_x; x < at.x + reach_x; x++) {
            float along = upright ? (y - at.y) / reach_y : (x - at.x) / reach_x;
            float force = ink * (1 - along * along * along * along);
            if (patches && noise_smooth(patches, x / 26, y / 14) < 0.5f)
                continue;
            int column = (int)(x + print->left), row = (int)(y + print->top);
            if (column < 0 || row < 0 || column >= print->width || row >= print->height)
                continue;
            float *under = print->ink + (size_t)row * (size_t)print->width + (size_t)column;
            *under = fmaxf(*under, force * raster_at(die, x - dx, y - dy));
        }
    }
}

static void wander(raster *print, point at, float length, float angle, float width, float rough,
                   uint32_t seed) {
    dice d = {seed, 0};
    point last = {at.x - length / 2 * cosf(angle), at.y - length / 2 * sinf(angle)};
    for (float s = 0; s < length; s += 14) {
        float turn = angle + dice_between(&d, -rough, rough);
        point here = {last.x + 14 * cosf(turn), last.y + 14 * sinf(turn)};
        raster_line(print, last, here, width * dice_between(&d, 0.6f, 1.1f), 1);
        last = here;
    }
}

static void blot(raster *print, point at, uint32_t seed) {
    dice d = {seed, 0};
    raster_disc(print, at, 22, -1);
    raster_disc(print, at, 9, 1);
    for (int i = 0; i < 9; i++) {
        point off = {at.x + dice_between(&d, -9, 9), at.y + dice_between(&d, -8, 8)};
        raster_disc(print, off, dice_between(&d, 5, 9), 1);
    }
}

static void straight(raster *print, point at, bool upright, float length, float width) {
    point half = upright ? (point){0, length / 2} : (point){length / 2, 0};
    raster_line(print, (point){at.x - half.x, at.y - half.y}, (point){at.x + half.x, at.y + half.y}, width,
                1);
}

static void burr(raster *print, point at, uint32_t seed) {
    dice d = {seed, 0};
    for (int i = 0; i < 60; i++) {
        point from = {at.x + dice_between(&d, -7, 7), at.y + dice_between(&d, -75, 75)};
        raster_line(print, from, (point){from.x + dice_between(&d, -9, 9), from.y + 5}, 2, 0.75f);
    }
}

static void draw_mark(raster *print, const raster *die, const plate_mark *mark, uint32_t seed) {
    const char *look = mark->appearance;
    point at = {(float)mark->x * DIE_WIDTH / 1000, (float)mark->y * DIE_HEIGHT / 1000};
    bool upright = mark->x < 100 || mark->x > 900;
    if (strcmp(look, "dot") == 0)
        raster_disc(print, at, 6.0f, 1);
    else if (strcmp(look, "doubling") == 0)
        doubled(print, die, at, 190, 0.95f, 0);
    else if (strcmp(look, "remains") == 0)
        doubled(print, die, at, 90, 0.9f, seed | 1);
    else if (strcmp(look, "flaw") == 0)
        blot(print, at, seed);
    else if (strcmp(look, "scratch") == 0)
        wander(print, at, 260, 0.9f, 3.4f, 0.05f, seed);
    else if (strcmp(look, "crack") == 0)
        wander(print, at, 330, 0.12f, 5.5f, 0.8f, seed);
    else if (strcmp(look, "recut") == 0)
        straight(print, at, upright, 240, 11);
    else if (strcmp(look, "guide_line") == 0)
        straight(print, at, upright, 220, 2.6f);
    else if (strcmp(look, "burr") == 0)
        burr(print, at, seed);
    if (mark->text) {
        lettering style = {.height = 17, .stroke = 3, .tracking = 3};
        at.x -= lettering_width(&style, mark->text) / 2;
        lettering_draw(print, &style, (point){at.x, at.y + 8}, mark->text, 1);
    }
}

/* Fine lines give out first, in patches; what was cut deep stays. */
static void wear(raster *print, uint32_t seed) {
    for (int y = 0; y < print->height; y++) {
        for (int x = 0; x < print->width; x++) {
            float *ink = print->ink + (size_t)y * (size_t)print->width + (size_t)x;
            if (*ink <= 0)
                continue;
            float worn = 0.30f * noise_smooth(seed, (float)x / 90, (float)y / 90) +
                         0.28f * noise_smooth(seed + 5, (float)x / 5, (float)y / 5);
            *ink = fmaxf(*ink - worn, 0) / (1 - 0.3f);
            *ink = fminf(*ink, 0.92f);
        }
    }
}

void plate_subject(raster *print, const raster *die, int row, int column, plate_state state) {
    memcpy(print->ink, die->ink, (size_t)die->width * (size_t)die->height * sizeof *die->ink);
    for (size_t i = 0; i < PLATE_MARK_COUNT; i++)
        if (plate_mark_is_at(PLATE_MARKS + i, row, column, EARLY))
            draw_mark(print, die, PLATE_MARKS + i, (uint32_t)i * 31 + 7);
    if (state == EARLY)
        return;
    wear(print, (uint32_t)(row * PLATE_COLUMNS + column));
    for (size_t i = 0; i < PLATE_MARK_COUNT; i++)
        if (PLATE_MARKS[i].late_only && plate_mark_is_at(PLATE_MARKS + i, row, column, LATE))
            draw_mark(print, die, PLATE_MARKS + i, (uint32_t)i * 31 + 7);
}
