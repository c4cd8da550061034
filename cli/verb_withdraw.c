/* withdraw: takes one's own claim, match, opinion or join back. */
#include <string.h>

#include "own_claims.h"
#include "refuse.h"
#include "verbs.h"

static bool can_be_withdrawn(cli_call *call, glassine_record *record) {
    return cli_is(call, record, "claim") || cli_is(call, record, "match") ||
           cli_is(call, record, "opinion") || cli_is(call, record, "join");
}

/* The speaker's one standing claim on a stamp. */
static glassine_status claim_on(cli_call *call, glassine_record *stamp, glassine_record **claim) {
    cli_records claims;
    glassine_status status = cli_own_claims(call, stamp, &claims);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (claims.count == 0) {
        return cli_refuse(call->error, cli_label(call, stamp), "--by says who speaks",
                          "no claim of yours stands on this stamp");
    }
    if (claims.count > 1) {
        return cli_refuse_several_claims(call, &claims, "Name one by its id");
    }
    *claim = claims.list[0];
    return GLASSINE_OK;
}

static glassine_status find_statement(cli_call *call, const char *name, glassine_record **record) {
    glassine_status status = glassine_bundle_find(call->bundle, NULL, name, record, call->error);
    if (status == GLASSINE_OK && can_be_withdrawn(call, *record)) {
        return status;
    }
    glassine_record *stamp;
    if (glassine_bundle_find(call->bundle, "stamp", name, &stamp, NULL) == GLASSINE_OK) {
        return claim_on(call, stamp, record);
    }
    if (status == GLASSINE_OK) {
        status = cli_refuse(call->error, cli_id(call, *record),
                            "'revise' changes other records; 'set_aside=true' takes them out of lists",
                            "only a claim, a match, an opinion or a join is withdrawn");
    }
    return status;
}

static glassine_status check_author(cli_call *call, glassine_record *record) {
    glassine_span author = glassine_record_author(call->bundle, record);
    if (cli_span_is(author, glassine_draft_by(call->draft))) {
        return GLASSINE_OK;
    }
    glassine_record *person = glassine_bundle_record(call->bundle, author, (glassine_span){NULL, 0});
    const char *name = person != NULL ? cli_label(call, person) : "somebody else";
    return cli_refuse(call->error, cli_id(call, record),
                      "Only its author can take it back (--by); claim otherwise", "this is by %s", name);
}

glassine_status cli_withdraw(cli_call *call) {
    const cli_args *args = call->args;
    const char *why = cli_field(args, "why");
    if (args->field_count > (why != NULL ? 1 : 0)) {
        return cli_refuse(call->error, NULL, "glassine withdraw FILE CLAIM why='…'",
                          "withdraw takes why= alone");
    }
    if (why == NULL) {
        why = args->option[CLI_WHY];
    }
    glassine_record *record;
    glassine_status status = find_statement(call, args->words[0], &record);
    if (status == GLASSINE_OK) {
        status = check_author(call, record);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    const glassine_assignment withdrawn = {.field = "withdrawn", .value = "true"};
    bool changed;
    status = glassine_draft_revise(call->draft, record, &withdrawn, 1, why, &changed, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    cli_result_record(call, record);
    glassine_node_truth(call->result, "changed", NULL, changed);
    if (!changed) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, cli_id(call, record), NULL,
                                "was withdrawn already; nothing was changed");
    }
    return GLASSINE_OK;
}
