/* new: a bundle with its collection record and its keeper. */
#include <string.h>

#include "memory.h"
#include "refuse.h"
#include "signer.h"
#include "speaker.h"
#include "verbs.h"

/* --plates-from: what a study group shares of its plates, and who says so; NULL: nothing. */
static glassine_status make(cli_call *call, const char *title, const char *keeper, const char *kit) {
    static const char *const TYPES[] = {"contributor", "design", "plate", "plate_state",
                                        "printing",    "mark",   NULL};
    const glassine_merge_options options = {
        .only = TYPES, .without_private = true, .note = "plates taken over"};
    const glassine_key *key;
    glassine_status status = cli_own_key(call, &key);
    return status != GLASSINE_OK
               ? status
               : glassine_bundle_make_from(call->path, title, keeper, key, kit, &options, call->error);
}

static const char *const REMEDY = "glassine new FILE title='Sorrel Islands' --by 'NAME'";

glassine_status cli_new(cli_call *call) {
    const cli_args *args = call->args;
    const char *title = cli_field(args, "title");
    for (size_t i = 0; i < args->field_count; i++) {
        if (strcmp(args->fields[i].field, "title") != 0) {
            return cli_refuse(call->error, args->fields[i].field,
                              "Make the bundle first, then: glassine revise FILE collection name=value",
                              "new takes the title only");
        }
    }
    if (title == NULL || title[0] == '\0') {
        return cli_refuse(call->error, call->path, REMEDY, "a bundle needs a title");
    }
    cli_speaker keeper;
    glassine_status status = cli_speaker_said(call->pool, args, &keeper, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (keeper.name == NULL) {
        return cli_refuse(call->error, call->path, REMEDY, "nobody is named as its keeper");
    }
    glassine_bundle *made = NULL;
    status =
        make(call, title, keeper.name, cli_has(args, CLI_PLATES_FROM) ? args->option[CLI_PLATES_FROM] : NULL);
    if (status == GLASSINE_OK) {
        status = glassine_bundle_open(call->path, GLASSINE_READ, NULL, &made, call->error);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_report_about(call->report, call->path, glassine_bundle_edition(made));
    glassine_node_string(call->result, "file", "made", call->path);
    glassine_node_string(call->result, "title", "title", glassine_bundle_title(made));
    glassine_node_string(call->result, "keeper", NULL, glassine_bundle_keeper(made));
    glassine_node_string(call->result, NULL, "keeper", keeper.name);
    glassine_node_string(call->result, "bundle", "bundle", glassine_bundle_uuid(made));
    cli_memory_keep(call, made);
    glassine_bundle_close(made);
    return GLASSINE_OK;
}
