/* The `sent` events of a bundle, and whether they were answered. */
#ifndef GL_EXCHANGE_SENT_H
#define GL_EXCHANGE_SENT_H

#include "bundle/bundle.h"

/* Is there a `returned` event that answers it? */
glassine_status gl_sent_answered(glassine_bundle *bundle, glassine_record *event, bool *answered,
                                 glassine_error *error);
/* The slip of the `returned` event by which `by` answers a `sent` one, made by a fixed rule
 * (spec/exchange.md): appended to `line`, which fails where memory ran out. */
void gl_returned_slip(glassine_bundle *bundle, glassine_record *sent, gl_span by, gl_span via, gl_span at,
                      gl_buf *line);
bool gl_event_is(glassine_bundle *bundle, glassine_record *event, const char *kind);

#endif
