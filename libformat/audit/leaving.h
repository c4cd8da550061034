/* What may leave with a dispatch (spec/exchange.md): the rule that a dispatch keeps and the audit checks. */
#ifndef GL_AUDIT_LEAVING_H
#define GL_AUDIT_LEAVING_H

#include "bundle/bundle.h"

/* Does a slip of this type and reach leave with a dispatch? */
bool gl_leaves(gl_span type, glassine_reach reach, bool blind);

/* In a dispatch: the slips of edition 1 that should have stayed (S060, S061). */
void gl_leaving_rules(glassine_bundle *bundle, void (*found)(void *context, const glassine_error *error),
                      void *context);

#endif
