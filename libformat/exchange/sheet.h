/* Reply sheets: what the page saves, one JSON document (spec/reply-sheet.md). */
#ifndef GL_EXCHANGE_SHEET_H
#define GL_EXCHANGE_SHEET_H

#include "exchange/merge.h"

/* Is the file a JSON document, rather than a bundle, an archive or a text? */
bool gl_sheet_is_one(const char *path);
/* Takes all of it in, or nothing: every slip follows from the sheet alone. */
glassine_status gl_sheet_take(gl_merging *it, glassine_merge_source *source, glassine_error *error);

#endif
