#include "shape.h"

#include "numbers.h"
#include "refuse.h"

enum { STAMPS_MOST = 10000 };

static bool parse(const char *typed, cli_shape *shape) {
    uint64_t rows, columns = 0;
    bool good = cli_take_whole(&typed, STAMPS_MOST, &rows), block = *typed == 'x' || *typed == 'X';
    if (good && block) {
        typed++;
        good = cli_take_whole(&typed, STAMPS_MOST, &columns);
    }
    uint64_t count = block ? rows * columns : rows;
    *shape = (cli_shape){(unsigned)count, (unsigned)columns};
    return good && *typed == '\0' && count <= STAMPS_MOST && (count >= 1 || !block);
}

glassine_status cli_shape_parse(const char *typed, cli_shape *shape, glassine_error *error) {
    *shape = (cli_shape){1, 0};
    if (typed == NULL || parse(typed, shape)) {
        return GLASSINE_OK;
    }
    return cli_refuse(error, "stamps", "stamps=4, stamps=2x3 (2 rows of 3) or stamps=0; at most 10000",
                      "\"%s\" is no number of stamps", typed);
}
