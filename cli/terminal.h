/* The program's ends: standard output, standard error, the person at the terminal. */
#ifndef CLI_TERMINAL_H
#define CLI_TERMINAL_H

#include "glassine.h"

typedef struct cli_terminal {
    bool json;
    bool bare;      /* the verb wrote its own document to standard output: no report follows there */
    bool tells_all; /* the result of what was refused is told too */
    bool can_ask;   /* somebody sits there: standard input and standard error are terminals */
    bool live;      /* standard error is a terminal: progress is shown */
    glassine_text_style out, err;
    int failure; /* errno of the first write to standard output that failed, else 0 */
    struct cli_progress {
        const char *doing, *unit; /* NULL unit: bytes */
        uint64_t total, done;
        double began, shown; /* seconds on the monotonic clock */
    } progress;
} cli_terminal;

void cli_terminal_begin(cli_terminal *terminal, bool json);

/* A glassine_write on standard output; `context` is the terminal. */
int cli_terminal_write(void *context, const char *bytes, size_t length);

/* Prints the report: findings and error on standard error and the result on standard output, or with `json`
 * all of it as one document there. False where standard output took no more; `failure` says why. */
bool cli_terminal_print(cli_terminal *terminal, const glassine_report *report, const glassine_error *error);

/* One line about an error on standard error. */
void cli_terminal_tell(const glassine_error *error);

/* Asks a question on the terminal; 'y', 'n', or 0 where nobody answered or can be asked. */
char cli_terminal_ask(cli_terminal *terminal, const char *question);

/* What is being done, done of total and of what (NULL: bytes, told as megabytes), speed, time left; on a terminal only. */
void cli_progress_begin(cli_terminal *terminal, const char *doing, const char *unit, uint64_t total);
void cli_progress_step(cli_terminal *terminal, uint64_t done);
void cli_progress_end(cli_terminal *terminal);
/* The three in one, for those who only tell how far they are: what is done anew, or is of another total, begins anew. */
void cli_progress_tell(cli_terminal *terminal, const char *doing, const char *unit, uint64_t done,
                       uint64_t total);

#endif
