/* What is done while memory runs out: each thing that the interface of the library and of the converters can
 * do. */
#ifndef TESTS_MEMORY_OPERATIONS_H
#define TESTS_MEMORY_OPERATIONS_H

#include "glassine.h"

/* What an operation tells, as a sum over its bytes in their order; takes no memory. */
typedef struct telling {
    uint64_t sum;
    bool done; /* the work is, whatever becomes of the report on it */
} telling;

typedef struct operation {
    const char *name;
    void (*prepare)(void); /* puts the files there that it works on; NULL: nothing to put */
    glassine_status (*run)(telling *told,
                           glassine_error *error); /* gives back all that it takes, also where it fails */
    const char *bundle; /* that is sound afterwards, whatever happened, where it is there; NULL: none */
    const char *made;   /* a file or folder that is there after success, and after nothing else; NULL: none */
} operation;

extern const operation OPERATIONS[];
extern const size_t OPERATION_COUNT;

#endif
