/* White space, as it stands around what people type and what programs export. */
#ifndef CONVERTERS_SPACES_H
#define CONVERTERS_SPACES_H

#include "output.h"

/* Without ASCII white space and no-break spaces (U+00A0, U+202F) at both ends. */
glassine_span spaces_trim(glassine_span text);

#endif
