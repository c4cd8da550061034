/* claim: that a stamp comes from certain plate positions. */
#include <stdlib.h>
#include <string.h>

#include "own_claims.h"
#include "positions.h"
#include "refuse.h"
#include "verbs.h"

typedef struct claim {
    glassine_record *stamp;
    glassine_record *plate; /* NULL: none was named */
    const char *positions;  /* NULL: any */
    size_t beside;          /* earlier claims that it stands beside without anybody having said so */
    cli_fields fields;
} claim;

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

static glassine_status find_plate(cli_call *call, claim *made, const char *name) {
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

static glassine_status take_words(cli_call *call, claim *made) {
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

static glassine_status fill_fields(cli_call *call, claim *made) {
    const cli_args *args = call->args;
    made->fields = cli_fields_new(call, args->field_count + 6);
    if (made->fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_fields_add(call, &made->fields, "stamp", cli_id(call, made->stamp));
    if (made->plate != NULL) {
        cli_fields_add(call, &made->fields, "plates", cli_id(call, made->plate));
    }
    if (args->word_count > 1) {
        cli_fields_add(call, &made->fields, "positions", made->positions);
    }
    if (cli_field(args, "confidence") == NULL) {
        cli_fields_add(call, &made->fields, "confidence", "probable");
    }
    cli_fields_add_typed(call, &made->fields, NULL);
    return GLASSINE_OK;
}

/* Where own claims stand already: does the new one replace one of them? */
static glassine_status weigh_earlier(cli_call *call, claim *made) {
    bool replaces = cli_has(call->args, CLI_INSTEAD_OF);
    bool beside = cli_has(call->args, CLI_ALSO);
    if (replaces && beside) {
        return cli_refuse(call->error, NULL, NULL, "--instead-of and --also exclude each other");
    }
    if (cli_field(call->args, "instead_of") != NULL) {
        return GLASSINE_OK;
    }
    cli_records claims;
    glassine_status status = cli_own_claims(call, made->stamp, &claims);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (replaces && claims.count == 0) {
        return cli_refuse(call->error, cli_label(call, made->stamp), "Leave --instead-of away",
                          "no earlier claim of yours stands on this stamp");
    }
    if (replaces && claims.count > 1) {
        return cli_refuse_several_claims(call, &claims, "Name one with instead_of=");
    }
    if (!replaces && !beside && claims.count == 1) {
        const char *question =
            cli_pool_print(call->pool, "You claimed already: %s. Does the new claim replace it?",
                           cli_claim_shown(call, claims.list[0]));
        replaces = question != NULL && cli_terminal_ask(call->terminal, question) == 'y';
    }
    if (replaces) {
        cli_fields_add(call, &made->fields, "instead_of", cli_id(call, claims.list[0]));
    }
    made->beside = replaces || beside ? 0 : claims.count;
    return GLASSINE_OK;
}

static void note_beside(cli_call *call, const claim *made) {
    if (made->beside > 0) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, cli_label(call, made->stamp),
                                "claim … --instead-of replaces an earlier one",
                                "stands beside %zu earlier claim%s of yours", made->beside,
                                made->beside == 1 ? "" : "s");
    }
}

glassine_status cli_claim(cli_call *call) {
    claim made = {0};
    glassine_status status = take_words(call, &made);
    if (status == GLASSINE_OK) {
        status = fill_fields(call, &made);
    }
    if (status == GLASSINE_OK) {
        status = weigh_earlier(call, &made);
    }
    glassine_record *record = NULL;
    if (status == GLASSINE_OK) {
        status = cli_enter_record(call, "claim", &made.fields, &record);
    }
    if (status == GLASSINE_OK) {
        note_beside(call, &made);
        cli_result_record(call, record);
        status = cli_positions_echo(call, record);
    }
    return status;
}
