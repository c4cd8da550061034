/* claim: that a stamp comes from certain plate positions. */
#include <stdlib.h>
#include <string.h>

#include "own_claims.h"
#include "placing.h"
#include "positions.h"
#include "refuse.h"
#include "verbs.h"

typedef struct claim {
    cli_placing placing;
    size_t beside; /* earlier claims that it stands beside without anybody having said so */
    cli_fields fields;
} claim;

static glassine_status fill_fields(cli_call *call, claim *made) {
    const cli_args *args = call->args;
    made->fields = cli_fields_new(call, args->field_count + 6);
    if (made->fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_placing_add(call, &made->placing, &made->fields);
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
    glassine_status status = cli_own_claims(call, made->placing.stamp, &claims);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (replaces && claims.count == 0) {
        return cli_refuse(call->error, cli_label(call, made->placing.stamp), "Leave --instead-of away",
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
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, cli_label(call, made->placing.stamp),
                                "claim … --instead-of replaces an earlier one",
                                "stands beside %zu earlier claim%s of yours", made->beside,
                                made->beside == 1 ? "" : "s");
    }
}

glassine_status cli_claim(cli_call *call) {
    claim made = {0};
    glassine_status status = cli_placing_take(call, &made.placing);
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
