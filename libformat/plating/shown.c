/* The marks that a stamp from a place would show: its own in that state, and of its neighbours those that lie
 * in the margin between the two. */
#include "plating/locate.h"

static bool in_state(const gl_known_mark *mark, uint32_t state) {
    return state >= mark->first_state && state <= mark->last_state;
}

static bool add(gl_shown_list *list, const gl_known_mark *known, uint32_t number, int down, int across,
                gl_spot spot) {
    gl_shown_mark *moved = gl_grow(list->marks, &list->room, (size_t)list->count + 1, sizeof *moved);
    if (!moved)
        return false;
    list->marks = moved;
    list->marks[list->count++] = (gl_shown_mark){.mark = number,
                                                 .appearance = known->appearance,
                                                 .spot = spot,
                                                 .spread = known->spread,
                                                 .visibility = known->visibility,
                                                 .re_entry = known->re_entry && down == 0 && across == 0,
                                                 .down = (int8_t)down,
                                                 .across = (int8_t)across};
    return true;
}

/* As seen from the stamp whose neighbour, `down` rows below and `across` columns right, has the mark. */
static gl_spot seen_from(const gl_ranked_plate *plate, gl_spot spot, int down, int across) {
    return (gl_spot){true, spot.x + across * plate->pitch_x, spot.y + down * plate->pitch_y};
}

static bool add_neighbours(const gl_ranked_plate *plate, const gl_known_mark *known, uint32_t number,
                           uint32_t position, gl_shown_list *list) {
    for (int down = -1; down <= 1; down++) {
        for (int across = -1; across <= 1; across++) {
            gl_spot spot = seen_from(plate, known->spot, down, across);
            if ((down == 0 && across == 0) || !gl_spot_between(spot, plate->pitch_x, plate->pitch_y))
                continue;
            uint32_t neighbour = gl_plan_step(plate->plan, position, down, across);
            if (neighbour != GL_NONE && gl_posset_has(known->positions, neighbour) &&
                !add(list, known, number, down, across, spot))
                return false;
        }
    }
    return true;
}

bool gl_locate_shown(const gl_locate_question *question, uint32_t plate, uint32_t position, uint32_t state,
                     gl_shown_list *list) {
    const gl_ranked_plate *from = &question->plates[plate];
    list->count = 0;
    for (uint32_t i = 0; i < question->mark_count; i++) {
        const gl_known_mark *known = &question->marks[i];
        if (known->plate != plate || !known->positions || !in_state(known, state))
            continue;
        if (gl_posset_has(known->positions, position) && !add(list, known, i, 0, 0, known->spot))
            return false;
        if (gl_spot_margins(known->spot) && !add_neighbours(from, known, i, position, list))
            return false;
    }
    return true;
}
