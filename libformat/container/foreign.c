#include "container/foreign.h"

#include <errno.h>
#include <sys/stat.h>

#include "base/calls.h"
#include "base/error.h"

glassine_status gl_foreign_open(const char *path, const glassine_limits *limits, gl_foreign *foreign,
                                glassine_error *error) {
    struct stat file;
    *foreign = (gl_foreign){0};
    if (gl_calls_now()->stat(path, &file) != 0)
        return gl_fail_system(error, errno, path, "cannot be opened");
    return S_ISDIR(file.st_mode) ? gl_folder_open(path, limits, foreign, error)
                                 : gl_archive_open(path, limits, foreign, error);
}

void gl_foreign_close(gl_foreign *foreign) {
    if (foreign->kind)
        foreign->kind->close(foreign->source);
    *foreign = (gl_foreign){0};
}
