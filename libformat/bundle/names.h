/* The indexes by label and by reference, for find.c and label.c. */
#ifndef GL_BUNDLE_NAMES_H
#define GL_BUNDLE_NAMES_H

#include "bundle/bundle.h"

/* Records of these types (NULL-ended; NULL: any) with this label (letter case and normal form aside), each once, in no
 * order; the array lives until the next look-up. */
glassine_status gl_names_labelled(glassine_bundle *bundle, gl_span label, const char *const *types,
                                  glassine_record ***list, size_t *count, glassine_error *error);
/* Is `id` the value, or an element of it? */
bool gl_value_refers(gl_span value, gl_span id);
/* The stamps of an item, in the order in which people number them, set-aside ones too; in the arena. */
glassine_status gl_item_stamps(glassine_bundle *bundle, gl_span item, glassine_record ***stamps, size_t *count,
                               glassine_error *error);

#endif
