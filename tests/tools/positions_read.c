/* positions_read: one JSON object {"layout":{…},"expression":"…"} a line on standard input; on standard
 * output what the library makes of each: {"positions":[…],"state":"…"} with positions from 0, or
 * {"rule":"R200","character":3}. */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "glassine.h"

static uint32_t number(const json_t *layout, const char *name) {
    return (uint32_t)json_integer_value(json_object_get(layout, name));
}

static glassine_plan *plan_of(const json_t *layout) {
    const char *numbering = json_string_value(json_object_get(layout, "numbering"));
    glassine_layout made = {.rows = number(layout, "rows"),
                            .columns = number(layout, "columns"),
                            .panes_across = number(layout, "panes_across"),
                            .panes_down = number(layout, "panes_down"),
                            .corner_letters = json_is_true(json_object_get(layout, "corner_letters")),
                            .pane_names = json_string_value(json_object_get(layout, "pane_names")),
                            .label = json_string_value(json_object_get(layout, "label"))};
    if (numbering)
        made.numbering = strcmp(numbering, "down") == 0           ? GLASSINE_DOWN
                         : strcmp(numbering, "across_sheet") == 0 ? GLASSINE_ACROSS_SHEET
                                                                  : GLASSINE_ACROSS;
    glassine_plan *plan = NULL;
    return glassine_plan_new(&made, &plan, NULL) == GLASSINE_OK ? plan : NULL;
}

static json_t *answer(const glassine_plan *plan, const char *expression) {
    glassine_positions *positions;
    glassine_error error;
    size_t at = 0;
    if (glassine_positions_parse(plan, expression, &positions, &at, &error))
        return json_pack("{s:s,s:I}", "rule", error.rule, "character", (json_int_t)at);
    json_t *list = json_array();
    for (uint32_t i = glassine_positions_next(positions, 0); i != GLASSINE_NOWHERE;
         i = glassine_positions_next(positions, i + 1))
        json_array_append_new(list, json_integer(i));
    json_t *made = json_pack("{s:o,s:s}", "positions", list, "state", glassine_positions_state(positions));
    glassine_positions_free(positions);
    return made;
}

int main(void) {
    for (json_t *asked; (asked = json_loadf(stdin, JSON_DISABLE_EOF_CHECK, NULL)) != NULL;
         json_decref(asked)) {
        glassine_plan *plan = plan_of(json_object_get(asked, "layout"));
        if (!plan)
            return 1;
        json_t *made = answer(plan, json_string_value(json_object_get(asked, "expression")));
        json_dumpf(made, stdout, JSON_COMPACT);
        putchar('\n');
        json_decref(made);
        glassine_plan_free(plan);
    }
    return 0;
}
