/* Members of a ZIP file that somebody else wrote, in bounds. */
#ifndef CONVERTERS_ZIP_IN_H
#define CONVERTERS_ZIP_IN_H

#include "output.h"

#define ZIP_MEMBERS_MOST 10000
#define ZIP_BYTES_MOST ((uint64_t)1 << 30) /* inflated, of all that is read */

/* What is done with a member. `wanted` says whether it is read at all; `piece` gets its bytes, and once a
 * length of 0 at its end. */
typedef struct zip_reader {
    void *context;
    bool (*wanted)(void *context, const char *name);
    glassine_status (*piece)(void *context, const char *bytes, size_t length, glassine_error *error);
} zip_reader;

/* Reads the file through once. Refused where it is no ZIP file, encrypted, damaged or beyond the bounds. */
glassine_status zip_read(const char *path, const zip_reader *reader, glassine_error *error);

#endif
