/* Ids that follow from what they are of, so that making a record twice makes it once: UUIDs of version 8 (RFC
 * 9562, 5.8), out of the first 16 bytes of a SHA-256. */
#ifndef GL_EXCHANGE_DERIVED_H
#define GL_EXCHANGE_DERIVED_H

#include "base/hash.h"

enum { GL_DERIVED_SIZE = 32 + 1 + 36 + 1 };

/* "TYPE/UUID" of the bytes `name`; false when memory ran out. */
bool gl_derived_id(const char *type, gl_span name, char out[GL_DERIVED_SIZE]);

#endif
