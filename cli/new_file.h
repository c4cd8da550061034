/* A new file that a converter writes. */
#ifndef CLI_NEW_FILE_H
#define CLI_NEW_FILE_H

#include "call.h"

/* Makes the file `out`, which must not exist, and calls `job` to write it; nothing of it stays where that
 * fails. The result then says where it was written. */
glassine_status cli_to_file(cli_call *call, const char *out,
                            glassine_status (*write)(void *job, glassine_write write, void *context),
                            void *job);

#endif
