/* What may stand where a command line breaks off: the shells' completion asks for it. */
#ifndef CLI_COMPLETE_H
#define CLI_COMPLETE_H

#include "glassine.h"

/* `words` were typed behind the program's name; the last one, perhaps empty, is to be completed. Writes one
 * candidate a line, each a whole word; nothing where the name of a file is to stand, or nothing is known.
 * False where memory ran out or the sink failed. */
bool cli_complete(char *const *words, size_t count, glassine_write write, void *context);

#endif
