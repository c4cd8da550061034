/* from-csv, from-xlsx, from-json: a bundle changed by what came out of other formats. */
#include <errno.h>
#include <sys/stat.h>

#include "converters.h"
#include "memory.h"
#include "refuse.h"
#include "speaker.h"
#include "verbs.h"

static void show_progress(void *context, uint64_t done, uint64_t total) {
    cli_progress_tell(context, "taking in", "rows", done, total);
}

static glassine_sheets_options options_of(cli_call *call) {
    const cli_args *args = call->args;
    return (glassine_sheets_options){.preview = cli_has(args, CLI_PREVIEW),
                                     .accept_partial = cli_has(args, CLI_ACCEPT_PARTIAL),
                                     .strike_missing = cli_has(args, CLI_STRIKE_MISSING),
                                     .why = args->option[CLI_WHY],
                                     .map = args->option[CLI_MAP],
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

/* --map-draft: the sheet is only looked at. */
static glassine_status draft_map(cli_call *call) {
    if (call->args->word_count != 1) {
        return cli_refuse(call->error, NULL, "glassine from-csv FILE SHEET --map-draft MAP",
                          "a map is of one sheet");
    }
    return glassine_sheet_map_draft(call->args->words[0], call->args->option[CLI_MAP_DRAFT], call->report,
                                    call->error);
}

glassine_status cli_from_csv(cli_call *call) {
    if (cli_has(call->args, CLI_MAP_DRAFT)) {
        return draft_map(call);
    }
    const glassine_sheets_options options = options_of(call);
    return end_taking(call, glassine_from_csv(call->bundle, call->draft, call->args->words,
                                              call->args->word_count, &options, call->report, call->error));
}

glassine_status cli_from_xlsx(cli_call *call) {
    if (cli_has(call->args, CLI_MAP_DRAFT)) {
        return draft_map(call);
    }
    const glassine_sheets_options options = options_of(call);
    return end_taking(call, glassine_from_xlsx(call->bundle, call->draft, call->args->words[0], &options,
                                               call->report, call->error));
}

static glassine_status change_by_json(cli_call *call, glassine_bundle *bundle) {
    const glassine_sheets_options options = options_of(call);
    const char *by, *via;
    glassine_draft *draft = NULL;
    uint32_t before = glassine_bundle_edition(bundle);
    cli_memory_compare(call, bundle);
    glassine_status status = cli_speaker_find(call->pool, bundle, call->args, &by, &via, call->error);
    if (status == GLASSINE_OK) {
        status = glassine_draft_new(bundle, by, via, &draft, call->error);
    }
    if (status == GLASSINE_OK) {
        status = glassine_from_json(bundle, draft, call->args->words[0], &options, call->report, call->error);
        call->terminal->tells_all = status == GLASSINE_REFUSED;
        cli_progress_end(call->terminal);
    }
    if (status == GLASSINE_OK && !options.preview) {
        status = glassine_draft_save(draft, call->args->option[CLI_NOTE], call->error);
    }
    if (status == GLASSINE_OK) {
        glassine_report_about(call->report, call->path, glassine_bundle_edition(bundle));
    }
    if (status == GLASSINE_OK && glassine_bundle_edition(bundle) > before) {
        cli_memory_keep(call, bundle);
    }
    glassine_draft_free(draft);
    return status;
}

/* Where FILE is not there, it is made of the document. */
glassine_status cli_from_json(cli_call *call) {
    struct stat about;
    bool fresh = stat(call->path, &about) != 0 && errno == ENOENT;
    if (fresh && cli_has(call->args, CLI_PREVIEW)) {
        return cli_refuse(call->error, call->path, "Name a bundle that is there", "a preview needs a bundle");
    }
    if (fresh) {
        return glassine_from_json_new(call->args->words[0], call->path, call->args->option[CLI_NOTE],
                                      call->report, call->error);
    }
    glassine_bundle *bundle;
    glassine_status status = glassine_bundle_open(call->path, GLASSINE_WRITE, NULL, &bundle, call->error);
    if (status == GLASSINE_OK) {
        status = change_by_json(call, bundle);
        glassine_bundle_close(bundle);
    }
    return status;
}
