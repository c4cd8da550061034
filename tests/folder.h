/* A folder of a test's own, below TMPDIR or /tmp, and names in it. Syncs do nothing: real ones would take
 * most of the time, and prove nothing here. */
#ifndef TESTS_FOLDER_H
#define TESTS_FOLDER_H

#include <dirent.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/calls.h"

static char folder[128];

static inline int sync_nothing(int fd) {
    (void)fd;
    return 0;
}

static inline void without_syncs(void) {
    static gl_calls calls;
    calls = *gl_calls_system();
    calls.fdatasync = sync_nothing;
    calls.fsync = sync_nothing;
    gl_calls_use(&calls);
}

static inline int make_folder(void **state) {
    (void)state;
    without_syncs();
    const char *root = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/glassine-test-XXXXXX", root && *root ? root : "/tmp");
    return mkdtemp(folder) ? 0 : -1;
}

/* With all that is in it; links are not followed. */
static inline int remove_tree(const char *path) {
    if (unlink(path) == 0)
        return 0;
    DIR *entries = opendir(path);
    if (!entries)
        return -1;
    for (struct dirent *entry; (entry = readdir(entries)) != NULL;) {
        char inner[1024];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        if (snprintf(inner, sizeof inner, "%s/%s", path, entry->d_name) >= (int)sizeof inner)
            abort();
        remove_tree(inner);
    }
    closedir(entries);
    return rmdir(path);
}

static inline int remove_folder(void **state) {
    (void)state;
    return remove_tree(folder);
}

static inline int empty_folder(void) {
    return remove_tree(folder) == 0 ? mkdir(folder, 0700) : -1;
}

#endif
