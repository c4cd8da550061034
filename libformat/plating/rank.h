/* How well a place explains what was seen on a stamp: the greatest product of the model in spec/ranking.md.
 */
#ifndef GL_PLATING_RANK_H
#define GL_PLATING_RANK_H

#include "plating/seen.h"

/* A mark that a stamp from the place would show. */
typedef struct gl_shown_mark {
    uint32_t mark; /* the caller's number of it */
    uint32_t appearance;
    gl_spot spot;        /* as it would be seen on this stamp */
    double spread;       /* less than 0: unsaid */
    double visibility;   /* per cent; less than 0: unsaid */
    bool re_entry;       /* of this place, with that cause */
    int8_t down, across; /* from the place to the neighbour whose mark it is; 0, 0: its own */
} gl_shown_mark;

typedef enum gl_verdict {
    GL_MARK_MET,     /* a present observation is assigned to it */
    GL_MARK_DENIED,  /* left over, and somebody says that it is absent */
    GL_MARK_UNCLEAR, /* left over: cancelled, torn, or a margin that nobody saw */
    GL_MARK_SILENT   /* left over, and nobody spoke of it */
} gl_verdict;

/* Why a place has the weight it has. */
typedef struct gl_explanation {
    double log_product;  /* natural logarithm of the better product */
    bool hasty;          /* it is the one for a stamp that was not looked over closely */
    uint32_t *mark_of;   /* for each thing of the sight: index of the mark it met; GL_NONE: left over, or not
                            present */
    double *log_seen;    /* for each thing: the logarithm of its pair or left-over factor; 0: not present */
    gl_verdict *verdict; /* for each mark */
    double *log_mark;    /* for each mark left over: its factor's logarithm; 0 for one that was met */
} gl_explanation;

/* Room for explanations, used again and again. `places` is how many pairs of plate and position are in
 * question: what nothing known explains is one possibility for all of them, not one for each; 0: they are not
 * counted. NULL: memory ran out. */
typedef struct gl_ranker gl_ranker;
gl_ranker *gl_ranker_new(const glassine_ranking *parameters, const gl_sight *sight, uint64_t places);
void gl_ranker_free(gl_ranker *ranker);

/* Refuses a parameter beyond what it can mean. */
glassine_status gl_ranking_check(const glassine_ranking *ranking, glassine_error *error);

double gl_rank_sigma(const glassine_ranking *parameters, const gl_shown_mark *mark);
double gl_rank_visibility(const glassine_ranking *parameters, const gl_shown_mark *mark);
/* Logarithm of the fit of a thing seen to a mark, without the mark's visibility. */
double gl_rank_log_fit(const glassine_ranking *parameters, const gl_seen *thing, const gl_shown_mark *mark);
/* Does an observation that is not of a mark itself speak about its place? */
bool gl_rank_reaches(const glassine_ranking *parameters, const gl_seen *thing, const gl_shown_mark *mark);

/* The explanation lives in the ranker until the next call; NULL: memory ran out. */
const gl_explanation *gl_rank(gl_ranker *ranker, const gl_shown_mark *marks, uint32_t count);

#endif
