/* Stamps that are tied together, on one grid: where each lies relative to the others. Private to the
 * standings. */
#ifndef GL_PLATING_FRAME_H
#define GL_PLATING_FRAME_H

#include "plating/standing.h"

/* Members of one component of ties. */
typedef struct gl_member {
    uint32_t stamp;
    uint32_t piece;       /* members of one piece hang together */
    int64_t down, across; /* from the piece's first member */
    uint32_t printing;    /* members of one printing are in one state */
} gl_member;

typedef struct gl_piece {
    uint32_t first; /* member */
    bool torn;      /* its ties contradict each other */
    int64_t least_down, most_down, least_across, most_across;
} gl_piece;

typedef struct gl_frame {
    gl_member *members; /* ascending by stamp */
    uint32_t member_count;
    gl_piece *pieces;
    uint32_t piece_count;
    uint32_t printing_count;
} gl_frame;

/* Ties of each stamp, and components. */
typedef struct gl_tied {
    const gl_standing_question *question;
    uint32_t *first, *ties; /* ties of stamp s: ties[first[s]] … */
    uint32_t *member_of;    /* of a stamp, in the frame last laid */
    bool *without;          /* of a source, for trying without it; false between uses */
} gl_tied;

bool gl_tied_make(const gl_standing_question *question, gl_tied *tied);
void gl_tied_free(gl_tied *tied);
/* The stamps that hang together with `stamp`, ascending, into `stamps` (room for all); `seen` marks them. */
uint32_t gl_tied_component(const gl_tied *tied, uint32_t stamp, bool *seen, uint32_t *stamps);

/* Lays the stamps out, without the ties of the sources marked in `without` (NULL: with all). */
bool gl_frame_lay(gl_tied *tied, const uint32_t *stamps, uint32_t count, const bool *without,
                  gl_frame *frame);
void gl_frame_free(gl_frame *frame);

#endif
