/* One call of a verb: what it gets to work with. A verb fills the report and the error; it never prints. */
#ifndef CLI_CALL_H
#define CLI_CALL_H

#include "args.h"
#include "glassine.h"
#include "terminal.h"

typedef struct cli_verb cli_verb;

typedef struct cli_call {
    const cli_verb *verb;
    const cli_args *args;
    const char *path;               /* FILE as it was typed; NULL where the verb has none */
    glassine_bundle *bundle;        /* open, where the verb reads or writes one */
    glassine_draft *draft;          /* where it writes */
    glassine_key *key, *key_before; /* the user's own, once read */
    glassine_report *report;        /* for findings, and for library functions that fill it */
    glassine_node *result;          /* where this call's result goes */
    cli_pool *pool;                 /* text that lives as long as this call */
    glassine_watch watch;           /* who looks on (watching.h); empty: nobody */
    glassine_options watching;
    bool watched;           /* Ctrl-C stops the work in good order */
    cli_terminal *terminal; /* progress, questions, output without an envelope */
    glassine_error *error;
} cli_call;

#endif
