/* Text that lives as long as one call of a verb. */
#ifndef CLI_POOL_H
#define CLI_POOL_H

#include "glassine.h"

typedef struct cli_pool {
    struct cli_pooled *last;
} cli_pool; /* begin with {0} */

/* All return NULL where memory ran out. */
void *cli_pool_take(cli_pool *pool, size_t size);
char *cli_pool_copy(cli_pool *pool, const char *text, size_t length);
char *cli_pool_span(cli_pool *pool, glassine_span span); /* NULL too where the span is absent */
char *cli_pool_print(cli_pool *pool, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* "a,b,c" into its parts, white space taken off; a comma inside a part is written "\,", a backslash "\\". NULL-ended. */
const char **cli_pool_split(cli_pool *pool, const char *text, size_t *count);
void cli_pool_free(cli_pool *pool);

#endif
