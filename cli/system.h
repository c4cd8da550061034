/* What the program must ask each kind of system for in its own way: system_posix.c, system_windows.c. */
#ifndef CLI_SYSTEM_H
#define CLI_SYSTEM_H

#include <stdbool.h>
#include <stddef.h>

/* First of all: standard output takes bytes as they are, and a reader that went away is a failed write.
 * `arguments` may be changed to the system's way of writing the names of files. */
void cli_system_begin(int count, char **arguments);

/* Columns of the terminal; 0 where it is none or does not say. */
unsigned cli_system_width(int descriptor);
/* Whether the terminal shows what is typed; false where standard input is none. */
bool cli_system_echo(bool shown);
/* Calls `stop` the first time that the user presses Ctrl-C, unless who started the program has it ignored. */
void cli_system_on_interrupt(void (*stop)(int number));

/* Whether the name of a file begins at a root. */
bool cli_system_is_whole(const char *path);
/* The variable that names the user's own folder. */
const char *cli_system_home(void);

#endif
