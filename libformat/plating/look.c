/* Where to look next: for each known mark of the leading places, how much its being there or not is expected
 * to tell. An answer is yes with the mark's visibility at a place that has such a mark there, and with the
 * chance of something stray elsewhere; the expected information is that between answer and place (Shannon
 * 1948). */
#include <math.h>
#include <stdlib.h>

#include "plating/locate.h"

#define CONSIDERED 64u    /* leading places whose marks are considered */
#define WEIGHT_LEAST 1e-7 /* places below it cannot change an answer that people see */

/* Chances of a yes at every place, under one look after another. */
typedef struct chances {
    const gl_locate_question *question;
    const gl_locate *locate;
    uint32_t count;       /* places that weigh something */
    gl_shown_list *shown; /* for each of them */
} chances;

static double uncertainty(double p) {
    return p <= 0 || p >= 1 ? 0 : -p * log2(p) - (1 - p) * log2(1 - p);
}

/* Somebody has answered this already. */
static bool answered(const gl_locate_question *question, const gl_shown_mark *mark) {
    for (uint32_t i = 0; i < question->sight->count; i++)
        if (gl_rank_reaches(question->parameters, &question->sight->things[i], mark))
            return true;
    return false;
}

static double chance_at(const gl_locate_question *question, const gl_shown_list *shown,
                        const gl_shown_mark *look) {
    const gl_seen asked = {.appearance = look->appearance, .spot = look->spot};
    double chance = question->parameters->stray;
    for (uint32_t i = 0; i < shown->count; i++)
        if (asked.spot.known == shown->marks[i].spot.known &&
            gl_rank_reaches(question->parameters, &asked, &shown->marks[i]))
            chance = fmax(chance, gl_rank_visibility(question->parameters, &shown->marks[i]));
    return chance;
}

static void consider(const chances *c, const gl_shown_mark *mark, gl_look *best) {
    if (answered(c->question, mark))
        return;
    double yes = 0, left = 0;
    for (uint32_t i = 0; i < c->count; i++) {
        double chance = chance_at(c->question, &c->shown[i], mark);
        yes += c->locate->places[i].weight * chance;
        left += c->locate->places[i].weight * uncertainty(chance);
    }
    double bits = uncertainty(yes) - left;
    if (bits > best->bits + 1e-9)
        *best = (gl_look){mark->mark, mark->spot, mark->down, mark->across, bits, yes};
}

static bool gather(chances *c) {
    while (c->count < c->locate->count && c->locate->places[c->count].weight >= WEIGHT_LEAST)
        c->count++;
    c->shown = calloc(c->count + 1, sizeof *c->shown);
    bool room = c->shown != NULL;
    for (uint32_t i = 0; i < c->count && room; i++) {
        const gl_ranked_place *place = &c->locate->places[i];
        room = gl_locate_shown(c->question, place->plate, place->position, place->state, &c->shown[i]);
    }
    return room;
}

glassine_status gl_locate_next(const gl_locate_question *question, const gl_locate *locate, gl_look *look,
                               glassine_error *error) {
    chances c = {.question = question, .locate = locate};
    *look = (gl_look){.mark = GL_NONE};
    bool room = gather(&c);
    for (uint32_t i = 0; room && i < c.count && i < CONSIDERED; i++)
        for (uint32_t j = 0; j < c.shown[i].count; j++)
            consider(&c, &c.shown[i].marks[j], look);
    for (uint32_t i = 0; c.shown && i < c.count; i++)
        free(c.shown[i].marks);
    free(c.shown);
    return room ? GLASSINE_OK : gl_fail_memory(error);
}
