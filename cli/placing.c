#include "placing.h"

#include "refuse.h"

/* A label may stand on plates of several designs; the stamp's own design then decides. */
static glassine_record *plate_of_design(cli_call *call, glassine_record *design, const char *label) {
    cli_records plates;
    glassine_record *found = NULL;
    if (cli_referrers(call, design, "plate", &plates) != GLASSINE_OK) {
        return NULL;
    }
    for (size_t i = 0; i < plates.count; i++) {
        if (cli_span_is(glassine_record_label(call->bundle, plates.list[i]), label)) {
            if (found != NULL) {
                return NULL;
            }
            found = plates.list[i];
        }
    }
    return found;
}

/* Two records that a join calls one and the same. */
static bool joined(cli_call *call, glassine_record *one, const char *other) {
    cli_records joins;
    if (cli_referrers(call, one, "join", &joins) != GLASSINE_OK) {
        return false;
    }
    for (size_t i = 0; i < joins.count; i++) {
        if (cli_refers(call, joins.list[i], "records", other)) {
            return true;
        }
    }
    return false;
}

static glassine_status find_plate(cli_call *call, cli_placing *made, const char *name) {
    glassine_span id = glassine_record_text(call->bundle, made->stamp, "design");
    glassine_record *design = glassine_bundle_record(call->bundle, id, (glassine_span){NULL, 0});
    made->plate = design != NULL ? plate_of_design(call, design, name) : NULL;
    if (made->plate != NULL) {
        return GLASSINE_OK;
    }
    glassine_status status = glassine_bundle_find(call->bundle, "plate", name, &made->plate, call->error);
    if (status != GLASSINE_OK || design == NULL) {
        return status;
    }
    glassine_span other = glassine_record_text(call->bundle, made->plate, "design");
    const char *plates_design = cli_pool_span(call->pool, other);
    if (plates_design == NULL || cli_span_is(id, plates_design) || joined(call, design, plates_design)) {
        return GLASSINE_OK;
    }
    return cli_refuse(call->error, cli_label(call, made->stamp),
                      "Name a plate of the stamp's design, or revise the stamp's design",
                      "plate %s is no plate of the design %s", cli_label(call, made->plate),
                      cli_label(call, design));
}

glassine_status cli_placing_take(cli_call *call, cli_placing *made) {
    const cli_args *args = call->args;
    bool plate = args->word_count == 3;
    made->positions = args->word_count > 1 ? args->words[args->word_count - 1] : cli_field(args, "positions");
    const char *twice = args->word_count > 1 && cli_field(args, "positions") != NULL ? "positions"
                        : plate && cli_field(args, "plates") != NULL                 ? "plates"
                        : cli_field(args, "stamp") != NULL                           ? "stamp"
                                                                                     : NULL;
    if (twice != NULL) {
        return cli_refuse(call->error, twice, NULL, "this field is given twice");
    }
    glassine_status status =
        glassine_bundle_find(call->bundle, "stamp", args->words[0], &made->stamp, call->error);
    if (status == GLASSINE_OK && plate) {
        status = find_plate(call, made, args->words[1]);
    }
    return status;
}

void cli_placing_add(cli_call *call, const cli_placing *placing, cli_fields *fields) {
    cli_fields_add(call, fields, "stamp", cli_id(call, placing->stamp));
    if (placing->plate != NULL) {
        cli_fields_add(call, fields, "plates", cli_id(call, placing->plate));
    }
    if (call->args->word_count > 1) {
        cli_fields_add(call, fields, "positions", placing->positions);
    }
}
