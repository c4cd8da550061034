/* What goes into the page, and in which order. */
#include "html_page.h"

#include <errno.h>
#include <stdlib.h>

#define NO_SPAN ((glassine_span){NULL, 0})

glassine_status html_list_add(html_list *list, glassine_record *record, glassine_error *error) {
    glassine_record **grown = conv_grow(list->at, &list->room, list->count + 1, sizeof(glassine_record *));
    if (!grown)
        return conv_fail_system(error, ENOMEM, NULL, "Cannot list records");
    list->at = grown;
    list->at[list->count++] = record;
    return GLASSINE_OK;
}

void html_list_free(html_list *list) {
    free(list->at);
    *list = (html_list){NULL, 0, 0};
}

bool html_list_has(const html_list *list, const glassine_record *record) {
    for (size_t i = 0; i < list->count; i++)
        if (list->at[i] == record)
            return true;
    return false;
}

size_t html_question(const html_page *page, const glassine_record *stamp) {
    for (size_t i = 0; i < page->questions.count; i++)
        if (page->questions.at[i] == stamp)
            return i + 1;
    return 0;
}

glassine_status html_referrers(html_page *page, glassine_record *record, const char *type, html_list *list,
                               glassine_error *error) {
    glassine_record *const *found;
    size_t count;
    *list = (html_list){NULL, 0, 0};
    glassine_status status =
        glassine_record_referrers(page->bundle, record, type, false, &found, &count, error);
    for (size_t i = 0; i < count && !status; i++)
        status = html_list_add(list, found[i], error);
    return status;
}

bool html_leads_to(html_page *page, glassine_record *record, const char *field, glassine_record *to) {
    glassine_span id = glassine_record_text(page->bundle, record, field);
    return id.text && conv_equal(id, glassine_record_id(page->bundle, to));
}

/* A copy is shown in place of the scan it was taken from, not beside it. */
static bool is_shown(html_page *page, glassine_record *scan) {
    glassine_span from = glassine_record_text(page->bundle, scan, "taken_from");
    return !from.text || !glassine_bundle_record(page->bundle, from, NO_SPAN);
}

static unsigned rank_of(html_page *page, glassine_record *scan) {
    static const char *const sides[] = {"front", "", "detail", "back"};
    glassine_span side = glassine_record_text(page->bundle, scan, "side");
    for (unsigned i = 0; i < 4; i++)
        if (conv_is(side, sides[i]))
            return i;
    return 1;
}

glassine_status html_scans(html_page *page, glassine_record *item, html_list *list, glassine_error *error) {
    html_list all;
    *list = (html_list){NULL, 0, 0};
    glassine_status status = html_referrers(page, item, "scan", &all, error);
    for (unsigned rank = 0; rank < 4; rank++)
        for (size_t i = 0; i < all.count && !status; i++)
            if (rank_of(page, all.at[i]) == rank && is_shown(page, all.at[i]))
                status = html_list_add(list, all.at[i], error);
    html_list_free(&all);
    return status;
}

static bool has_bytes(html_page *page, glassine_bundle *where, glassine_record *scan) {
    char hex[65];
    glassine_span sha256 = glassine_record_text(page->bundle, scan, "sha256");
    if (sha256.length != 64 || !where)
        return false;
    memcpy(hex, sha256.text, 64);
    hex[64] = '\0';
    return glassine_scan_has(where, hex, NULL);
}

glassine_record *html_scan_there(html_page *page, glassine_record *scan) {
    glassine_record *const *copies;
    size_t count;
    if (has_bytes(page, page->bundle, scan))
        return scan;
    if (glassine_record_referrers(page->bundle, scan, "scan", false, &copies, &count, NULL))
        return NULL;
    for (size_t i = 0; i < count; i++)
        if (html_leads_to(page, copies[i], "taken_from", scan) && has_bytes(page, page->bundle, copies[i]))
            return copies[i];
    return has_bytes(page, page->options->scans, scan) ? scan : NULL;
}

/* The records that a field of references names, those that are there and not set aside. */
static glassine_status add_named(html_page *page, glassine_record *record, const char *field, html_list *list,
                                 glassine_error *error) {
    glassine_value all = glassine_record_get(page->bundle, record, field, NULL), one;
    glassine_status status = GLASSINE_OK;
    size_t at = 0;
    while (!status && all.text && glassine_value_next(all, &at, NULL, &one)) {
        glassine_record *named =
            glassine_bundle_record(page->bundle, glassine_value_text(page->bundle, one), NO_SPAN);
        if (named && !glassine_record_set_aside(page->bundle, named) && !html_list_has(list, named))
            status = html_list_add(list, named, error);
    }
    return status;
}

static glassine_status add_all(html_page *page, const char *type, html_list *list, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(page->bundle, type, false, &cursor, error);
    if (status)
        return status;
    for (glassine_record *one; !status && (one = glassine_cursor_next(cursor));)
        status = html_list_add(list, one, error);
    glassine_cursor_free(cursor);
    return status;
}

static glassine_status add_questions(html_page *page, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    if (page->event && !page->options->selection)
        status = add_named(page, page->event, "stamps", &page->questions, error);
    for (size_t i = 0; i < page->items.count && !status; i++) {
        html_list stamps;
        status = html_referrers(page, page->items.at[i], "stamp", &stamps, error);
        for (size_t k = 0; k < stamps.count && !status; k++)
            if (!html_question(page, stamps.at[k]))
                status = html_list_add(&page->questions, stamps.at[k], error);
        html_list_free(&stamps);
    }
    return status;
}

glassine_status html_choose(html_page *page, glassine_error *error) {
    const char *event = glassine_bundle_event(page->bundle), *selection = page->options->selection;
    glassine_status status = GLASSINE_OK;
    if (event && !glassine_bundle_answers(page->bundle))
        page->event = glassine_bundle_record(page->bundle, conv_span_of(event), NO_SPAN);
    if (selection)
        status = glassine_bundle_find(page->bundle, "selection", selection, &page->selection, error);
    if (!status && page->selection)
        status = add_named(page, page->selection, "items", &page->items, error);
    else if (!status && page->event)
        status = add_named(page, page->event, "items", &page->items, error);
    if (!status && !page->selection && !page->items.count)
        status = add_all(page, "item", &page->items, error);
    return status ? status : add_questions(page, error);
}
