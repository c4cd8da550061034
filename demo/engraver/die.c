#include "die.h"

#include <math.h>

#include "lettering.h"

#define TURN 6.2831853f

static const point CENTRE = {425, 520};
#define OVAL_X 292.0f
#define OVAL_Y 322.0f

/* ---- engine turning */

/* A band of waves woven into each other, from a to b. */
static void weave(raster *r, point a, point b, float half, int strands) {
    float dx = b.x - a.x, dy = b.y - a.y, length = hypotf(dx, dy);
    float waves = roundf(length / 76);
    for (int strand = 0; strand < strands; strand++) {
        point last = a;
        for (float s = 0; s <= length; s += 3) {
            float phase = TURN * (waves * s / length + (float)strand / (float)strands);
            float off = half * sinf(phase);
            point here = {a.x + dx * s / length - dy * off / length,
                          a.y + dy * s / length + dx * off / length};
            if (s > 0)
                raster_line(r, last, here, 2.1f, 0.95f);
            last = here;
        }
    }
}

/* Nested lobed rings about a centre. */
static void rosette(raster *r, point centre, float radius, int lobes) {
    for (float size = radius; size > 3; size -= 6.2f) {
        point last = {0, 0};
        for (int step = 0; step <= 120; step++) {
            float angle = TURN * (float)step / 120;
            float reach = size * (0.84f + 0.16f * cosf(angle * (float)lobes));
            point here = {centre.x + reach * cosf(angle), centre.y + reach * sinf(angle)};
            if (step)
                raster_line(r, last, here, 2.3f, 1);
            last = here;
        }
    }
}

/* The net behind the oval: two families of lobed rings, turned against each other. */
static float net_at(float x, float y) {
    float angle = atan2f(y - CENTRE.y, x - CENTRE.x);
    float radius = hypotf((x - CENTRE.x) / OVAL_X, (y - CENTRE.y) / OVAL_Y) * 300;
    float ink = 0;
    for (int family = -1; family <= 1; family += 2) {
        float phase = (radius + 7 * sinf((float)family * 40 * angle)) / 12;
        float away = fabsf(phase - floorf(phase) - 0.5f) * 12;
        ink = fmaxf(ink, fminf(fmaxf(1.6f - away, 0), 1));
    }
    return ink;
}

static void turn_ground(raster *r, float x0, float y0, float x1, float y1) {
    for (float y = y0; y < y1; y++)
        for (float x = x0; x < x1; x++)
            if (hypotf((x - CENTRE.x) / (OVAL_X + 16), (y - CENTRE.y) / (OVAL_Y + 16)) > 1)
                r->ink[(size_t)(y + r->top) * (size_t)r->width + (size_t)(x + r->left)] = net_at(x, y);
}

/* ---- the frame */

static void border(raster *r) {
    const float out = 47, right = DIE_WIDTH - out, bottom = DIE_HEIGHT - out;
    raster_frame(r, 3, 3, DIE_WIDTH - 6, DIE_HEIGHT - 6, 6, 1);
    raster_frame(r, 14, 14, DIE_WIDTH - 28, DIE_HEIGHT - 28, 2.2f, 1);
    weave(r, (point){80, out}, (point){DIE_WIDTH - 80, out}, 26, 6);
    weave(r, (point){80, bottom}, (point){DIE_WIDTH - 80, bottom}, 26, 6);
    weave(r, (point){out, 80}, (point){out, DIE_HEIGHT - 80}, 26, 6);
    weave(r, (point){right, 80}, (point){right, DIE_HEIGHT - 80}, 26, 6);
    for (int corner = 0; corner < 4; corner++) {
        point at = {corner & 1 ? right : out, corner & 2 ? bottom : out};
        raster_frame(r, at.x - 32, at.y - 32, 64, 64, 2.2f, 1);
        rosette(r, at, 30, 8);
    }
    raster_frame(r, 80, 80, DIE_WIDTH - 160, DIE_HEIGHT - 160, 4, 1);
}

static void tablet(raster *r, float y, float height, const char *text, lettering style) {
    const point area[] = {{84, y}, {DIE_WIDTH - 84, y}, {DIE_WIDTH - 84, y + height}, {84, y + height}};
    raster_clear_area(r, area, 4);
    raster_hatch(r, area, 4, &(hatch){.angle = 0, .spacing = 6.2f, .tone = 0.62f, .tone_end = 0.62f});
    raster_hatch(r, area, 4, &(hatch){.angle = 0.9f, .spacing = 9, .tone = 0.3f, .tone_end = 0.3f});
    raster_frame(r, 84, y, DIE_WIDTH - 168, height, 3, 1);
    raster_frame(r, 91, y + 7, DIE_WIDTH - 182, height - 14, 1.8f, 1);
    point at = {(DIE_WIDTH - lettering_width(&style, text) + style.tracking + style.height / 4) / 2,
                y + (height + style.height) / 2};
    lettering shade = style;
    shade.stroke += 8;
    lettering_draw(r, &shade, (point){at.x + 2, at.y + 2}, text, 1); /* cast shadow */
    lettering_draw(r, &style, at, text, -1);
}

/* ---- the picture */

/* Fills a smooth outline with lines in one or two directions and cuts its contour. */
static void shape(raster *r, const point *outline, size_t count, const hatch *first, const hatch *second,
                  float contour) {
    point curve[32 * RASTER_SMOOTH];
    size_t made = raster_closed_curve(outline, count, curve);
    raster_clear_area(r, curve, made);
    if (first)
        raster_hatch(r, curve, made, first);
    if (second)
        raster_hatch(r, curve, made, second);
    raster_path(r, curve, made, contour, 1);
    raster_line(r, curve[made - 1], curve[0], contour, 1);
}
#define SHAPE(r, outline, first, second, contour)                                                            \
    shape(r, outline, sizeof(outline) / sizeof *(outline), first, second, contour)

static void scenery(raster *r) {
    point oval[96];
    for (int i = 0; i < 96; i++)
        oval[i] = (point){CENTRE.x + OVAL_X * cosf(TURN * (float)i / 96),
                          CENTRE.y + OVAL_Y * sinf(TURN * (float)i / 96)};
    raster_clear_area(r, oval, 96);
    raster_hatch(
        r, oval, 96,
        &(hatch){
            .spacing = 8.4f, .tone = 0.66f, .tone_end = 0.02f, .fall = 1.35f, .bend = 1.2f, .wave = 0.012f});
    const point hills[] = {{100, 668}, {170, 640}, {240, 612}, {300, 640}, {370, 655}, {450, 640}, {520, 622},
                           {590, 600}, {660, 630}, {715, 655}, {712, 688}, {420, 684}, {120, 690}};
    SHAPE(r, hills, (&(hatch){.angle = 0.95f, .spacing = 7, .tone = 0.25f, .tone_end = 0.6f, .fall = 0.4f}),
          NULL, 2);
    point water[66];
    for (int i = 0; i < 64; i++)
        water[i] = (point){730 - 10 * (float)i, 690};
    water[64] = (point){100, 860};
    water[65] = (point){740, 860};
    raster_clear_area(r, water, 66);
    raster_hatch(
        r, water, 66,
        &(hatch){
            .spacing = 9, .tone = 0.18f, .tone_end = 0.75f, .fall = 1.57f, .bend = 2.6f, .wave = 0.045f});
}

static void reed(raster *r, float x, float y, float height, float lean) {
    const point blade[] = {{x - 5, y},
                           {x - 4 + lean * 0.35f, y - height * 0.5f},
                           {x + lean, y - height},
                           {x + 6 + lean * 0.3f, y - height * 0.45f},
                           {x + 6, y}};
    SHAPE(r, blade, (&(hatch){.angle = 1.45f, .spacing = 5, .tone = 0.2f, .tone_end = 0.9f, .fall = 0}), NULL,
          1.8f);
}

static void reeds(raster *r) {
    static const float stems[][4] = {{222, 800, 250, -44}, {198, 815, 250, 3},  {246, 825, 250, 52},
                                     {180, 790, 210, -58}, {262, 830, 330, -6}, {652, 800, 330, 30},
                                     {630, 815, 250, -40}, {672, 790, 220, 54}, {612, 825, 180, 26}};
    for (size_t i = 0; i < sizeof stems / sizeof *stems; i++)
        reed(r, stems[i][0], stems[i][1], stems[i][2], stems[i][3]);
    const point head[] = {{193, 590}, {200, 566}, {208, 590}, {209, 640}, {201, 650}, {193, 640}};
    SHAPE(r, head, (&(hatch){.angle = 0.5f, .spacing = 4.5f, .tone = 0.6f, .tone_end = 0.95f}), NULL, 2.5f);
}

static void branch(raster *r) {
    const point wood[] = {{150, 742}, {260, 722}, {380, 700}, {500, 690}, {620, 668}, {705, 640},
                          {712, 654}, {640, 690}, {520, 716}, {400, 730}, {280, 752}, {160, 768}};
    SHAPE(r, wood, (&(hatch){.angle = -0.12f, .spacing = 6, .tone = 0.12f, .tone_end = 0.9f, .fall = 1.5f}),
          (&(hatch){.angle = 1.1f, .spacing = 8, .tone = 0.0f, .tone_end = 0.45f, .fall = 1.5f}), 3);
    const point leaf[] = {{560, 690}, {600, 712}, {650, 716}, {690, 700}, {650, 694}, {606, 688}};
    SHAPE(r, leaf, (&(hatch){.angle = 0.7f, .spacing = 5.5f, .tone = 0.7f, .tone_end = 0.15f}), NULL, 2.2f);
}

static void bird_body(raster *r) {
    const point tail[] = {{560, 585}, {592, 640}, {618, 716}, {600, 744}, {574, 738}, {545, 650}, {530, 610}};
    SHAPE(r, tail, (&(hatch){.angle = 1.15f, .spacing = 6, .tone = 0.5f, .tone_end = 0.9f, .fall = 1.2f}),
          NULL, 3);
    const point body[] = {{322, 425}, {330, 385}, {352, 348}, {392, 322}, {436, 326}, {468, 352},
                          {484, 396}, {500, 436}, {536, 492}, {566, 560}, {568, 612}, {536, 652},
                          {480, 676}, {424, 668}, {376, 632}, {346, 578}, {338, 520}, {346, 472}};
    SHAPE(r, body,
          (&(hatch){.angle = 0.75f,
                    .spacing = 8,
                    .tone = 0.08f,
                    .tone_end = 0.6f,
                    .fall = 0.4f,
                    .bend = 5,
                    .wave = 0.03f}),
          (&(hatch){.angle = -0.6f, .spacing = 9, .tone = -0.35f, .tone_end = 0.5f, .fall = 0.9f}), 3.2f);
}

static void bird_head(raster *r) {
    const point cap[] = {{330, 402}, {336, 376}, {354, 346}, {392, 322}, {436, 326}, {470, 354},
                         {492, 410}, {478, 432}, {452, 398}, {412, 372}, {372, 372}};
    SHAPE(r, cap,
          (&(hatch){
              .angle = 0.35f, .spacing = 5.6f, .tone = 0.55f, .tone_end = 0.85f, .bend = 3, .wave = 0.05f}),
          (&(hatch){.angle = 1.75f, .spacing = 9, .tone = 0.15f, .tone_end = 0.4f}), 2.6f);
    const point cheek[] = {{392, 420}, {424, 404}, {456, 420}, {474, 450}, {448, 452}, {414, 440}};
    SHAPE(r, cheek, NULL, NULL, 2);
    const point upper[] = {{334, 386}, {286, 398}, {220, 424}, {158, 452},
                           {220, 440}, {290, 424}, {332, 414}};
    SHAPE(r, upper, (&(hatch){.angle = 2.75f, .spacing = 4.6f, .tone = 0.8f, .tone_end = 0.95f}), NULL, 2.5f);
    const point lower[] = {{332, 416}, {290, 426}, {222, 441}, {166, 454},
                           {230, 450}, {300, 440}, {330, 430}};
    SHAPE(r, lower, (&(hatch){.angle = 2.75f, .spacing = 5.5f, .tone = 0.4f, .tone_end = 0.6f}), NULL, 2.2f);
    raster_disc(r, (point){368, 388}, 15, -1);
    raster_disc(r, (point){368, 388}, 12, 1);
    raster_disc(r, (point){364, 383}, 4, -1);
}

static void bird_wing(raster *r) {
    const point wing[] = {{428, 470}, {474, 452}, {516, 486}, {556, 548}, {590, 624}, {604, 676},
                          {574, 660}, {528, 634}, {474, 600}, {436, 552}, {420, 508}};
    SHAPE(r, wing,
          (&(hatch){.angle = 1.0f,
                    .spacing = 6.6f,
                    .tone = 0.45f,
                    .tone_end = 0.9f,
                    .fall = 0.9f,
                    .bend = 4,
                    .wave = 0.04f}),
          (&(hatch){.angle = -0.35f, .spacing = 12, .tone = 0.2f, .tone_end = 0.35f}), 3);
    static const float feathers[][4] = {{452, 520, 560, 640},
                                        {470, 500, 580, 640},
                                        {492, 496, 594, 648},
                                        {440, 545, 530, 622},
                                        {436, 500, 470, 486}};
    for (size_t i = 0; i < sizeof feathers / sizeof *feathers; i++) {
        const float *f = feathers[i];
        raster_line(r, (point){f[0], f[1]}, (point){f[2], f[3]}, 3.4f, -1);
        raster_line(r, (point){f[0] + 3, f[1] + 3}, (point){f[2] + 3, f[3] + 3}, 2.2f, 1);
    }
    for (int leg = 0; leg < 2; leg++) {
        float x = 448 + 34 * (float)leg;
        raster_line(r, (point){x, 668}, (point){x - 4, 702}, 8, 1);
        for (int toe = -1; toe <= 1; toe++)
            raster_line(r, (point){x - 4, 700}, (point){x - 6 + 13 * (float)toe, 716}, 5, 1);
    }
}

/* Whatever stuck out over the oval is taken away again and the ground turned around it. */
static void oval_frame(raster *r, float y0, float y1) {
    turn_ground(r, 84, y0, DIE_WIDTH - 84, y1);
    point ring[145];
    for (int line = 0; line < 3; line++) {
        static const float reach[] = {14, 9, 2}, stroke[] = {3, 4, 2};
        for (int i = 0; i <= 144; i++)
            ring[i] = (point){CENTRE.x + (OVAL_X + reach[line]) * cosf(TURN * (float)i / 144),
                              CENTRE.y + (OVAL_Y + reach[line]) * sinf(TURN * (float)i / 144)};
        if (line == 0)
            raster_path(r, ring, 145, 14, -1);
        raster_path(r, ring, 145, stroke[line], 1);
    }
}

bool die_engrave(raster *die) {
    if (!raster_make(die, DIE_WIDTH + 2 * DIE_MARGIN, DIE_HEIGHT + 2 * DIE_MARGIN, DIE_MARGIN, DIE_MARGIN))
        return false;
    scenery(die);
    reeds(die);
    branch(die);
    bird_body(die);
    bird_head(die);
    bird_wing(die);
    oval_frame(die, 84, DIE_HEIGHT - 84);
    border(die);
    tablet(die, 84, 104, "SORREL ISLANDS", (lettering){.height = 50, .stroke = 9, .tracking = 2});
    tablet(die, 851, 104, "TWO PENCE", (lettering){.height = 54, .stroke = 10, .tracking = 12});
    return true;
}
