/* Contested fields in a report, for `contested` and for what a merge says. */
#ifndef GL_EXCHANGE_CONTESTED_H
#define GL_EXCHANGE_CONTESTED_H

#include "bundle/bundle.h"

/* A contested field with its values, each with who says it, when and why, and, where it was an answer
 * already, what it settled; as an object of `list` for programs and of `text` for people (may be NULL).
 * Values of slips from number `first` on are marked as having come now; GL_NONE: none is. */
void gl_report_contested_field(glassine_bundle *bundle, glassine_record *record, const glassine_field *field,
                               uint32_t first, glassine_node *list, glassine_node *text);

#endif
