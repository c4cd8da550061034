/* The indexes by label and by reference, for find.c and label.c. */
#ifndef GL_BUNDLE_NAMES_H
#define GL_BUNDLE_NAMES_H

#include "bundle/mentions.h"

/* What a look-up looks for: a label in its folded form, or who refers to an id. */
typedef struct gl_sought {
    gl_span folded, id; /* one is absent */
} gl_sought;
/* Is the JSON value a text that folds to `folded`? */
bool gl_label_folds_to(gl_span value, gl_span folded, gl_buf *text, gl_buf *fold);
/* looking.c: fits[i] says whether a slip on records[i] ever said that, on all processors; false when memory ran out. */
bool gl_look_through(glassine_bundle *bundle, glassine_record *const *records, size_t count,
                     const gl_sought *sought, bool *fits);

/* Records of these types (NULL-ended; NULL: any) with this label (letter case and normal form aside), each once, in no
 * order; the array lives until the next look-up. */
glassine_status gl_names_labelled(glassine_bundle *bundle, gl_span label, const char *const *types,
                                  glassine_record ***list, size_t *count, glassine_error *error);
/* Is `id` the value, or an element of it? */
bool gl_value_refers(gl_span value, gl_span id);
/* The stamps of an item, in the order in which people number them, set-aside ones too; in the arena. */
glassine_status gl_item_stamps(glassine_bundle *bundle, gl_span item, glassine_record ***stamps,
                               size_t *count, glassine_error *error);

#endif
