#include "shape.h"

#include <ctype.h>

#include "refuse.h"

enum { STAMPS_MOST = 10000 };

/* A run of digits; false where there is none or it is too great. */
static bool take_number(const char **text, unsigned *number) {
    if (!isdigit((unsigned char)**text)) {
        return false;
    }
    for (*number = 0; isdigit((unsigned char)**text); ++*text) {
        *number = *number * 10 + (unsigned)(**text - '0');
        if (*number > STAMPS_MOST) {
            return false;
        }
    }
    return true;
}

static bool parse(const char *typed, cli_shape *shape) {
    unsigned rows;
    if (!take_number(&typed, &rows)) {
        return false;
    }
    *shape = (cli_shape){rows, 0};
    if (*typed == 'x' || *typed == 'X') {
        typed++;
        if (!take_number(&typed, &shape->columns)) {
            return false;
        }
        shape->count = rows * shape->columns;
        return *typed == '\0' && shape->count >= 1 && shape->count <= STAMPS_MOST;
    }
    return *typed == '\0';
}

glassine_status cli_shape_parse(const char *typed, cli_shape *shape, glassine_error *error) {
    *shape = (cli_shape){1, 0};
    if (typed == NULL || parse(typed, shape)) {
        return GLASSINE_OK;
    }
    return cli_refuse(error, "stamps", "stamps=4, stamps=2x3 (2 rows of 3) or stamps=0; at most 10000",
                      "\"%s\" is no number of stamps", typed);
}
