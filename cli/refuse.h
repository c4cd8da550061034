/* Filling a glassine_error from the program. */
#ifndef CLI_REFUSE_H
#define CLI_REFUSE_H

#include "glassine.h"

/* All fill *error and return its status. `place` and `remedy` may be NULL. */
glassine_status cli_refuse(glassine_error *error, const char *place, const char *remedy, const char *format,
                           ...) __attribute__((format(printf, 4, 5)));
/* With the text of errno `code` behind the message: the system failed, or where the code blames the name that
 * somebody gave (no such file …), it is refused. */
glassine_status cli_system(glassine_error *error, int code, const char *place, const char *remedy,
                           const char *format, ...) __attribute__((format(printf, 5, 6)));
/* "PLACE: cannot be written": where a file was to be made, a folder that is not there is the system's
 * failure. */
glassine_status cli_cannot_make(glassine_error *error, int code, const char *place, const char *remedy);
glassine_status cli_memory(glassine_error *error);

/* Puts `outer` before the place of a filled error: "list.txt: line 7". */
void cli_within(glassine_error *error, const char *outer);

#endif
