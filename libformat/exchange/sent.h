/* The `sent` events of a bundle, and whether they were answered. */
#ifndef GL_EXCHANGE_SENT_H
#define GL_EXCHANGE_SENT_H

#include "bundle/bundle.h"

/* Is there a `returned` event that answers it? */
glassine_status gl_sent_answered(glassine_bundle *bundle, glassine_record *event, bool *answered,
                                 glassine_error *error);
bool gl_event_is(glassine_bundle *bundle, glassine_record *event, const char *kind);

#endif
