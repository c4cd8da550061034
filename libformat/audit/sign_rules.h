/* Rules on signatures and keys (K020–K040), and on how much anybody may say (L025, L026). */
#ifndef GL_AUDIT_SIGN_RULES_H
#define GL_AUDIT_SIGN_RULES_H

#include "bundle/bundle.h"

/* Every signature is verified. Of one rule at most twenty breaches are told one by one, and the rest as one.
 */
glassine_status gl_sign_rules(glassine_bundle *bundle,
                              void (*found)(void *context, const glassine_error *error), void *context,
                              glassine_error *error);

#endif
