/* Lines for people: widths, wrapping, gaps between parts. */
#ifndef GL_REPORT_PAGE_H
#define GL_REPORT_PAGE_H

#include "report/report.h"

typedef struct gl_page {
    gl_printer out;
    const glassine_report *report; /* what is printed */
    size_t width;
    bool colour;
    bool started;    /* something stands on the page */
    bool gap_wanted; /* an empty line comes before the next one */
} gl_page;

gl_page gl_page_new(const glassine_report *report, glassine_text_style style, glassine_write write,
                    void *context);

/* An empty line before what comes next, unless it comes first. */
void gl_page_gap(gl_page *page);
/* Starts a line with `indent` spaces, and ends one: no line ends in spaces. */
void gl_page_start(gl_page *page, size_t indent);
void gl_page_end(gl_page *page);
void gl_page_spaces(gl_page *page, size_t count);
/* Text in bold or, for weights, in the weight's colour; plain without colour. `text` is fit to be shown. */
void gl_page_strong(gl_page *page, gl_span text, const char *colour);
#define GL_PAGE_BOLD "1"

/* Whole lines, wrapped at the page's width, the first one at `indent`, further ones at `hanging`. */
void gl_page_prose(gl_page *page, gl_span shown, size_t indent, size_t hanging);
/* The rest of a line that has come to column `at`, wrapped, further ones at `hanging`; ends it. */
void gl_page_flow(gl_page *page, gl_span shown, size_t at, size_t hanging);
void gl_page_heading(gl_page *page, gl_span label, size_t indent);

/* Takes the first line of at most `width` columns off *rest. It ends at a space, a line feed or behind a wide
 * character; a word that is wider than `width` stays whole and sticks out unless `cut`. */
gl_span gl_page_take_line(gl_span *rest, size_t width, bool cut);
/* Columns of the widest part that gl_page_take_line would keep together. */
size_t gl_page_widest_word(gl_span shown);

/* What heads it; absent: text does not show it. */
gl_span gl_page_label(const gl_page *page, const glassine_node *node);
/* Of a node: its value as people read it, on one line unless `lines`. False where text does not show it. */
bool gl_page_value(const gl_page *page, const glassine_node *node, bool lines, gl_buf *out);

/* A table, its rows being objects; the heading stands already. False, with nothing printed, where even the
 * narrowest columns are wider than the page. */
bool gl_page_table(gl_page *page, const glassine_node *table, size_t indent);

#endif
