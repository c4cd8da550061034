#include "as_of.h"

#include <string.h>
#include <unistd.h>

#include "refuse.h"

bool cli_is_edition(const char *path) {
    const char *mark = strrchr(path, '#');
    return mark != NULL && mark > path && access(path, F_OK) != 0;
}

/* A number of up to three digits is an edition's; "1861" is a year. */
static bool is_number(const char *typed) {
    return typed[strspn(typed, "0123456789")] == '\0' && strlen(typed) <= 3;
}

static glassine_status find_number(cli_call *call, const glassine_bundle *bundle, const char **number) {
    uint32_t edition;
    *number = call->args->option[CLI_AS_OF];
    if (is_number(*number)) {
        return GLASSINE_OK;
    }
    glassine_status status = glassine_bundle_as_of(bundle, *number, &edition, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (edition == 0) {
        glassine_span at = glassine_bundle_edition_at(bundle, 1).at;
        return cli_refuse(call->error, call->path, "`glassine editions` lists its editions",
                          "has no edition up to %s: the first is of %.*s", *number, (int)at.length, at.text);
    }
    *number = cli_pool_print(call->pool, "%u", edition);
    return *number != NULL ? GLASSINE_OK : cli_memory(call->error);
}

glassine_status cli_as_of_path(cli_call *call, const glassine_bundle *bundle, const char **path) {
    const char *number;
    *path = NULL;
    if (cli_is_edition(call->path)) {
        return cli_refuse(call->error, call->path, "Leave out #N, or --as-of", "is one edition already");
    }
    glassine_status status = find_number(call, bundle, &number);
    if (status != GLASSINE_OK) {
        return status;
    }
    *path = cli_pool_print(call->pool, "%s#%s", call->path, number);
    return *path != NULL ? GLASSINE_OK : cli_memory(call->error);
}

glassine_status cli_as_of_open(cli_call *call, const glassine_bundle *bundle, glassine_bundle **then) {
    const char *path;
    glassine_status status = cli_as_of_path(call, bundle, &path);
    return status == GLASSINE_OK ? glassine_bundle_open(path, GLASSINE_READ, NULL, then, call->error)
                                 : status;
}
