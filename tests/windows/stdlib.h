/* What the unit tests use of POSIX, and base/windows has no need of. */
#include_next <stdlib.h>
#ifndef TESTS_WINDOWS_STDLIB_H
#define TESTS_WINDOWS_STDLIB_H

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

static inline int setenv(const char *name, const char *value, int overwrite) {
    return overwrite || !getenv(name) ? _putenv_s(name, value) : 0;
}

static inline int unsetenv(const char *name) {
    return _putenv_s(name, "");
}

static inline char *mkdtemp(char *path) {
    for (unsigned number = 0; number < 1000000; number++) {
        snprintf(path + strlen(path) - 6, 7, "%06u", number);
        if (mkdir(path, 0700) == 0)
            return path;
        if (errno != EEXIST)
            break;
    }
    return NULL;
}

#endif
