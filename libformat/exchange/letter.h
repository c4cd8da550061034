/* letter.txt: numbered questions to paste into an e-mail, answered by number (spec/exchange.md). */
#ifndef GL_EXCHANGE_LETTER_H
#define GL_EXCHANGE_LETTER_H

#include "bundle/bundle.h"

/* `sent` is the dispatched bundle; `items` are ids of items in it, in the letter's order. */
glassine_status gl_letter_write(glassine_bundle *sent, const gl_span *items, size_t count, const char *ask,
                                gl_span file_name, gl_buf *out, glassine_error *error);

#endif
