/* How many stamps an item has, as people type it: "4", "2x3", "0". */
#ifndef CLI_SHAPE_H
#define CLI_SHAPE_H

#include "call.h"

typedef struct cli_shape {
    unsigned count;
    unsigned columns; /* of a block; 0: the stamps have no rows and columns */
} cli_shape;

/* `typed` NULL: one stamp. */
glassine_status cli_shape_parse(const char *typed, cli_shape *shape, glassine_error *error);

#endif
