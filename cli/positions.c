#include "positions.h"

/* As many numbers as a line takes; the count stands before them. */
enum { NUMBERS_SHOWN = 12 };

static void echo_on(cli_call *call, glassine_record *plate, const char *expression, glassine_node *list) {
    glassine_plan *plan = NULL;
    glassine_positions *positions = NULL;
    if (glassine_plan_of_plate(call->bundle, plate, &plan, NULL) == GLASSINE_OK &&
        glassine_positions_parse(plan, expression, &positions, NULL, NULL) == GLASSINE_OK) {
        const char *label = cli_label(call, plate);
        const char *shown = glassine_positions_shown(positions, NUMBERS_SHOWN);
        glassine_node *node = glassine_node_object(list, NULL, NULL);
        glassine_node_text(node, "plate", NULL, glassine_record_id(call->bundle, plate));
        glassine_node_string(node, "label", NULL, label);
        glassine_node_integer(node, "count", NULL, glassine_positions_count(positions));
        glassine_node_string(node, "expression", NULL, glassine_positions_expression(positions));
        glassine_node_string(node, "shown", NULL, shown);
        glassine_node_say(call->result, "plate %s: %s", label, shown != NULL ? shown : "");
    }
    glassine_positions_free(positions);
    glassine_plan_free(plan);
}

/* The plates that the claim names, else all of the stamp's design. */
static glassine_status plates_of(cli_call *call, glassine_record *claim, cli_records *plates) {
    const glassine_span nobody = {NULL, 0};
    glassine_value value = glassine_record_get(call->bundle, claim, "plates", NULL);
    if (value.text != NULL) {
        plates->list =
            cli_pool_take(call->pool, value.length * sizeof *plates->list); /* an element takes bytes */
        plates->count = 0;
        glassine_span name;
        glassine_value element;
        for (size_t at = 0; plates->list != NULL && glassine_value_next(value, &at, &name, &element);) {
            glassine_span id = glassine_value_text(call->bundle, element);
            glassine_record *plate = glassine_bundle_record(call->bundle, id, nobody);
            if (plate != NULL) {
                plates->list[plates->count++] = plate;
            }
        }
        return GLASSINE_OK;
    }
    *plates = (cli_records){NULL, 0};
    glassine_span stamp_id = glassine_record_text(call->bundle, claim, "stamp");
    glassine_record *stamp = glassine_bundle_record(call->bundle, stamp_id, nobody);
    glassine_span design_id = {NULL, 0};
    if (stamp != NULL) {
        design_id = glassine_record_text(call->bundle, stamp, "design");
    }
    glassine_record *design =
        design_id.text != NULL ? glassine_bundle_record(call->bundle, design_id, nobody) : NULL;
    return design != NULL ? cli_referrers(call, design, "plate", plates) : GLASSINE_OK;
}

glassine_status cli_positions_echo(cli_call *call, glassine_record *claim) {
    cli_records plates;
    const char *expression =
        cli_pool_span(call->pool, glassine_record_text(call->bundle, claim, "positions"));
    glassine_node *list = glassine_node_list(call->result, "places", NULL);
    glassine_status status = plates_of(call, claim, &plates);
    for (size_t i = 0; i < plates.count && status == GLASSINE_OK; i++) {
        echo_on(call, plates.list[i], expression != NULL ? expression : "any", list);
    }
    return status;
}
