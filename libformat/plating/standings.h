/* The standings of a bundle's stamps, kept. Private to this layer. */
#ifndef GL_PLATING_STANDINGS_H
#define GL_PLATING_STANDINGS_H

#include "plating/survey.h"

/* What is left on one plate. */
typedef struct gl_left {
    uint32_t plate, count;
    const gl_posset *positions; /* NULL: every one */
    uint64_t states;
} gl_left;

typedef struct gl_kept_standing {
    gl_standing s; /* without its joint; what it points at lies in the arena */
    gl_left *left; /* plates that are left; none for an unplaced stamp, for which all are */
    uint32_t left_count;
    gl_span *expressions; /* of them, once asked for */
} gl_kept_standing;

struct glassine_standings {
    gl_survey survey;
    gl_kept_standing *all; /* by stamp */
    uint32_t kept;         /* whose group was kept last: stamps tied together share theirs */
    gl_left *left;         /* of the stamp that is being kept */
    size_t left_room;
    uint32_t *conclusion_first, *conclusions; /* of stamp s: conclusions[first[s]] … */
    glassine_record **best_claims; /* by stamp; NULL: none counts. Of standings within a scope NULL. */
    gl_buf shown;
};

/* best_claim.c: finds them. False when memory ran out. */
bool gl_standings_best_claims(glassine_standings *standings);

/* Plates that are left for a stamp, the unplaced ones' too, and what is left on them. */
uint32_t gl_standings_plates(const glassine_standings *standings, uint32_t stamp);
gl_left gl_standings_left(const glassine_standings *standings, uint32_t stamp, uint32_t number);

/* ---- in words (tell.c) ---- */

/* "Specialist says plate 1: 7", "H-020: selvedge at the left": what a statement says, appended. The stamp is
 * named unless it is the one that the sentence is about. */
void gl_tell_statement(const gl_survey *survey, uint32_t statement, uint32_t about, gl_buf *out);
/* "the stamps of H-014 hang together", "Specialist says that H-014 and H-020 come from one position". */
void gl_tell_tie(const gl_survey *survey, uint32_t source, gl_buf *out);
/* "plate 1: 7 (early)" of allowances. */
void gl_tell_allowed(const gl_survey *survey, const gl_allowance *allowed, uint32_t count, gl_buf *out);
/* "plate 1", where a bundle has more than one; nothing else. */
void gl_tell_plate(const gl_survey *survey, uint32_t plate, gl_buf *out);
gl_span gl_tell_label(const gl_survey *survey, glassine_record *record);

#endif
