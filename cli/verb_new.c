/* new: a bundle with its collection record and its keeper. */
#include <string.h>

#include "memory.h"
#include "refuse.h"
#include "speaker.h"
#include "verbs.h"

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
    status = glassine_bundle_make(call->path, title, keeper.name, call->error);
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
