/* What this computer last saved of each bundle, so that an older or a different copy is noticed. */
#ifndef CLI_MEMORY_H
#define CLI_MEMORY_H

#include "call.h"

/* Warns in the report where the bundle is older than what was saved here, or has another history. An edition
 * that was asked for (FILE#N) is meant to be older. */
void cli_memory_compare(cli_call *call, glassine_bundle *bundle);

/* Remembers the edition and log value that were just saved. Failing to is no more than a note. */
void cli_memory_keep(cli_call *call, glassine_bundle *bundle);

#endif
