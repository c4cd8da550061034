/* Which claims count, and what the item itself imposes (spec/standing.md). */
#ifndef GL_PLATING_COUNTING_H
#define GL_PLATING_COUNTING_H

#include "plating/plan.h"
#include "plating/posset.h"
#include "plating/seen.h"

/* ---- claims ---- */

typedef struct gl_claim_status {
    uint32_t author, stamp;
    bool withdrawn;
    uint32_t instead_of; /* index of the claim that it replaces; GL_NONE */
} gl_claim_status;

/* counts[i]: the claim is neither withdrawn nor replaced. A claim replaces one of its own author on the same
 * stamp, and goes on replacing it when it is withdrawn itself; it cannot replace itself. */
void gl_claims_count(const gl_claim_status *claims, size_t count, bool *counts);

/* ---- what the item imposes ---- */

#define GL_SIDE_LEFT 1u
#define GL_SIDE_RIGHT 2u
#define GL_SIDE_TOP 4u
#define GL_SIDE_BOTTOM 8u

/* Selvedge attached on these sides: the outermost row or column of the whole plate. `out` over the plate. */
void gl_imposed_selvedge(const gl_plan *plan, unsigned sides, gl_posset *out);

/* Corner letters as read, two characters, '?' for one that cannot be read. False where they say nothing about
 * this plate: it has no letters, or they are not two letters. `out` may come out empty. */
bool gl_imposed_letters(const gl_plan *plan, gl_span letters, gl_posset *out);

/* A margin mark that was seen at `seen` (unknown: somewhere) and is held to be the known one at `spot` with
 * `positions`: those, and the neighbours on whose stamps it would show in that place. Pitches as in
 * gl_ranked_plate; `near` is how far off it may be seen. */
void gl_imposed_mark(const gl_plan *plan, const gl_posset *positions, gl_spot spot, gl_spot seen, double near,
                     double pitch_x, double pitch_y, gl_posset *out);

/* Does the plate's label say the plate number that is on the stamp? ASCII case and white space at the ends do
 * not matter. */
bool gl_imposed_plate_number(gl_span label, gl_span number);

#endif
