/* The manual pages, made of the table of verbs. */
#ifndef CLI_MAN_H
#define CLI_MAN_H

#include "glassine.h"

/* Writes a page (roff, the man macros): of the program where `name` is NULL; of the bundle ("format"); of a
 * family of commands ("writing" …). False where there is no such page, memory ran out or the sink failed. */
bool cli_man_write(const char *name, glassine_write write, void *context);

#endif
