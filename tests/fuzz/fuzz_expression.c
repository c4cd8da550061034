/* An expression of positions on one of five plates: what is understood prints as an expression that means the
 * same. */
#include "fuzz.h"

#include "plating/expression.h"

static const glassine_layout layouts[] = {
    {.rows = 12, .columns = 10, .panes_across = 1, .panes_down = 1, .label = "1"},
    {.rows = 20, .columns = 12, .panes_across = 1, .panes_down = 1, .label = "9", .corner_letters = true},
    {.rows = 10, .columns = 10, .panes_across = 2, .panes_down = 1, .label = "1"},
    {.rows = 2, .columns = 3, .panes_across = 2, .panes_down = 1, .numbering = GLASSINE_ACROSS_SHEET},
    {.rows = 4, .columns = 3, .panes_across = 1, .panes_down = 1, .numbering = GLASSINE_DOWN, .label = "E"}};

static void print_and_parse(const gl_plan *plan, const gl_expression *expression) {
    gl_buf printed = GL_BUF_EMPTY;
    gl_expression again = GL_EXPRESSION_NONE;
    glassine_error error = {0};
    FUZZ_HOLDS(gl_expression_print(plan, &expression->set, &printed, &error) == GLASSINE_OK);
    FUZZ_HOLDS(printed.length <= gl_expression_most(plan));
    FUZZ_HOLDS(gl_expression_parse(plan, NULL, gl_buf_span(&printed), &again, NULL, &error) == GLASSINE_OK);
    FUZZ_HOLDS(gl_posset_equal(&again.set, &expression->set));
    gl_expression_echo(plan, &again.set, 10, &printed);
    gl_expression_free(&again);
    gl_buf_free(&printed);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static const gl_span names[] = {{"Early", 5}, {"Intermediate", 12}, {"Late", 4}};
    static const gl_state_names states = {names, 3};
    glassine_error error = {0};
    gl_plan *plan;
    size_t at = 0;
    if (!size)
        return 0;
    FUZZ_HOLDS(gl_plan_new(&layouts[data[0] % (sizeof layouts / sizeof *layouts)], &plan, &error) ==
               GLASSINE_OK);
    gl_expression expression = GL_EXPRESSION_NONE;
    glassine_status status = gl_expression_parse(plan, data[0] & 0x80 ? &states : NULL,
                                                 fuzz_span(data + 1, size - 1), &expression, &at, &error);
    fuzz_said(status, &error);
    if (status)
        FUZZ_HOLDS(error.rule[0] == 'R');
    else
        print_and_parse(plan, &expression);
    gl_expression_free(&expression);
    gl_plan_free(plan);
    return 0;
}
