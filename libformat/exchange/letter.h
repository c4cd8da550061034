/* letter.txt: numbered questions to paste into an e-mail, answered by number (spec/exchange.md). */
#ifndef GL_EXCHANGE_LETTER_H
#define GL_EXCHANGE_LETTER_H

#include "bundle/bundle.h"

/* The stamps that a letter about these items asks about, in its order: the n-th is question n. `sent` is the
 * dispatched bundle, in whose arena the list is. */
glassine_status gl_letter_stamps(glassine_bundle *sent, const gl_span *items, size_t count, gl_span **stamps,
                                 size_t *stamp_count, glassine_error *error);

/* `items` are ids of items in the dispatched bundle, in the letter's order; `page`: it holds open-me.html. */
glassine_status gl_letter_write(glassine_bundle *sent, const gl_span *items, size_t count, const char *ask,
                                gl_span file_name, bool page, gl_buf *out, glassine_error *error);

#endif
