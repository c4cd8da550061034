#include "watching.h"

#include <signal.h>
#include <string.h>

#include "refuse.h"
#include "system.h"

static volatile sig_atomic_t interrupted;

static void interrupt(int number) {
    (void)number;
    interrupted = 1;
}

static bool tell(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    cli_terminal *terminal = ((cli_call *)context)->terminal;
    cli_progress_tell(terminal, doing, unit, done, total);
    if (done == total || interrupted) {
        cli_progress_end(terminal);
    }
    return !interrupted;
}

const glassine_options *cli_look_on(cli_call *call) {
    call->watch = (glassine_watch){tell, call};
    call->watching = (glassine_options){.watch = &call->watch};
    return &call->watching;
}

const glassine_options *cli_watch(cli_call *call) {
    if (!call->watched) {
        call->watched = true;
        cli_system_on_interrupt(interrupt);
    }
    return cli_look_on(call);
}

glassine_status cli_watch_check(cli_call *call) {
    return interrupted ? cli_system(call->error, 0, call->path, NULL, "stopped; nothing was changed")
                       : GLASSINE_OK;
}
