/* Working with others: dispatch, pending, reply, merge, diff, contested. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "memory.h"
#include "numbers.h"
#include "page.h"
#include "record.h"
#include "refuse.h"
#include "signer.h"
#include "speaker.h"
#include "verbs.h"
#include "watching.h"

/* --scans; a size that is to be kept to asks for smaller copies unless told otherwise. */
static glassine_status scans_that_go(cli_call *call, glassine_dispatch_options *options) {
    static const char *const NAMES[] = {"full", "reduced", "none"};
    const char *typed = call->args->option[CLI_SCANS];
    options->scans = cli_has(call->args, CLI_SIZE_LIMIT) ? GLASSINE_SCANS_REDUCED : GLASSINE_SCANS_FULL;
    for (int i = 0; typed != NULL && i < 3; i++) {
        if (strcmp(typed, NAMES[i]) == 0) {
            options->scans = (glassine_scans)i;
            typed = NULL;
        }
    }
    if (typed != NULL) {
        return cli_refuse(call->error, NULL, "For example --scans reduced",
                          "--scans is full, reduced or none");
    }
    glassine_status status = cli_size_limit(call, &options->size_limit);
    if (status == GLASSINE_OK) {
        status = cli_scan_limit(call, &options->scan_limit);
    }
    if (options->size_limit > 0 && !cli_has(call->args, CLI_SCAN_LIMIT)) {
        options->scan_limit = 0; /* as many pixels as fit */
    }
    return status;
}

static void show_progress(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    cli_progress_tell(context, doing, unit, done, total);
}

glassine_status cli_dispatch(cli_call *call) {
    const cli_args *args = call->args;
    glassine_dispatch_options options = {
        .to = args->option[CLI_TO],
        .selection = args->option[CLI_SELECTION],
        .blind = cli_has(args, CLI_BLIND),
        .ask = args->option[CLI_ASK],
        .note = args->option[CLI_NOTE],
        .keep_metadata = cli_has(args, CLI_KEEP_METADATA),
        .sheet = cli_has(args, CLI_SHEET),
        .page = cli_page_for,
        .progress = show_progress,
        .context = call->terminal,
    };
    const char *items = args->option[CLI_ITEMS];
    const char *lacks = options.to == NULL                           ? "--to WHO"
                        : items == NULL && options.selection == NULL ? "--items A,B,… or --selection S"
                        : args->option[CLI_OUT] == NULL              ? "-o OUT"
                                                                     : NULL;
    if (lacks != NULL) {
        return cli_refuse(call->error, NULL, "glassine dispatch FILE --to WHO --items A,B -o OUT",
                          "%s is missing", lacks);
    }
    if (items != NULL) {
        options.items = cli_pool_split(call->pool, items, &options.item_count);
        if (options.items == NULL) {
            return cli_memory(call->error);
        }
    }
    glassine_status status = scans_that_go(call, &options);
    if (status == GLASSINE_OK) {
        status = glassine_dispatch(call->draft, &options, args->option[CLI_OUT], call->report, call->error);
    }
    cli_progress_end(call->terminal);
    return status;
}

glassine_status cli_pending(cli_call *call) {
    return glassine_pending(call->bundle, call->report, call->error);
}

glassine_status cli_reply(cli_call *call) {
    const char *by, *via;
    const char *out = call->args->option[CLI_OUT];
    if (out == NULL) {
        return cli_refuse(call->error, NULL, "-o OUT names the new file", "nothing says where to write");
    }
    glassine_status status = cli_speaker_find(call->pool, call->bundle, call->args, &by, &via, call->error);
    if (status == GLASSINE_OK) {
        status = cli_sign_with(call, call->bundle);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    return glassine_reply(call->bundle, by != NULL ? by : cli_speaker_usual(call->bundle),
                          call->args->option[CLI_ANSWERS], out, call->report, call->error);
}

/* --only: names of types, NULL where all are wanted. */
static glassine_status wanted_types(cli_call *call, const char *const **types) {
    *types = NULL;
    if (!cli_has(call->args, CLI_ONLY)) {
        return GLASSINE_OK;
    }
    size_t count;
    const char **list = cli_pool_split(call->pool, call->args->option[CLI_ONLY], &count);
    glassine_status status = list != NULL ? GLASSINE_OK : cli_memory(call->error);
    for (size_t i = 0; i < count && status == GLASSINE_OK; i++) {
        const glassine_type_info *type;
        status = cli_type(call, list[i], &type);
        list[i] = status == GLASSINE_OK ? type->name : NULL;
    }
    if (status == GLASSINE_OK && count == 0) {
        status =
            cli_refuse(call->error, NULL, "For example --only claim,observation", "--only names no type");
    }
    *types = list;
    return status;
}

static glassine_status merge_into(cli_call *call, const char *path) {
    const cli_args *args = call->args;
    glassine_merge_options options = {.preview = cli_has(args, CLI_PREVIEW),
                                      .skip_bad = cli_has(args, CLI_SKIP_BAD),
                                      .note = args->option[CLI_NOTE],
                                      .event = args->option[CLI_ANSWERS],
                                      .on = args->option[CLI_ON],
                                      .understand = args->option[CLI_UNDERSTAND],
                                      .accept_partial = cli_has(args, CLI_ACCEPT_PARTIAL)};
    glassine_bundle *bundle = NULL;
    glassine_draft *draft = NULL;
    const char *by, *via;
    uint32_t before = 0;
    glassine_status status = wanted_types(call, &options.only);
    if (status == GLASSINE_OK) {
        status = glassine_bundle_open(path, GLASSINE_WRITE, cli_watch(call), &bundle, call->error);
    }
    if (status == GLASSINE_OK) {
        status = cli_speaker_find(call->pool, bundle, args, &by, &via, call->error);
    }
    if (status == GLASSINE_OK) {
        status = cli_speaker_at_work(call->pool, bundle, args, by, &via, call->error);
    }
    if (status == GLASSINE_OK) {
        status = cli_sign_with(call, bundle);
    }
    if (status == GLASSINE_OK) {
        status = glassine_draft_new(bundle, by, via, &draft, call->error);
    }
    if (status == GLASSINE_OK) {
        cli_memory_compare(call, bundle);
        options.answers_by = cli_has(args, CLI_BY) ? by : NULL;
        before = glassine_bundle_edition(bundle);
        status = glassine_merge(draft, args->words, args->word_count, &options, call->report, call->error);
    }
    if (status == GLASSINE_OK && glassine_bundle_edition(bundle) > before) {
        cli_memory_keep(call, bundle);
    }
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    return status;
}

/* With -o the bundle stays as it is, and the merge goes into a copy. */
glassine_status cli_merge(cli_call *call) {
    const char *out = call->args->option[CLI_OUT];
    if (out == NULL || cli_has(call->args, CLI_PREVIEW)) {
        return merge_into(call, call->path);
    }
    glassine_report *copying = glassine_report_new("extract"); /* what it tells is of no interest here */
    glassine_status status = glassine_extract(call->path, out, cli_watch(call), copying, call->error);
    glassine_report_free(copying);
    if (status != GLASSINE_OK) {
        return status;
    }
    status = merge_into(call, out);
    if (status != GLASSINE_OK && unlink(out) != 0 && errno != ENOENT) {
        glassine_report_finding(call->report, GLASSINE_WARNING, NULL, out, "Remove it", "is left unfinished");
    }
    return status;
}

/* --since: an edition of the second bundle. */
static glassine_status since(cli_call *call, uint32_t *edition) {
    const char *typed = call->args->option[CLI_SINCE];
    *edition = 0;
    return typed != NULL ? cli_read_edition(typed, edition, call->error) : GLASSINE_OK;
}

/* --by: whose changes; the contributor may be known to one side only. */
static glassine_status whose(cli_call *call, glassine_bundle *other, const char **by) {
    glassine_record *who;
    const char *typed = call->args->option[CLI_BY];
    *by = NULL;
    if (typed == NULL) {
        return GLASSINE_OK;
    }
    glassine_bundle *in = other;
    glassine_status status = glassine_bundle_find(other, "contributor", typed, &who, NULL);
    if (status != GLASSINE_OK) {
        in = call->bundle;
        status = glassine_bundle_find(in, "contributor", typed, &who, call->error);
    }
    if (status == GLASSINE_OK) {
        *by = cli_pool_span(call->pool, glassine_record_id(in, who));
    }
    return status == GLASSINE_OK && *by == NULL ? cli_memory(call->error) : status;
}

static glassine_status tell_difference(cli_call *call, glassine_bundle *other,
                                       const glassine_diff_options *options) {
    const char *as = call->args->option[CLI_AS];
    size_t count = 0;
    glassine_status status;
    if (as == NULL) {
        return glassine_diff(call->bundle, other, options, call->report, call->error);
    }
    call->terminal->bare = true;
    if (strcmp(as, "csv") == 0) {
        status = glassine_diff_csv(call->bundle, other, options, cli_terminal_write, call->terminal, &count,
                                   call->error);
    } else {
        const glassine_json_options json = {.with_private = cli_has(call->args, CLI_WITH_PRIVATE)};
        status = glassine_patch(call->bundle, other, &json, cli_terminal_write, call->terminal, &count,
                                call->error);
    }
    if (status == GLASSINE_OK && count > 0) {
        glassine_report_attention(call->report);
    }
    return status;
}

/* What --as may be, and what goes with it. */
static glassine_status check_as(cli_call *call) {
    const char *as = call->args->option[CLI_AS];
    bool patch = as != NULL && strcmp(as, "patch") == 0;
    if (as != NULL && !patch && strcmp(as, "csv") != 0) {
        return cli_refuse(call->error, as, "--as patch, or --as csv", "is no form of a comparison");
    }
    if (patch && (cli_has(call->args, CLI_ONLY) || cli_has(call->args, CLI_ITEM) ||
                  cli_has(call->args, CLI_SINCE) || cli_has(call->args, CLI_BY))) {
        return cli_refuse(call->error, NULL, "Leave them out, or use --as csv",
                          "a patch is always of the whole documents");
    }
    return GLASSINE_OK;
}

glassine_status cli_diff(cli_call *call) {
    glassine_bundle *other = NULL;
    glassine_diff_options options = {.item = call->args->option[CLI_ITEM]};
    glassine_status status = check_as(call);
    if (status == GLASSINE_OK) {
        status = wanted_types(call, &options.only);
    }
    if (status == GLASSINE_OK) {
        status = since(call, &options.since);
    }
    if (status == GLASSINE_OK) {
        status = glassine_bundle_open_beside(call->args->words[0], call->bundle, NULL, &other, call->error);
    }
    if (status == GLASSINE_OK) {
        status = whose(call, other, &options.by);
    }
    if (status == GLASSINE_OK) {
        status = tell_difference(call, other, &options);
    }
    glassine_bundle_close(other);
    return status;
}

glassine_status cli_contested(cli_call *call) {
    return glassine_contested(call->bundle, call->report, call->error);
}
