/* The parts of a merge's report that people read and that need all notes of a kind before the first row: what
 * is in short, what is contested, what combines, where stamps stand. */
#ifndef GL_EXCHANGE_MERGE_TEXT_H
#define GL_EXCHANGE_MERGE_TEXT_H

#include "bundle/bundle.h"

/* A real merge of some hundred changes is read whole; of a great pool, text shows the first of each sort. */
enum { GL_MERGE_ROWS_MOST = 200 };

/* Item and record stand in the first of their rows: `before` is the note of the row before; NULL: none. */
void gl_merge_text_subject(glassine_node *row, glassine_bundle *bundle, const glassine_merge_note *note,
                           const glassine_merge_note *before);
/* "claim", "plate state", "3 matches": `count` of them; 0: the bare name of one. */
void gl_merge_text_type(gl_span type, uint64_t count, gl_buf *out);

/* Each takes all notes of its kind, and heads what it tells. */
void gl_merge_text_sources(glassine_node *result, const char *heading, const glassine_merge_note *notes,
                           size_t count);
void gl_merge_text_contested(glassine_node *result, const char *heading, glassine_bundle *bundle,
                             const glassine_merge_note *notes, size_t count);
void gl_merge_text_combined(glassine_node *result, const char *heading, glassine_bundle *bundle,
                            const glassine_merge_note *notes, size_t count);
void gl_merge_text_standings(glassine_node *result, const char *heading, glassine_bundle *bundle,
                             const glassine_merge_note *notes, size_t count);

/* A word of a command that can be pasted into a shell. */
void gl_merge_text_word(gl_span word, gl_buf *out);
/* What names the record in a command: a label where that is enough. */
void gl_merge_text_name(glassine_bundle *bundle, glassine_record *record, gl_buf *out);

#endif
