/* By what records are found: labels, and what they refer to, as slips ever said it, whether it stands or not. */
#ifndef GL_BUNDLE_MENTIONS_H
#define GL_BUNDLE_MENTIONS_H

#include "bundle/bundle.h"

typedef struct gl_mention {
    glassine_record *record;
    /* a label in its folded form, in the arena; or the id of what is referred to, in the slip */
    gl_span text;
    uint32_t subject; /* of what is referred to, in the store; GL_NONE: a label, or it is not there */
    bool is_label;
} gl_mention;

/* Does the type keep what people call a record in this field? */
bool gl_is_label_field(const glassine_type_info *info, gl_span name);

/* Calls `each` for all that the records mention, in their order, which all processors gather. No reading is made. False
 * when memory ran out, or `each` said so. */
bool gl_mentions_gather(const glassine_bundle *bundle, glassine_record *const *records, size_t count,
                        gl_arena *arena, bool (*each)(void *context, const gl_mention *mention),
                        void *context);

#endif
