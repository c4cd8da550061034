/* Whom and what a record is about, as reports group and name it. */
#ifndef GL_EXCHANGE_SUBJECT_H
#define GL_EXCHANGE_SUBJECT_H

#include "bundle/bundle.h"

/* The item that the record is, or that it leads to by way of its stamp or scan; NULL where it is about none,
 * or about several. */
glassine_record *gl_item_of(glassine_bundle *bundle, glassine_record *record);

/* A record with what reports are sorted by. */
typedef struct gl_subject_entry {
    glassine_record *record, *item;
    size_t place; /* whatever the caller wants to find again */
} gl_subject_entry;

/* Fills `item` and sorts: by item, as people count, and within one in a cursor's order; what is about no item
 * comes last. False when memory ran out. */
bool gl_sort_by_item(glassine_bundle *bundle, gl_subject_entry *entries, size_t count);

/* The contributor's name, else the id. */
gl_span gl_person_shown(glassine_bundle *bundle, gl_span person);
/* What a row about the record calls it, its item standing beside it: "stamp", "plate 1", "event on Odile Farrow". */
void gl_record_called(glassine_bundle *bundle, glassine_record *record, glassine_record *item, gl_buf *out);
/* What the record says, for one line: its fields in the table's order, without those that only say what it is
 * about, "positions: 64, state: early". Private fields are left out. */
void gl_record_says(glassine_bundle *bundle, glassine_record *record, gl_buf *out);
/* Is that anything at all? */
bool gl_record_says_something(glassine_bundle *bundle, glassine_record *record);
/* The same in fewer words where the type has a way of its own: "plate 1, R2/9, certain; the re-entry", "doubling at 996,
 * 420; strong", "cannot tell". */
void gl_record_told(glassine_bundle *bundle, glassine_record *record, gl_buf *out);
/* The values that stand, "4 | 64"; "nothing" where it is unsaid, "(taken away)" where it was cleared. */
void gl_field_shown(glassine_bundle *bundle, const glassine_field *field, gl_buf *out);
/* The same as a JSON array of what is said, null for a cleared value; [] where it is unsaid. */
void gl_field_json(const glassine_field *field, gl_buf *out);

#endif
