/* backup: a second file that holds the same. */
#include <string.h>
#include <sys/stat.h>

#include "backed_up.h"
#include "refuse.h"
#include "verbs.h"

static const char *last_part(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

/* A folder stands for the file of the same name in it. */
static const char *in_folder(cli_call *call, const char *destination) {
    struct stat about;
    size_t length = strlen(destination);
    bool slash = length > 0 && destination[length - 1] == '/';
    bool folder = slash || (stat(destination, &about) == 0 && S_ISDIR(about.st_mode));
    return folder ? cli_pool_print(call->pool, "%s%s%s", destination, slash ? "" : "/", last_part(call->path))
                  : destination;
}

glassine_status cli_backup(cli_call *call) {
    cli_backed_up last;
    const char *destination = call->args->word_count > 0 ? in_folder(call, call->args->words[0]) : NULL;
    if (call->args->word_count > 0 && destination == NULL) {
        return cli_memory(call->error);
    }
    if (destination == NULL && !cli_backed_up_recall(call, call->bundle, &last)) {
        return cli_refuse(call->error, call->path, "Name it once: glassine backup FILE DESTINATION",
                          "no backup of it is remembered on this computer");
    }
    const glassine_backup_options options = {.full = cli_has(call->args, CLI_FULL),
                                             .replace = cli_has(call->args, CLI_REPLACE)};
    if (destination == NULL) {
        destination = last.path;
    }
    glassine_status status = glassine_backup(call->bundle, destination, &options, call->report, call->error);
    if (status == GLASSINE_OK) {
        cli_backed_up_keep(call, call->bundle, destination);
    }
    return status;
}
