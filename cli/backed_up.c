#include "backed_up.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "memory.h"
#include "system.h"

/* "EDITION LOG", and the path in a line of its own. */
bool cli_backed_up_recall(cli_call *call, const glassine_bundle *bundle, cli_backed_up *last) {
    const char *kept = cli_memory_path(call->pool, bundle, ".backup");
    FILE *file = kept != NULL ? fopen(kept, "r") : NULL;
    if (file == NULL) {
        return false;
    }
    bool good = fscanf(file, "%10u %64[0-9a-f]%*1[\n]", &last->edition, last->log) == 2 &&
                strlen(last->log) == 64 && fgets(last->path, sizeof last->path, file) != NULL;
    fclose(file);
    if (good) {
        last->path[strcspn(last->path, "\n")] = '\0';
    }
    return good && cli_system_is_whole(last->path);
}

/* From the root on; NULL where it cannot be said, or would take more than a line. */
static const char *whole_path(cli_pool *pool, const char *path) {
    char folder[4096];
    const char *whole = cli_system_is_whole(path)               ? path
                        : getcwd(folder, sizeof folder) != NULL ? cli_pool_print(pool, "%s/%s", folder, path)
                                                                : NULL;
    return whole != NULL && strchr(whole, '\n') == NULL ? whole : NULL;
}

void cli_backed_up_keep(cli_call *call, const glassine_bundle *bundle, const char *path) {
    char *kept = cli_memory_path(call->pool, bundle, ".backup");
    const char *whole = whole_path(call->pool, path);
    uint32_t edition = glassine_bundle_edition(bundle);
    glassine_span log = glassine_bundle_edition_at(bundle, edition).log;
    const char *text =
        whole != NULL ? cli_pool_print(call->pool, "%u %.*s\n%s\n", edition, (int)log.length, log.text, whole)
                      : NULL;
    if (kept == NULL || text == NULL || !cli_memory_write(call->pool, kept, text)) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, kept, NULL,
                                "where the backup is cannot be remembered: name it again the next time");
    }
}

void cli_backed_up_mention(cli_call *call, const glassine_bundle *bundle) {
    cli_backed_up last;
    uint32_t edition = glassine_bundle_edition(bundle);
    if (!cli_backed_up_recall(call, bundle, &last) || last.edition >= edition) {
        return;
    }
    glassine_report_finding(
        call->report, GLASSINE_NOTE, NULL, last.path, "`glassine backup FILE` brings it up to date",
        "%u edition%s not backed up yet; the backup has edition %u", edition - last.edition,
        edition - last.edition == 1 ? " is" : "s are", last.edition);
}
