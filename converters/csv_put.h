/* Writing CSV as RFC 4180 has it. */
#ifndef CONVERTERS_CSV_PUT_H
#define CONVERTERS_CSV_PUT_H

#include "output.h"

#define CSV_BOM "\xef\xbb\xbf"

/* A cell's text, between quotes where they are needed; a comma before it unless `first`. */
void csv_put_cell(conv_output *sheet, glassine_span text, bool first);
/* The same of text as cell.h marks it; nothing of an empty one, which says nothing. */
void csv_put_text(conv_output *sheet, glassine_span text, bool first);
void csv_end_row(conv_output *sheet);

#endif
