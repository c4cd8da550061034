/* recover: what is whole in damaged files, as a new bundle. */
#include "refuse.h"
#include "verbs.h"

glassine_status cli_recover(cli_call *call) {
    const char *out = call->args->option[CLI_OUT];
    if (out == NULL) {
        return cli_refuse(call->error, NULL, "-o OUT names the new file", "nothing says where to write");
    }
    size_t count = call->args->word_count + 1;
    const char **paths = cli_pool_take(call->pool, count * sizeof *paths);
    if (paths == NULL) {
        return cli_memory(call->error);
    }
    paths[0] = call->path;
    for (size_t i = 1; i < count; i++) {
        paths[i] = call->args->words[i - 1];
    }
    const glassine_recover_options options = {.base = call->args->option[CLI_BASE],
                                              .doubtful = cli_has(call->args, CLI_DOUBTFUL)};
    return glassine_recover(paths, count, out, &options, call->report, call->error);
}
