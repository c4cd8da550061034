#include "plating/counting.h"

#include "base/text.h"

void gl_claims_count(const gl_claim_status *claims, size_t count, bool *counts) {
    for (size_t i = 0; i < count; i++)
        counts[i] = !claims[i].withdrawn;
    for (size_t i = 0; i < count; i++) {
        uint32_t replaced = claims[i].instead_of;
        if (replaced < count && replaced != i && claims[replaced].author == claims[i].author &&
            claims[replaced].stamp == claims[i].stamp)
            counts[replaced] = false;
    }
}

void gl_imposed_selvedge(const gl_plan *plan, unsigned sides, gl_posset *out) {
    uint32_t rows = plan->rows * plan->panes_down, columns = plan->columns * plan->panes_across;
    gl_posset_clear(out);
    for (uint32_t i = 0; i < plan->count; i++) {
        glassine_place place = gl_plan_place(plan, i);
        bool fits = (!(sides & GL_SIDE_LEFT) || place.sheet_column == 1) &&
                    (!(sides & GL_SIDE_RIGHT) || place.sheet_column == columns) &&
                    (!(sides & GL_SIDE_TOP) || place.sheet_row == 1) &&
                    (!(sides & GL_SIDE_BOTTOM) || place.sheet_row == rows);
        if (fits)
            gl_posset_add(out, i);
    }
}

static bool letter_fits(char read, char letter) {
    return read == '?' || read == letter || read == letter - 'A' + 'a';
}

bool gl_imposed_letters(const gl_plan *plan, gl_span letters, gl_posset *out) {
    letters = gl_text_trim(letters);
    if (letters.length != 2 || gl_plan_place(plan, 0).letters[0] == '\0')
        return false;
    for (size_t i = 0; i < 2; i++) {
        char c = letters.text[i];
        if (c != '?' && !(c >= 'A' && c <= 'Z') && !(c >= 'a' && c <= 'z'))
            return false;
    }
    gl_posset_clear(out);
    for (uint32_t i = 0; i < plan->count; i++) {
        glassine_place place = gl_plan_place(plan, i);
        if (letter_fits(letters.text[0], place.letters[0]) && letter_fits(letters.text[1], place.letters[1]))
            gl_posset_add(out, i);
    }
    return true;
}

/* ---- margin marks ---- */

static void add_shifted(const gl_plan *plan, const gl_posset *positions, int down, int across,
                        gl_posset *out) {
    for (uint32_t i = gl_posset_next(positions, 0); i != GL_NONE; i = gl_posset_next(positions, i + 1)) {
        uint32_t there = gl_plan_step(plan, i, down, across);
        if (there != GL_NONE)
            gl_posset_add(out, there);
    }
}

/* Positions that lie `-down` and `-across` from those of the mark see it moved by as many pitches the other
 * way. */
static void add_views(const gl_plan *plan, const gl_posset *positions, gl_spot spot, gl_spot seen,
                      double near, double pitch_x, double pitch_y, gl_posset *out) {
    for (int down = -1; down <= 1; down++) {
        for (int across = -1; across <= 1; across++) {
            gl_spot there = {true, spot.x + across * pitch_x, spot.y + down * pitch_y};
            bool own = down == 0 && across == 0;
            bool shows = gl_spot_between(there, pitch_x, pitch_y);
            if ((own || shows) && (!seen.known || gl_spot_distance(there, seen) <= near))
                add_shifted(plan, positions, -down, -across, out);
        }
    }
}

void gl_imposed_mark(const gl_plan *plan, const gl_posset *positions, gl_spot spot, gl_spot seen, double near,
                     double pitch_x, double pitch_y, gl_posset *out) {
    gl_posset_clear(out);
    add_views(plan, positions, spot, seen, near, pitch_x, pitch_y, out);
    if (gl_posset_empty(out)) /* seen where it is on none of them: its place says nothing then */
        add_views(plan, positions, spot, (gl_spot){false, 0, 0}, near, pitch_x, pitch_y, out);
}

bool gl_imposed_plate_number(gl_span label, gl_span number) {
    return gl_plan_names_equal(gl_text_trim(label), gl_text_trim(number));
}
