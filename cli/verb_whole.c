/* What is done with a bundle as a whole: audit, digest, editions, extract, tidy, unpack. */
#include <errno.h>
#include <string.h>
#include <unistd.h>

#include "as_of.h"
#include "memory.h"
#include "numbers.h"
#include "refuse.h"
#include "verbs.h"
#include "watching.h"

/* Each part of the audit is a piece of work of its own. */
static void show_progress(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    cli_progress_tell(((cli_call *)context)->terminal, doing, unit, done, total);
}

static void compare_with_saved(void *context, glassine_bundle *bundle) {
    cli_memory_compare(context, bundle);
}

glassine_status cli_audit(cli_call *call) {
    if (access(call->path, F_OK) != 0 && !cli_is_edition(call->path)) {
        return cli_system(call->error, errno, call->path, NULL, "cannot be opened");
    }
    const glassine_audit_options options = {.quick = cli_has(call->args, CLI_QUICK),
                                            .images = cli_has(call->args, CLI_IMAGES),
                                            .progress = show_progress,
                                            .opened = compare_with_saved,
                                            .context = call};
    glassine_status status = glassine_audit(call->path, &options, call->report, call->error);
    cli_progress_end(call->terminal);
    if (status == GLASSINE_OK && glassine_report_findings(call->report, GLASSINE_WARNING) > 0) {
        glassine_report_attention(call->report);
    }
    return status;
}

glassine_status cli_digest(cli_call *call) {
    char digest[65];
    glassine_bundle_digest(call->bundle, digest);
    glassine_node_string(call->result, "digest", NULL, digest);
    glassine_node_say(call->result, "%s", digest);
    return GLASSINE_OK;
}

glassine_status cli_editions(cli_call *call) {
    return glassine_editions(call->bundle, call->report, call->error);
}

/* The verb cannot do without -o. */
static glassine_status need_out(cli_call *call, const char **out) {
    *out = call->args->option[CLI_OUT];
    return *out != NULL
               ? GLASSINE_OK
               : cli_refuse(call->error, NULL, "-o OUT names the new file", "nothing says where to write");
}

/* What --as-of means, where it is said. */
static glassine_status source_path(cli_call *call, const char **path) {
    glassine_bundle *bundle = NULL;
    *path = call->path;
    if (!cli_has(call->args, CLI_AS_OF)) {
        return GLASSINE_OK;
    }
    glassine_status status = glassine_bundle_open(call->path, GLASSINE_READ, NULL, &bundle, call->error);
    if (status == GLASSINE_OK) {
        status = cli_as_of_path(call, bundle, path);
    }
    glassine_bundle_close(bundle);
    return status;
}

glassine_status cli_extract(cli_call *call) {
    const char *out, *path;
    glassine_status status = need_out(call, &out);
    if (status == GLASSINE_OK) {
        status = source_path(call, &path);
    }
    return status == GLASSINE_OK ? glassine_extract(path, out, cli_watch(call), call->report, call->error)
                                 : status;
}

glassine_status cli_intake(cli_call *call) {
    return cli_extract(call);
}

glassine_status cli_tidy(cli_call *call) {
    const char *parity = call->args->option[CLI_PARITY];
    unsigned percent;
    if (parity == NULL) {
        return glassine_tidy(call->path, call->args->option[CLI_OUT], cli_watch(call), call->report,
                             call->error);
    }
    glassine_status status = cli_read_percent(parity, &percent, call->error);
    return status == GLASSINE_OK ? glassine_tidy_with_parity(call->path, call->args->option[CLI_OUT], percent,
                                                             cli_watch(call), call->report, call->error)
                                 : status;
}

glassine_status cli_unpack(cli_call *call) {
    return glassine_unpack(call->path, call->args->words[0], cli_watch(call), call->report, call->error);
}
