/* The sheet for answers that lies beside a dispatch: one row a question, to be filled in (spec/answers.md).
 */
#ifndef GL_EXCHANGE_ANSWER_SHEET_H
#define GL_EXCHANGE_ANSWER_SHEET_H

#include "exchange/answers.h"

/* `items` are ids of items in the dispatched bundle, in the letter's order. */
glassine_status gl_answer_sheet_write(glassine_bundle *sent, const gl_span *items, size_t count, gl_buf *out,
                                      glassine_error *error);

/* Does the text begin with the sheet's header? */
bool gl_answer_sheet_is(gl_span text);
/* The `sent` event that its rows name; absent where they name none, or several. In the arena of `list`. */
gl_span gl_answer_sheet_event(gl_span text, gl_answer_list *list);
/* Its rows as answers; rows that were left empty are none. False when memory ran out. */
bool gl_answer_sheet_read(gl_span text, const gl_span *labels, size_t count, gl_answer_list *list);

#endif
