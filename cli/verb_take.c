/* from-csv, from-xlsx: a bundle changed by what came out of other formats. */
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

static glassine_sheets_options options_of(cli_call *call) {
    const cli_args *args = call->args;
    return (glassine_sheets_options){.preview = cli_has(args, CLI_PREVIEW),
                                     .accept_partial = cli_has(args, CLI_ACCEPT_PARTIAL),
                                     .strike_missing = cli_has(args, CLI_STRIKE_MISSING),
                                     .why = args->option[CLI_WHY],
                                     .progress = show_progress,
                                     .context = call->terminal};
}

/* Saves what was taken, unless it was to be seen only. */
static glassine_status end_taking(cli_call *call, glassine_status status) {
    cli_progress_end(call->terminal);
    call->terminal->tells_all = status == GLASSINE_REFUSED;
    if (status != GLASSINE_OK || cli_has(call->args, CLI_PREVIEW)) {
        return status;
    }
    status = glassine_draft_save(call->draft, call->args->option[CLI_NOTE], call->error);
    if (status == GLASSINE_OK) {
        glassine_report_about(call->report, call->path, glassine_bundle_edition(call->bundle));
    }
    return status;
}

glassine_status cli_from_csv(cli_call *call) {
    const glassine_sheets_options options = options_of(call);
    return end_taking(call, glassine_from_csv(call->bundle, call->draft, call->args->words,
                                              call->args->word_count, &options, call->report, call->error));
}

glassine_status cli_from_xlsx(cli_call *call) {
    const glassine_sheets_options options = options_of(call);
    return end_taking(call, glassine_from_xlsx(call->bundle, call->draft, call->args->words[0], &options,
                                               call->report, call->error));
}
