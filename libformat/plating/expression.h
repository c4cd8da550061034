/* Expressions that name positions on a plate (spec/expressions.md): reading and writing them. */
#ifndef GL_PLATING_EXPRESSION_H
#define GL_PLATING_EXPRESSION_H

#include "plating/plan.h"
#include "plating/posset.h"

/* Names of the plate's states, for the initial in 7R1E; names == NULL: not known, every initial will do. */
typedef struct gl_state_names {
    const gl_span *names;
    size_t count;
} gl_state_names;

typedef struct gl_expression {
    gl_posset set;      /* never empty */
    gl_span state_said; /* the initial as written, a span into the text; absent: none */
    uint32_t state;     /* which of the names; GL_NONE: none said, or names not known */
} gl_expression;

#define GL_EXPRESSION_NONE ((gl_expression){GL_POSSET_NONE, {NULL, 0}, GL_NONE})

/* Bytes an expression for this plate may have; every canonical one is shorter. */
size_t gl_expression_most(const gl_plan *plan);

/* R200–R209, R212; *at (may be NULL) is the character, from 1, that the error is about. `states` may be NULL.
 */
glassine_status gl_expression_parse(const gl_plan *plan, const gl_state_names *states, gl_span text,
                                    gl_expression *expression, size_t *at, glassine_error *error);
void gl_expression_free(gl_expression *expression);

/* The canonical expression of a set, appended; nothing for an empty set. Equal sets give equal text, and
 * parsing it on the same plan gives the set. */
glassine_status gl_expression_print(const gl_plan *plan, const gl_posset *set, gl_buf *out,
                                    glassine_error *error);

/* "10 positions: 4, 24, 34 …" with at most `most` numbers (0: all), appended. */
void gl_expression_echo(const gl_plan *plan, const gl_posset *set, uint32_t most, gl_buf *out);

#endif
