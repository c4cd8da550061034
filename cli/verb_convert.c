/* to-csv and to-json: a bundle in other formats. */
#include <errno.h>
#include <stdio.h>
#include <unistd.h>

#include "converters.h"
#include "refuse.h"
#include "verbs.h"

glassine_status cli_to_csv(cli_call *call) {
    const char *folder = call->args->option[CLI_OUT];
    if (folder == NULL) {
        return cli_refuse(call->error, NULL, "-o FOLDER names it", "nothing says where to write");
    }
    const glassine_csv_options options = {.with_private = cli_has(call->args, CLI_WITH_PRIVATE),
                                          .with_aside = cli_has(call->args, CLI_ASIDE)};
    return glassine_to_csv(call->bundle, folder, &options, call->report, call->error);
}

static int write_file(void *context, const char *bytes, size_t length) {
    errno = 0;
    return fwrite(bytes, 1, length, context) == length ? 0 : errno != 0 ? errno : EIO;
}

/* A new file; nothing of it stays where the writing fails. */
static glassine_status to_file(cli_call *call, const glassine_json_options *options, const char *out) {
    FILE *file = fopen(out, "wbx");
    if (file == NULL) {
        return cli_cannot_make(call->error, errno, out, "OUT names a new file");
    }
    glassine_status status = glassine_to_json(call->bundle, options, write_file, file, call->error);
    if (status == GLASSINE_OK && (fflush(file) != 0 || fsync(fileno(file)) != 0)) {
        status = cli_system(call->error, errno, out, NULL, "cannot be written");
    }
    fclose(file);
    if (status != GLASSINE_OK) {
        unlink(out);
        return status;
    }
    glassine_node_string(call->result, "written", "written", out);
    return GLASSINE_OK;
}

glassine_status cli_to_json(cli_call *call) {
    const glassine_json_options options = {.with_private = cli_has(call->args, CLI_WITH_PRIVATE),
                                           .history = cli_has(call->args, CLI_HISTORY)};
    if (cli_has(call->args, CLI_OUT)) {
        return to_file(call, &options, call->args->option[CLI_OUT]);
    }
    call->terminal->bare = true;
    return glassine_to_json(call->bundle, &options, cli_terminal_write, call->terminal, call->error);
}
