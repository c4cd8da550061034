/* show: a record with all that is said on it; an item whole. */
#include <string.h>

#include "describe.h"
#include "history.h"
#include "refuse.h"
#include "verbs.h"

#define LIST(...) ((const char *const[]){__VA_ARGS__, NULL})

/* Whose records belong to a record of that type, so that a person sees it whole. */
static const struct {
    const char *type;
    const char *const *parts;
} PARTS[] = {
    {"item",
     LIST("scan", "marking", "observation", "opinion", "certificate", "valuation", "event", "letter")},
    {"stamp", LIST("observation", "claim", "match", "opinion", "conclusion")},
    {"design", LIST("plate", "printing")},
    {"plate", LIST("plate_state", "mark")},
    {"claim", LIST("claim")},
};

/* A table of the records of one type that belong to `record`; `parts` is made with the first. */
static glassine_status add_part(cli_call *call, glassine_node *node, glassine_node **parts,
                                glassine_record *record, const char *type) {
    cli_records records;
    glassine_status status = cli_referrers(call, record, type, &records);
    if (status != GLASSINE_OK || records.count == 0) {
        return status;
    }
    if (*parts == NULL) {
        *parts = glassine_node_object(node, "parts", "");
    }
    glassine_node *table = glassine_node_table(*parts, type, cli_pool_print(call->pool, "%ss", type));
    for (size_t i = 0; i < records.count && status == GLASSINE_OK; i++) {
        status = cli_describe_row(call, table, records.list[i], glassine_record_id(call->bundle, record));
    }
    return status;
}

static glassine_status add_parts(cli_call *call, glassine_node *node, glassine_record *record) {
    glassine_node *parts = NULL;
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < sizeof PARTS / sizeof PARTS[0]; i++) {
        for (size_t k = 0; cli_is(call, record, PARTS[i].type) && PARTS[i].parts[k] != NULL; k++) {
            status = status == GLASSINE_OK ? add_part(call, node, &parts, record, PARTS[i].parts[k]) : status;
        }
    }
    return status;
}

static glassine_status add_stamps(cli_call *call, glassine_record *item) {
    cli_records stamps;
    glassine_status status = cli_referrers(call, item, "stamp", &stamps);
    glassine_node *list = glassine_node_list(call->result, "stamps", "");
    for (size_t i = 0; i < stamps.count && status == GLASSINE_OK; i++) {
        const char *heading = cli_pool_print(call->pool, "stamp %s", cli_label(call, stamps.list[i]));
        glassine_node *node = glassine_node_object(list, NULL, heading);
        status = cli_describe(call, node, stamps.list[i], glassine_record_id(call->bundle, item));
        if (status == GLASSINE_OK) {
            status = add_parts(call, node, stamps.list[i]);
        }
    }
    return status;
}

glassine_status cli_show(cli_call *call) {
    glassine_record *record;
    glassine_status status = cli_find(call, NULL, call->args->words[0], &record);
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_span label = glassine_record_label(call->bundle, record);
    const char *type = cli_pool_span(call->pool, glassine_record_type(call->bundle, record));
    glassine_node_text(call->result, NULL, type != NULL ? type : "record", label);
    status = cli_describe(call, call->result, record, CLI_NO_PARENT);
    if (status == GLASSINE_OK && cli_is(call, record, "item")) {
        status = add_stamps(call, record);
    }
    if (status == GLASSINE_OK) {
        status = add_parts(call, call->result, record);
    }
    if (status == GLASSINE_OK && cli_has(call->args, CLI_HISTORY)) {
        status = cli_history(call, call->result, record);
    }
    if (status == GLASSINE_OK) {
        cli_caution(call, record);
    }
    return status;
}
