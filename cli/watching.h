/* Long work on a terminal: how far it is, and Ctrl-C, after which everything is as it was. */
#ifndef CLI_WATCHING_H
#define CLI_WATCHING_H

#include "call.h"

/* What a bundle is opened with so that its work is watched. From the first call on Ctrl-C stops the work, where it is
 * watched, in good order; a second one ends the program at once. */
const glassine_options *cli_watch(cli_call *call);

/* The same for what only reads: progress is shown, and Ctrl-C ends the program. */
const glassine_options *cli_look_on(cli_call *call);

/* Was Ctrl-C pressed? Then `error` says that nothing was changed. */
glassine_status cli_watch_check(cli_call *call);

#endif
