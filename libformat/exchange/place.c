#include "exchange/place.h"

#include <errno.h>

#include "base/error.h"
#include "base/file.h"

glassine_status gl_put_in_place(const char *temporary, const char *out, bool replace, glassine_error *error) {
    int code = replace ? gl_file_rename(temporary, out) : gl_file_link_new(temporary, out);
    if (!code)
        code = gl_file_sync_folder_of(out);
    if (!code)
        return GLASSINE_OK;
    if (code != EEXIST)
        return gl_fail_making(error, code, out, "cannot be written");
    gl_fail(error, GLASSINE_REFUSED, NULL, out, "cannot be written: File exists");
    gl_error_remedy(error, "Choose another name, or move the file away");
    return GLASSINE_REFUSED;
}
