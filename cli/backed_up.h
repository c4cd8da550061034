/* Where a bundle was backed up last, and up to which edition: kept beside what was saved (memory.h). */
#ifndef CLI_BACKED_UP_H
#define CLI_BACKED_UP_H

#include "call.h"

typedef struct cli_backed_up {
    unsigned edition;
    char log[65];
    char path[4096];
} cli_backed_up;

/* False where no backup is remembered. */
bool cli_backed_up_recall(cli_call *call, const glassine_bundle *bundle, cli_backed_up *last);
/* Remembers that `path` has the bundle as it is now. Failing to is no more than a note. */
void cli_backed_up_keep(cli_call *call, const glassine_bundle *bundle, const char *path);
/* After a save: how many editions are not in the backup yet. Says nothing where none was ever made. */
void cli_backed_up_mention(cli_call *call, const glassine_bundle *bundle);

#endif
