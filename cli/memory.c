#include "memory.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "as_of.h"
#include "system.h"

typedef struct saved {
    unsigned edition;
    char log[65];
} saved;

/* $XDG_STATE_HOME/glassine, else ~/.local/state/glassine (XDG base directory specification); NULL: nowhere.
 */
static char *state_folder(cli_pool *pool) {
    const char *folder = getenv("XDG_STATE_HOME");
    if (folder != NULL && cli_system_is_whole(folder)) {
        return cli_pool_print(pool, "%s/glassine", folder);
    }
    folder = cli_system_home();
    return folder != NULL && cli_system_is_whole(folder)
               ? cli_pool_print(pool, "%s/.local/state/glassine", folder)
               : NULL;
}

char *cli_memory_path(cli_pool *pool, const glassine_bundle *bundle, const char *suffix) {
    const char *folder = state_folder(pool);
    return folder != NULL ? cli_pool_print(pool, "%s/%s%s", folder, glassine_bundle_uuid(bundle), suffix)
                          : NULL;
}

/* One small file a bundle: "EDITION LOG". */
static bool read_kept(const char *path, saved *kept) {
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        return false;
    }
    bool good = fscanf(file, "%10u %64[0-9a-f]", &kept->edition, kept->log) == 2 && strlen(kept->log) == 64;
    fclose(file);
    return good;
}

void cli_memory_compare(cli_call *call, glassine_bundle *bundle) {
    saved kept;
    const char *path = cli_memory_path(call->pool, bundle, "");
    if (path == NULL || cli_is_edition(glassine_bundle_path(bundle)) || !read_kept(path, &kept) ||
        kept.edition == 0) {
        return;
    }
    uint32_t edition = glassine_bundle_edition(bundle);
    if (edition < kept.edition) {
        glassine_report_finding(
            call->report, GLASSINE_WARNING, NULL, glassine_bundle_path(bundle),
            "Find the newer copy before you change this one; merging brings both together",
            "this copy ends with edition %u, and edition %u was saved on this computer", edition,
            kept.edition);
        return;
    }
    glassine_span log = glassine_bundle_edition_at(bundle, kept.edition).log;
    if (log.length != 64 || memcmp(log.text, kept.log, 64) != 0) {
        glassine_report_finding(
            call->report, GLASSINE_WARNING, NULL, glassine_bundle_path(bundle),
            "'diff' compares two copies, 'merge' brings them together",
            "its history is not that of the copy that was saved on this computer: edition %u "
            "differs",
            kept.edition);
    }
}

/* Makes the folder and those above it that are missing. */
static bool make_folders(char *path) {
    for (char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        bool made = mkdir(path, 0777) == 0 || errno == EEXIST;
        *slash = '/';
        if (!made) {
            return false;
        }
    }
    return true;
}

bool cli_memory_write(cli_pool *pool, char *path, const char *text) {
    const char *fresh = cli_pool_print(pool, "%s.%ld", path, (long)getpid());
    FILE *file = fresh != NULL && make_folders(path) ? fopen(fresh, "w") : NULL;
    if (file == NULL) {
        return false;
    }
    bool written = fputs(text, file) >= 0;
    written = fclose(file) == 0 && written && rename(fresh, path) == 0;
    if (!written) {
        unlink(fresh);
    }
    return written;
}

void cli_memory_keep(cli_call *call, glassine_bundle *bundle) {
    char *path = cli_memory_path(call->pool, bundle, "");
    uint32_t edition = glassine_bundle_edition(bundle);
    glassine_span log = glassine_bundle_edition_at(bundle, edition).log;
    const char *text = cli_pool_print(call->pool, "%u %.*s\n", edition, (int)log.length, log.text);
    if (path != NULL && (text == NULL || !cli_memory_write(call->pool, path, text))) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, path, NULL,
                                "cannot be written, so an older copy of this bundle will not be noticed");
    }
}
