#include "lettering.h"

#include <math.h>
#include <string.h>

#include "noise.h"

/* A glyph is strokes parted by spaces; a stroke is pairs of grid figures, x then y. Capitals stand between y
 * = 0 and 6, the base line is 6 and small letters hang down to 8. A stroke that starts with '~' is rounded
 * off. */
typedef struct glyph {
    char letter;
    const char *strokes;
} glyph;

static const glyph GLYPHS[] = {
    {'A', "062046 1434"},
    {'B', "0006 ~00303303 ~03434606"},
    {'C', "~414000064645"},
    {'D', "0006 ~00404606"},
    {'E', "400006 0646 0333"},
    {'F', "400006 0333"},
    {'G', "~41400006464323"},
    {'H', "0006 4046 0343"},
    {'I', "0006"},
    {'J', "~30360605"},
    {'K', "0006 4003 1246"},
    {'L', "000646"},
    {'M', "0600 0034 3460 6066"},
    {'N', "0600 0046 4640"},
    {'O', "~200006464020"},
    {'P', "0006 ~00404303"},
    {'Q', "~200006464020 3457"},
    {'R', "0006 ~00404303 2346"},
    {'S', "~4140000343460605"},
    {'T', "0040 2026"},
    {'U', "~00064640"},
    {'V', "0026 2640"},
    {'W', "0016 1633 3356 5660"},
    {'X', "0046 4006"},
    {'Y', "0023 4023 2326"},
    {'Z', "0040 4006 0646"},
    {'0', "~100006363010"},
    {'1', "0110 1016"},
    {'2', "~0100303206 0636"},
    {'3', "~0100303313 ~1333360605"},
    {'4', "200434 2326"},
    {'5', "3000 0002 ~0232360605"},
    {'6', "~300006363303"},
    {'7', "0030 3016"},
    {'8', "~100003333010 ~130306363313"},
    {'9', "~063630000333"},
    {'.', "0606"},
    {',', "060508"},
    {'-', "0323"},
    {'/', "0620"},
    {'\'', "0002"},
    {'a', "~3303063633 3336"},
    {'b', "0006 ~03333606"},
    {'c', "~343303063635"},
    {'d', "~3303063633 3036"},
    {'e', "0434 ~343303063635"},
    {'f', "~201016 0323"},
    {'g', "~3303063633 ~33380807"},
    {'h', "0006 ~04033336"},
    {'i', "0306 0101"},
    {'j', "~13180807 1111"},
    {'k', "0006 2304 0426"},
    {'l', "~000616"},
    {'m', "0306 ~04032326 ~24234346"},
    {'n', "0306 ~04033336"},
    {'o', "~130306363313"},
    {'p', "0308 ~03333606"},
    {'q', "~3303063633 3338"},
    {'r', "0306 ~04031323"},
    {'s', "~230304252606"},
    {'t', "~111626 0323"},
    {'u', "~03063633 3336"},
    {'v', "0316 1623"},
    {'w', "0316 1623 2336 3643"},
    {'x', "0336 3306"},
    {'y', "0316 3308"},
    {'z', "0333 3306 0636"},
};

static const glyph *glyph_of(char letter) {
    for (size_t i = 0; i < sizeof GLYPHS / sizeof *GLYPHS; i++)
        if (GLYPHS[i].letter == letter)
            return GLYPHS + i;
    return NULL;
}

/* Cuts the corners of an open line twice over, which rounds it off. */
static size_t round_off(point *p, size_t count, size_t room) {
    point cut[128];
    for (int turn = 0; turn < 3 && count > 2 && count * 2 <= room; turn++) {
        size_t made = 0;
        cut[made++] = p[0];
        for (size_t i = 0; i + 1 < count; i++) {
            const point a = p[i], b = p[i + 1];
            cut[made++] = (point){a.x * 0.75f + b.x * 0.25f, a.y * 0.75f + b.y * 0.25f};
            cut[made++] = (point){a.x * 0.25f + b.x * 0.75f, a.y * 0.25f + b.y * 0.75f};
        }
        cut[made - 1] = p[count - 1];
        memcpy(p, cut, made * sizeof *p);
        count = made;
    }
    return count;
}

/* One stroke of a glyph, in grid units; returns where the next one starts. */
static const char *stroke_points(const char *text, point *out, size_t room, size_t *count) {
    bool rounded = *text == '~';
    size_t made = 0;
    text += rounded;
    while (text[0] && text[0] != ' ' && text[1] && text[1] != ' ') {
        if (made < room / 4)
            out[made++] = (point){(float)(text[0] - '0'), (float)(text[1] - '0')};
        text += 2;
    }
    *count = rounded ? round_off(out, made, room) : made;
    while (*text && *text != ' ')
        text++;
    return *text == ' ' ? text + 1 : text;
}

/* Where a text is put: along a line or around a centre. */
typedef struct setting {
    const lettering *style;
    bool around, outwards;
    point at;
    float radius, angle;
} setting;

static point place(const setting *s, float x, float y) { /* y: up from the base line */
    x += y * s->style->slant;
    if (!s->around)
        return (point){s->at.x + x, s->at.y - y};
    float out = s->outwards ? s->radius + y : s->radius - y;
    float turn = s->angle + (s->outwards ? x : -x) / s->radius;
    return (point){s->at.x + cosf(turn) * out, s->at.y + sinf(turn) * out};
}

/* Upright strokes are heavy and level ones light, as a graver cuts them. */
static float stroke_width(const lettering *style, point a, point b) {
    float length = hypotf(b.x - a.x, b.y - a.y);
    float upright = length > 0 ? fabsf(b.y - a.y) / length : 1;
    return style->stroke * (0.55f + 0.45f * upright);
}

static void draw_glyph(raster *r, const setting *s, const glyph *g, float x, float ink, dice *hand) {
    float unit = s->style->height / 6;
    float raise = dice_between(hand, -1, 1) * s->style->shake, tilt = dice_between(hand, -0.15f, 0.15f);
    point p[128];
    for (const char *text = g->strokes; *text;) {
        size_t count;
        text = stroke_points(text, p, 128, &count);
        for (size_t i = 0; i < count; i++) {
            float err = s->style->shake * dice_between(hand, -0.3f, 0.3f);
            p[i].x = p[i].x * unit + err + (s->style->shake > 0 ? tilt * (6 - p[i].y) * unit : 0);
            p[i].y = (6 - p[i].y) * unit + raise + err;
        }
        for (size_t i = count == 1 ? 0 : 1; i < count; i++) {
            const point a = p[i ? i - 1 : 0], b = p[i];
            raster_line(r, place(s, x + a.x, a.y), place(s, x + b.x, b.y), stroke_width(s->style, a, b), ink);
        }
    }
}

static float glyph_width(const glyph *g) { /* in grid units */
    char most = '0';
    for (const char *text = g->strokes + (*g->strokes == '~'); *text && text[1]; text += 2) {
        while (*text == ' ' || *text == '~')
            text++;
        if (*text > most)
            most = *text;
    }
    return (float)(most - '0');
}

static float advance(const lettering *style, char letter) {
    const glyph *g = glyph_of(letter);
    float unit = style->height / 6;
    float width = g ? glyph_width(g) * unit + unit * 1.7f : unit * 3;
    return width + style->tracking;
}

float lettering_width(const lettering *style, const char *text) {
    float width = 0;
    for (; *text; text++)
        width += advance(style, *text);
    return width;
}

static void draw(raster *r, const setting *s, float x, const char *text, float ink) {
    dice hand = {s->style->seed, 0};
    for (; *text; text++) {
        const glyph *g = glyph_of(*text);
        if (g)
            draw_glyph(r, s, g, x, ink, &hand);
        x += advance(s->style, *text);
    }
}

void lettering_draw(raster *r, const lettering *style, point at, const char *text, float ink) {
    setting s = {.style = style, .at = at};
    draw(r, &s, 0, text, ink);
}

void lettering_arc(raster *r, const lettering *style, point centre, float radius, float angle, bool outwards,
                   const char *text, float ink) {
    setting s = {style, true, outwards, centre, radius, angle};
    draw(r, &s, -lettering_width(style, text) / 2, text, ink);
}
