/* Which known word somebody may have meant. */
#ifndef CLI_NEAREST_H
#define CLI_NEAREST_H

#include <stddef.h>

typedef struct cli_nearest {
    const char *typed;
    const char *best; /* NULL: nothing is near enough */
    size_t distance;
} cli_nearest;

cli_nearest cli_nearest_start(const char *typed);
/* Weighs one candidate, which must outlive *nearest. The first of equally near ones stays. */
void cli_nearest_try(cli_nearest *nearest, const char *candidate);

/* Insertions, deletions, replacements and swaps of neighbours that make `b` of `a`. */
size_t cli_edit_distance(const char *a, const char *b);

#endif
