/* The manual page, made of the table of verbs. */
#ifndef CLI_MAN_H
#define CLI_MAN_H

#include "glassine.h"

/* Writes glassine.1 (roff, the man macros); false where memory ran out or the sink failed. */
bool cli_man_write(glassine_write write, void *context);

#endif
