/* A page being written, for the files html*.c. */
#ifndef CONVERTERS_HTML_PAGE_H
#define CONVERTERS_HTML_PAGE_H

#include "converters.h"
#include "output.h"
#include "view.h"

typedef struct html_list {
    glassine_record **at;
    size_t count, room;
} html_list;

typedef struct html_page {
    glassine_bundle *bundle;
    const glassine_html_options *options;
    glassine_report *report; /* may be NULL */
    conv_output out;
    conv_view view;
    conv_cautions cautions;
    glassine_record *event; /* the `sent` event of a dispatch; NULL: it is none */
    glassine_record *selection;
    html_list items;     /* those that the page shows, in its order */
    html_list questions; /* stamps; question N is about the N-th */
    size_t pictures;     /* written so far */
} html_page;

/* html_list.c: what goes into the page, and in which order. */
glassine_status html_choose(html_page *page, glassine_error *error);
/* Records of `type` that refer to `record`, into a list of one's own. */
glassine_status html_referrers(html_page *page, glassine_record *record, const char *type, html_list *list,
                               glassine_error *error);
glassine_status html_list_add(html_list *list, glassine_record *record, glassine_error *error);
bool html_list_has(const html_list *list, const glassine_record *record);
void html_list_free(html_list *list);
/* From 1; 0: the stamp is no question of this page. */
size_t html_question(const html_page *page, const glassine_record *stamp);
/* Does the field (a reference) of `record` lead to `to`? */
bool html_leads_to(html_page *page, glassine_record *record, const char *field, glassine_record *to);
/* The scans of an item that are shown, the front first and the back last: not the copies of others of them.
 */
glassine_status html_scans(html_page *page, glassine_record *item, html_list *list, glassine_error *error);
/* The scan whose bytes stand for this one: itself, or a copy that was taken from it; NULL: none is there. */
glassine_record *html_scan_there(html_page *page, glassine_record *scan);

/* html_text.c: every text of a bundle goes through these. */
void html_add(html_page *page, const char *markup); /* our own */
void html_text(html_page *page, glassine_span text);
void html_label(html_page *page, glassine_record *record);
/* The value of a field as people read it; a private one only where that was asked for. False, and nothing
 * written, where there is none. */
bool html_value(html_page *page, glassine_record *record, const char *field);
bool html_has(html_page *page, glassine_record *record, const char *field);
/* <dl> of everything that is said of a record, but for the fields in `skip` (NULL-ended). */
glassine_status html_facts(html_page *page, glassine_record *record, const char *const *skip,
                           glassine_error *error);
/* Money: an amount in minor units and a currency, with two decimals and a comma at thousands. */
void html_money(html_page *page, int64_t minor, glassine_span currency);

/* html_items.c, html_picture.c, html_records.c, html_faces.c */
glassine_status html_items(html_page *page, glassine_error *error);
glassine_status html_pictures(html_page *page, const html_list *scans, glassine_error *error);
glassine_status html_records(html_page *page, glassine_error *error);
glassine_status html_schedule(html_page *page, glassine_error *error);
glassine_status html_handover(html_page *page, glassine_error *error);

#endif
