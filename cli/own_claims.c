#include "own_claims.h"

#include <string.h>

#include "line.h"
#include "refuse.h"

static bool is_own(cli_call *call, glassine_record *claim) {
    return cli_span_is(glassine_record_author(call->bundle, claim), glassine_draft_by(call->draft));
}

static bool is_withdrawn(cli_call *call, glassine_record *claim) {
    return cli_span_is(glassine_record_get(call->bundle, claim, "withdrawn", NULL), "true");
}

/* Of the same author, on the same stamp; when it is withdrawn itself, it goes on replacing the other. */
static bool replaces(cli_call *call, glassine_record *later, glassine_record *claim) {
    const char *author = cli_pool_span(call->pool, glassine_record_author(call->bundle, claim));
    const char *stamp = cli_pool_span(call->pool, glassine_record_get(call->bundle, claim, "stamp", NULL));
    return author != NULL && stamp != NULL && later != claim &&
           cli_span_is(glassine_record_author(call->bundle, later), author) &&
           cli_span_is(glassine_record_get(call->bundle, later, "stamp", NULL), stamp) &&
           cli_refers(call, later, "instead_of", cli_id(call, claim));
}

bool cli_claim_is_replaced(cli_call *call, glassine_record *claim) {
    cli_records later;
    if (cli_referrers(call, claim, "claim", &later) != GLASSINE_OK) {
        return false;
    }
    for (size_t i = 0; i < later.count; i++) {
        if (replaces(call, later.list[i], claim)) {
            return true;
        }
    }
    return false;
}

glassine_status cli_own_claims(cli_call *call, glassine_record *stamp, cli_records *claims) {
    cli_records all;
    *claims = (cli_records){NULL, 0};
    glassine_status status = cli_referrers(call, stamp, "claim", &all);
    if (status != GLASSINE_OK) {
        return status;
    }
    claims->list = cli_pool_take(call->pool, (all.count + 1) * sizeof *claims->list);
    if (claims->list == NULL) {
        return cli_memory(call->error);
    }
    for (size_t i = 0; i < all.count; i++) {
        if (is_own(call, all.list[i]) && !is_withdrawn(call, all.list[i]) &&
            !cli_claim_is_replaced(call, all.list[i])) {
            claims->list[claims->count++] = all.list[i];
        }
    }
    return GLASSINE_OK;
}

const char *cli_claim_shown(cli_call *call, glassine_record *claim) {
    glassine_span positions = glassine_record_text(call->bundle, claim, "positions");
    glassine_span confidence = glassine_record_text(call->bundle, claim, "confidence");
    cli_line line = {0};
    if (positions.text != NULL) {
        cli_line_add(&line, "positions %.*s", (int)positions.length, positions.text);
    } else {
        cli_line_add(&line, "any position");
    }
    if (confidence.text != NULL) {
        cli_line_add(&line, ", %.*s", (int)confidence.length, confidence.text);
    }
    cli_line_add(&line, " (%s)", cli_id(call, claim));
    const char *shown = cli_pool_copy(call->pool, line.text, line.length);
    return shown != NULL ? shown : "";
}

glassine_status cli_refuse_several_claims(cli_call *call, const cli_records *claims, const char *how) {
    cli_line remedy = {0};
    cli_line_add(&remedy, "%s: ", how);
    for (size_t i = 0; i < claims->count; i++) {
        cli_line_add(&remedy, "%s%s", i > 0 ? "; " : "", cli_claim_shown(call, claims->list[i]));
    }
    return cli_refuse(call->error, NULL, remedy.text, "%zu claims of yours stand on this stamp",
                      claims->count);
}
