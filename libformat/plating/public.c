/* Plans and sets of positions as the public interface has them. */
#include <stdlib.h>

#include "plating/expression.h"

struct glassine_positions {
    const gl_plan *plan;
    gl_expression expression;
    char *state;    /* the initial it named, "" for none */
    gl_buf printed; /* the canonical expression, once asked for */
    gl_buf shown;
};

glassine_status glassine_plan_new(const glassine_layout *layout, glassine_plan **plan,
                                  glassine_error *error) {
    return gl_plan_new(layout, plan, error);
}

void glassine_plan_free(glassine_plan *plan) {
    gl_plan_free(plan);
}

uint32_t glassine_plan_count(const glassine_plan *plan) {
    return plan->count;
}

glassine_place glassine_plan_place(const glassine_plan *plan, uint32_t position) {
    return gl_plan_place(plan, position);
}

uint32_t glassine_plan_from_pane(const glassine_plan *plan, uint32_t pane, uint32_t row, uint32_t column) {
    return gl_plan_from_pane(plan, pane, row, column);
}

uint32_t glassine_plan_from_sheet(const glassine_plan *plan, uint32_t row, uint32_t column) {
    return gl_plan_from_sheet(plan, row, column);
}

uint32_t glassine_plan_from_letters(const glassine_plan *plan, char row, char column) {
    return gl_plan_from_letters(plan, row, column);
}

uint32_t glassine_plan_neighbour(const glassine_plan *plan, uint32_t position, int64_t down, int64_t across) {
    return gl_plan_step(plan, position, down, across);
}

uint32_t glassine_plan_mirror(const glassine_plan *plan, uint32_t position) {
    return gl_plan_mirror(plan, position);
}

glassine_status glassine_positions_parse(const glassine_plan *plan, const char *expression,
                                         glassine_positions **out, size_t *at, glassine_error *error) {
    *out = NULL;
    glassine_positions *positions = calloc(1, sizeof *positions);
    if (!positions)
        return gl_fail_memory(error);
    positions->plan = plan;
    positions->expression = GL_EXPRESSION_NONE;
    glassine_status status =
        gl_expression_parse(plan, NULL, gl_span_of(expression), &positions->expression, at, error);
    gl_span state = positions->expression.state_said;
    if (!status && !(positions->state = strndup(state.text ? state.text : "", state.length)))
        status = gl_fail_memory(error);
    if (status) {
        glassine_positions_free(positions);
        return status;
    }
    *out = positions;
    return GLASSINE_OK;
}

void glassine_positions_free(glassine_positions *positions) {
    if (!positions)
        return;
    gl_expression_free(&positions->expression);
    gl_buf_free(&positions->printed);
    gl_buf_free(&positions->shown);
    free(positions->state);
    free(positions);
}

uint32_t glassine_positions_count(const glassine_positions *positions) {
    return gl_posset_count(&positions->expression.set);
}

bool glassine_positions_has(const glassine_positions *positions, uint32_t position) {
    return gl_posset_has(&positions->expression.set, position);
}

uint32_t glassine_positions_next(const glassine_positions *positions, uint32_t from) {
    return gl_posset_next(&positions->expression.set, from);
}

const char *glassine_positions_state(const glassine_positions *positions) {
    return positions->state;
}

const char *glassine_positions_expression(glassine_positions *positions) {
    if (!positions->printed.length &&
        gl_expression_print(positions->plan, &positions->expression.set, &positions->printed, NULL))
        return NULL;
    return positions->printed.failed ? NULL : positions->printed.text;
}

const char *glassine_positions_shown(glassine_positions *positions, uint32_t most) {
    gl_buf_clear(&positions->shown);
    gl_expression_echo(positions->plan, &positions->expression.set, most, &positions->shown);
    return positions->shown.failed ? NULL : positions->shown.text;
}
