/* Which records mention something: an index by label, and one by what they refer to. Entries are only ever added; whoever
 * asks checks them against the record as it is now. */
#ifndef GL_BUNDLE_LINKS_H
#define GL_BUNDLE_LINKS_H

#include "bundle/mentions.h"

typedef struct gl_link {
    glassine_record *record;
    uint32_t next; /* link; GL_NONE */
} gl_link;

typedef struct gl_links gl_links;
gl_links *gl_links_new(void);
void gl_links_free(gl_links *links);
void gl_links_forget(gl_links *links);
/* The texts of mentions lie here; those of labels must, those of ids must outlive the links. */
gl_arena *gl_links_arena(gl_links *links);

/* False when memory ran out. */
bool gl_links_add(gl_links *links, const gl_mention *mention);

/* The first link of the records that go by this folded label; that refer to the subject with this number in the store;
 * that refer to this id, which was not in the store when they were added. GL_NONE: there are none. */
uint32_t gl_links_by_label(const gl_links *links, gl_span folded);
uint32_t gl_links_by_subject(const gl_links *links, uint32_t subject);
uint32_t gl_links_by_id(const gl_links *links, gl_span id);
const gl_link *gl_links_at(const gl_links *links, uint32_t link);

#endif
