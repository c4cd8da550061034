/* Rules on scans against their files in the bundle (R05x). */
#ifndef GL_AUDIT_SCAN_RULES_H
#define GL_AUDIT_SCAN_RULES_H

#include "bundle/bundle.h"

/* The size that the record gives against the file of the bundle (R050), its media type against the file's name
 * (R051). That the bytes have the digest is for the bag's rules to see, since it is their name. A scan whose bytes
 * are not in the bundle breaks no rule. */
void gl_scan_rules(glassine_bundle *bundle, glassine_record *scan,
                   void (*found)(void *context, const glassine_error *error), void *context);

#endif
