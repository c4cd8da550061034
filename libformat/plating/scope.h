/* Which records bear on the standings of some stamps. */
#ifndef GL_PLATING_SCOPE_H
#define GL_PLATING_SCOPE_H

#include "bundle/bundle.h"

/* `marks`, by subject of the store, spread to all that bears on the standings of stamps that the marked
 * records bear on: stamps, their items, what is said and seen of them, whatever ties them together or rests
 * on what is said of the others; and every design, plate, state and known mark. Whoever changed one of these,
 * or a join, or whose word counts, cannot ask so: then any stamp may stand elsewhere. */
glassine_status gl_scope_spread(const glassine_bundle *bundle, bool *marks, glassine_error *error);

/* The records that standings are worked out from, in order of arrival: of the subjects that were marked so; NULL: of all.
 * `list` (NULL: they are only counted) has room for all of the bundle's. */
size_t gl_scope_records(const glassine_bundle *bundle, const bool *marks, glassine_record **list);

/* As glassine_standings_new, of the stamps among the subjects that were marked so (NULL: of all). `watch` (NULL:
 * nobody's) counts these records. */
glassine_status gl_standings_within(glassine_bundle *bundle, const bool *marks, gl_watch *watch,
                                    glassine_standings **out, glassine_error *error);

#endif
