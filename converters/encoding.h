/* The encoding of a text file: found out, and turned into UTF-8. */
#ifndef CONVERTERS_ENCODING_H
#define CONVERTERS_ENCODING_H

#include "output.h"

/* The encoding's name: by a byte order mark; else UTF-16 where every other byte is NUL; else UTF-8 where it
 * is valid; else Windows-1252, the usual one of programs that write none of these. */
const char *encoding_find(glassine_span bytes);

/* Without its byte order mark, as UTF-8 into `out`. `encoding` is any name that iconv knows; refused at the
 * first byte that is none of it. */
glassine_status encoding_decode(glassine_span bytes, const char *encoding, const char *place,
                                conv_output *out, glassine_error *error);

#endif
