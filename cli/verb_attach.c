/* attach: scans of an item, all in one save. */
#include <string.h>

#include "record.h"
#include "refuse.h"
#include "verbs.h"

/* The item; for a stamp of it, also the stamp that the scans show. */
static glassine_status find_item(cli_call *call, const char *name, glassine_record **item,
                                 glassine_record **stamp) {
    *stamp = NULL;
    glassine_status status = glassine_bundle_find(call->bundle, "item", name, item, call->error);
    if (status != GLASSINE_REFUSED ||
        glassine_bundle_find(call->bundle, "stamp", name, stamp, NULL) != GLASSINE_OK) {
        return status;
    }
    glassine_span id = glassine_record_text(call->bundle, *stamp, "item");
    *item = glassine_bundle_record(call->bundle, id, (glassine_span){NULL, 0});
    return *item != NULL ? GLASSINE_OK : status;
}

static glassine_status attach(cli_call *call, glassine_record *item, const cli_fields *fields,
                              const char *path, glassine_node *list) {
    glassine_record *scan;
    bool known;
    glassine_status status = glassine_draft_attach(call->draft, item, path, fields->list, fields->count,
                                                   &scan, &known, call->report, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_span id = glassine_record_id(call->bundle, scan);
    glassine_node *row = glassine_node_object(list, NULL, NULL);
    glassine_node_string(row, "file", NULL, path);
    glassine_node_text(row, "record", NULL, id);
    glassine_node_truth(row, "known", NULL, known);
    glassine_node_say(call->result, "%.*s", (int)id.length, id.text);
    if (known) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, path, NULL,
                                "passed over: it is in the bundle already");
    }
    return GLASSINE_OK;
}

glassine_status cli_attach(cli_call *call) {
    const cli_args *args = call->args;
    glassine_record *item, *stamp;
    glassine_status status = find_item(call, args->words[0], &item, &stamp);
    if (status != GLASSINE_OK) {
        return status;
    }
    cli_fields fields = cli_fields_new(call, args->field_count + 1);
    if (fields.list == NULL) {
        return cli_memory(call->error);
    }
    if (stamp != NULL) {
        cli_fields_add(call, &fields, "stamp", cli_id(call, stamp));
    }
    cli_fields_add_typed(call, &fields, NULL);
    glassine_node *list = glassine_node_list(call->result, "scans", NULL);
    bool *before = cli_pool_take(call->pool, args->word_count * sizeof *before);
    if (before == NULL) {
        return cli_memory(call->error);
    }
    status = glassine_draft_gather(call->draft, args->words + 1, args->word_count - 1, before, call->error);
    for (size_t i = 1; i < args->word_count && status == GLASSINE_OK; i++) {
        status = attach(call, item, &fields, args->words[i], list);
    }
    return status;
}
