/* to-csv, to-xlsx and to-json: a bundle in other formats. */
#include "converters.h"
#include "new_file.h"
#include "refuse.h"
#include "verbs.h"

glassine_status cli_to_csv(cli_call *call) {
    const char *folder = call->args->option[CLI_OUT];
    if (folder == NULL) {
        return cli_refuse(call->error, NULL, "-o FOLDER names it", "nothing says where to write");
    }
    const glassine_csv_options options = {.with_private = cli_has(call->args, CLI_WITH_PRIVATE),
                                          .with_aside = cli_has(call->args, CLI_ASIDE),
                                          .without_bom = cli_has(call->args, CLI_NO_BOM),
                                          .flat = cli_has(call->args, CLI_FLAT)};
    return glassine_to_csv(call->bundle, folder, &options, call->report, call->error);
}

glassine_status cli_to_xlsx(cli_call *call) {
    const char *out = call->args->option[CLI_OUT];
    if (out == NULL) {
        return cli_refuse(call->error, NULL, "-o OUT names the new file", "nothing says where to write");
    }
    const glassine_xlsx_options options = {.with_private = cli_has(call->args, CLI_WITH_PRIVATE),
                                           .with_aside = cli_has(call->args, CLI_ASIDE),
                                           .pictures = cli_has(call->args, CLI_PICTURES)};
    return glassine_to_xlsx(call->bundle, out, &options, call->report, call->error);
}

typedef struct json_job {
    glassine_bundle *bundle;
    const glassine_json_options *options;
    glassine_error *error;
} json_job;

static glassine_status write_json(void *job, glassine_write write, void *context) {
    const json_job *it = job;
    return glassine_to_json(it->bundle, it->options, write, context, it->error);
}

glassine_status cli_to_json(cli_call *call) {
    const glassine_json_options options = {.with_private = cli_has(call->args, CLI_WITH_PRIVATE),
                                           .history = cli_has(call->args, CLI_HISTORY)};
    const char *out = call->args->option[CLI_OUT];
    if (cli_has(call->args, CLI_LINES) && out == NULL) {
        return cli_refuse(call->error, NULL, "-o FOLDER names it", "nothing says where to write");
    }
    if (cli_has(call->args, CLI_LINES)) {
        return glassine_to_json_lines(call->bundle, out, &options, call->report, call->error);
    }
    if (out != NULL) {
        json_job job = {call->bundle, &options, call->error};
        return cli_to_file(call, out, write_json, &job);
    }
    call->terminal->bare = true;
    return glassine_to_json(call->bundle, &options, cli_terminal_write, call->terminal, call->error);
}
