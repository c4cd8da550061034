/* Giving a file that was written under a temporary name its own. */
#ifndef GL_EXCHANGE_PLACE_H
#define GL_EXCHANGE_PLACE_H

#include <stdbool.h>

#include "glassine.h"

/* `out` must not exist, unless `replace`. The folder is brought to disk. */
glassine_status gl_put_in_place(const char *temporary, const char *out, bool replace, glassine_error *error);

#endif
