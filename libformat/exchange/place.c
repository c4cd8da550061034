#include "exchange/place.h"

#include <errno.h>

#include "base/error.h"
#include "base/file.h"

/* What the disk does not confirm may be gone after a power cut: a new file is taken back, so that a failure
 * leaves nothing; one that took another's place stays, since the other is gone. */
static glassine_status sync_place(const char *out, bool replace, glassine_error *error) {
    int code = gl_file_sync_folder_of(out);
    if (!code)
        return GLASSINE_OK;
    if (!replace) {
        gl_file_remove(out);
        return gl_fail_making(error, code, out, "cannot be written");
    }
    gl_fail_making(error, code, out, "it is in place, but the disk did not confirm its name");
    gl_error_remedy(error, "It is whole all the same: look after the disk, and do it again");
    return GLASSINE_SYSTEM;
}

glassine_status gl_put_in_place(const char *temporary, const char *out, bool replace, glassine_error *error) {
    int code = replace ? gl_file_rename(temporary, out) : gl_file_link_new(temporary, out);
    if (!code)
        return sync_place(out, replace, error);
    if (code != EEXIST)
        return gl_fail_making(error, code, out, "cannot be written");
    gl_fail(error, GLASSINE_REFUSED, NULL, out, "cannot be written: File exists");
    gl_error_remedy(error, "Choose another name, or move the file away");
    return GLASSINE_REFUSED;
}
