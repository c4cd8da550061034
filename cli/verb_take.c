/* from-csv: a bundle changed by what came out of other formats. */
#include "converters.h"
#include "refuse.h"
#include "verbs.h"

static void show_progress(void *context, uint64_t done, uint64_t total) {
    cli_terminal *terminal = context;
    if (terminal->progress.doing == NULL || terminal->progress.total != total) {
        cli_progress_begin(terminal, "taking rows in", total);
    }
    cli_progress_step(terminal, done);
}

glassine_status cli_from_csv(cli_call *call) {
    const cli_args *args = call->args;
    const glassine_sheets_options options = {.preview = cli_has(args, CLI_PREVIEW),
                                             .accept_partial = cli_has(args, CLI_ACCEPT_PARTIAL),
                                             .strike_missing = cli_has(args, CLI_STRIKE_MISSING),
                                             .why = args->option[CLI_WHY],
                                             .progress = show_progress,
                                             .context = call->terminal};
    glassine_status status = glassine_from_csv(call->bundle, call->draft, args->words, args->word_count,
                                               &options, call->report, call->error);
    cli_progress_end(call->terminal);
    call->terminal->tells_all = status == GLASSINE_REFUSED;
    if (status != GLASSINE_OK || options.preview) {
        return status;
    }
    status = glassine_draft_save(call->draft, args->option[CLI_NOTE], call->error);
    if (status == GLASSINE_OK) {
        glassine_report_about(call->report, call->path, glassine_bundle_edition(call->bundle));
    }
    return status;
}
