/* Rules on scans against their files in the bundle (R050, R051, R053). */
#ifndef GL_AUDIT_SCAN_RULES_H
#define GL_AUDIT_SCAN_RULES_H

#include "bundle/bundle.h"

typedef enum gl_scan_depth {
    GL_SCAN_LISTED, /* as the directory has it: size, media type by its name */
    GL_SCAN_LOOKED, /* also what the file says of itself: width, height, whether it is whole */
    GL_SCAN_DECODED /* also every pixel */
} gl_scan_depth;

/* That the bytes have the digest is for the bag's rules to see, since it is their name. A scan whose bytes
 * are not in the bundle breaks no rule, and one of more than a gibibyte is not looked into. */
glassine_status gl_scan_rules(glassine_bundle *bundle, glassine_record *scan, gl_scan_depth depth,
                              void (*found)(void *context, const glassine_error *error), void *context,
                              glassine_error *error);

#endif
