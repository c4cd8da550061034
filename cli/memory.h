/* What this computer last saved of each bundle, so that an older or a different copy is noticed. */
#ifndef CLI_MEMORY_H
#define CLI_MEMORY_H

#include "call.h"

/* Warns in the report where the bundle is older than what was saved here, or has another history. An edition
 * that was asked for (FILE#N) is meant to be older. */
void cli_memory_compare(cli_call *call, glassine_bundle *bundle);

/* A file about the bundle in the user's state folder, of that suffix (""); NULL: there is nowhere to keep it.
 */
char *cli_memory_path(cli_pool *pool, const glassine_bundle *bundle, const char *suffix);
/* Writes one, making the folder: a reader sees the old text or the new one. */
bool cli_memory_write(cli_pool *pool, char *path, const char *text);

/* Remembers the edition and log value that were just saved. Failing to is no more than a note. */
void cli_memory_keep(cli_call *call, glassine_bundle *bundle);

#endif
