/* JSON from outside, as canonical JSON (RFC 8785). */
#ifndef CONVERTERS_JSON_CANONICAL_H
#define CONVERTERS_JSON_CANONICAL_H

#include <jansson.h>

#include "output.h"

/* Appends the value. NULL, or static text that says why it has no place in a bundle: a fraction, a null. That
 * memory ran out is told by the output alone. */
const char *json_canonical(const json_t *value, conv_output *out);

#endif
