/* Items with their pictures, stamps, questions, and what people see and say: readable without any script. */
#include "html_page.h"

static const char *const item_skips[] = {"label", "title", NULL};
static const char *const part_skips[] = {"item", "stamp", "stamps", NULL};
static const char *const said_skips[] = {"item", "stamp", "scan", "region", NULL};
/* The fields that only programs read. */
static const char *const stamp_skips[] = {"item", "row", "column", NULL};

/* A record of what people see or say: in one list item, with its author. */
static glassine_status add_said(html_page *page, glassine_record *record, glassine_error *error) {
    bool shown;
    glassine_status status = conv_view_look(&page->view, record, &shown, error);
    if (status || !shown)
        return status;
    html_add(page, "<li data-id=\"");
    html_text(page, glassine_record_key(page->bundle, record));
    html_add(page, "\"><strong>");
    html_text(page, glassine_record_type(page->bundle, record));
    html_add(page, "</strong>");
    glassine_span author = glassine_record_author(page->bundle, record);
    if (author.text) {
        html_add(page, " by <bdi>");
        html_text(page, conv_label_of(page->bundle, author, page->options->with_private));
        html_add(page, "</bdi>");
    }
    status = html_facts(page, record, said_skips, error);
    html_add(page, "</li>\n");
    return status;
}

/* That a bundle was sent and came back says nothing of an item. */
static bool is_errand(html_page *page, glassine_record *record) {
    glassine_span kind = glassine_record_text(page->bundle, record, "kind");
    return conv_is(glassine_record_type(page->bundle, record), "event") &&
           (conv_is(kind, "sent") || conv_is(kind, "returned"));
}

/* Everything of these types (NULL-ended) that refers to the record. */
static glassine_status add_all_said(html_page *page, glassine_record *about, const char *const *types,
                                    const char *heading, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    bool begun = false;
    for (; *types && !status; types++) {
        html_list list;
        status = html_referrers(page, about, *types, &list, error);
        for (size_t i = 0; i < list.count && !status; i++) {
            if (is_errand(page, list.at[i]))
                continue;
            if (!begun)
                conv_printf(&page->out, "<details class=said><summary>%s</summary><ul>\n", heading);
            begun = true;
            status = add_said(page, list.at[i], error);
        }
        html_list_free(&list);
    }
    html_add(page, begun ? "</ul></details>\n" : "");
    return status;
}

static glassine_status add_stamp(html_page *page, glassine_record *stamp, glassine_error *error) {
    static const char *const types[] = {"observation", "claim", "conclusion", "opinion", "match", NULL};
    size_t number = html_question(page, stamp);
    bool asks = page->options->face == GLASSINE_FACE_ITEMS;
    conv_printf(&page->out, "<section class=stamp id=q%zu data-number=%zu data-stamp=\"", number, number);
    html_text(page, glassine_record_id(page->bundle, stamp));
    conv_printf(&page->out, "\" aria-labelledby=q%zu-name>\n<h3 id=q%zu-name>", number, number);
    if (asks)
        conv_printf(&page->out, "Question %zu: ", number);
    html_label(page, stamp);
    html_add(page, "</h3>\n");
    if (asks)
        html_add(page,
                 "<p class=asked>From which position, or which positions, of the plate does it come, and in "
                 "which state?</p>\n");
    glassine_status status = html_facts(page, stamp, stamp_skips, error);
    if (!status)
        status = add_all_said(page, stamp, types, "What was seen and said", error);
    html_add(page, asks ? "<div class=answer></div>\n</section>\n" : "</section>\n");
    return status;
}

static glassine_status add_scans(html_page *page, glassine_record *item, glassine_error *error) {
    html_list scans;
    glassine_status status = html_scans(page, item, &scans, error);
    html_add(page, scans.count ? "<div class=scans>\n" : "");
    if (!status)
        status = html_pictures(page, &scans, error);
    html_add(page, scans.count ? "</div>\n" : "");
    html_list_free(&scans);
    return status;
}

static glassine_status add_markings(html_page *page, glassine_record *item, glassine_error *error) {
    html_list markings;
    glassine_status status = html_referrers(page, item, "marking", &markings, error);
    for (size_t i = 0; i < markings.count && !status; i++) {
        html_add(page, i ? "" : "<h3 class=minor>Markings</h3>\n");
        status = html_facts(page, markings.at[i], part_skips, error);
    }
    html_list_free(&markings);
    return status;
}

/* The caption that a selection gives its N-th item. */
static void add_selection_caption(html_page *page, size_t number) {
    glassine_value all = page->selection
                             ? glassine_record_get(page->bundle, page->selection, "captions", NULL)
                             : (glassine_value){NULL, 0};
    glassine_value one;
    size_t at = 0;
    for (size_t i = 0; all.text && glassine_value_next(all, &at, NULL, &one); i++) {
        if (i != number)
            continue;
        html_add(page, "<p class=caption>");
        html_text(page, glassine_value_text(page->bundle, one));
        html_add(page, "</p>\n");
    }
}

static glassine_status add_item(html_page *page, size_t number, glassine_error *error) {
    static const char *const types[] = {"observation", "opinion", "certificate", "event", NULL};
    glassine_record *item = page->items.at[number];
    conv_printf(&page->out, "<section class=item id=i%zu data-item=\"", number + 1);
    html_text(page, glassine_record_id(page->bundle, item));
    conv_printf(&page->out, "\" aria-labelledby=i%zu-name>\n<h2 id=i%zu-name>", number + 1, number + 1);
    html_label(page, item);
    html_add(page, "</h2>\n");
    if (html_has(page, item, "title")) {
        html_add(page, "<p class=title>");
        html_value(page, item, "title");
        html_add(page, "</p>\n");
    }
    add_selection_caption(page, number);
    glassine_status status = add_scans(page, item, error);
    if (!status)
        status = html_facts(page, item, item_skips, error);
    if (!status)
        status = add_markings(page, item, error);
    if (!status)
        status = add_all_said(page, item, types, "What was seen and said of the whole item", error);
    html_list stamps = {NULL, 0, 0};
    if (!status)
        status = html_referrers(page, item, "stamp", &stamps, error);
    for (size_t i = 0; i < stamps.count && !status; i++)
        status = add_stamp(page, stamps.at[i], error);
    html_list_free(&stamps);
    html_add(page, "</section>\n");
    return status;
}

glassine_status html_items(html_page *page, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < page->items.count && !status; i++) {
        status = add_item(page, i, error);
        if (!status && page->out.failed)
            return conv_fail_system(error, page->out.failed, NULL, "Cannot write the page");
    }
    return status;
}
