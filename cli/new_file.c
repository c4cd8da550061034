#include "new_file.h"

#include <errno.h>
#include <stdio.h>
#include <unistd.h>

#include "refuse.h"

static int write_file(void *context, const char *bytes, size_t length) {
    errno = 0;
    return fwrite(bytes, 1, length, context) == length ? 0 : errno != 0 ? errno : EIO;
}

glassine_status cli_to_file(cli_call *call, const char *out,
                            glassine_status (*write)(void *job, glassine_write write, void *context),
                            void *job) {
    FILE *file = fopen(out, "wbx");
    if (file == NULL) {
        return cli_cannot_make(call->error, errno, out, "OUT names a new file");
    }
    glassine_status status = write(job, write_file, file);
    if (status == GLASSINE_OK && (fflush(file) != 0 || fsync(fileno(file)) != 0)) {
        status = cli_system(call->error, errno, out, NULL, "cannot be written");
    }
    fclose(file);
    if (status != GLASSINE_OK) {
        unlink(out);
        return status;
    }
    glassine_node_string(call->result, "written", "written", out);
    return GLASSINE_OK;
}
