/* --as-of: an earlier edition of a bundle, by its number or by a date. */
#ifndef CLI_AS_OF_H
#define CLI_AS_OF_H

#include "call.h"

/* Whether `path` is "FILE#N": a file of that very name comes first. */
bool cli_is_edition(const char *path);

/* "FILE#N" of the edition of `bundle`, opened from call->path, that --as-of means; in the call's pool. */
glassine_status cli_as_of_path(cli_call *call, const glassine_bundle *bundle, const char **path);
/* Opens that edition, for reading. */
glassine_status cli_as_of_open(cli_call *call, const glassine_bundle *bundle, glassine_bundle **then);

#endif
