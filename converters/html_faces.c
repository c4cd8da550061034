/* Other faces of the page: a schedule with values, and what those who take over must know. */
#include "html_page.h"

#include <errno.h>
#include <stdlib.h>

/* ---- totals by currency and kind of figure ---- */

typedef struct total {
    glassine_span currency, kind;
    int64_t minor;
    bool too_large;
} total;

typedef struct totals {
    total *at;
    size_t count, room;
} totals;

static glassine_status add_to_total(totals *all, glassine_span kind, glassine_span currency, int64_t minor,
                                    glassine_error *error) {
    size_t i = 0;
    while (i < all->count &&
           !(conv_equal(all->at[i].currency, currency) && conv_equal(all->at[i].kind, kind)))
        i++;
    if (i == all->count) {
        total *grown = conv_grow(all->at, &all->room, all->count + 1, sizeof *grown);
        if (!grown)
            return conv_fail_system(error, ENOMEM, NULL, "Cannot add up");
        all->at = grown;
        all->at[all->count++] = (total){currency, kind, 0, false};
    }
    if (__builtin_add_overflow(all->at[i].minor, minor, &all->at[i].minor))
        all->at[i].too_large = true;
    return GLASSINE_OK;
}

static void add_totals(html_page *page, const totals *all) {
    html_add(page,
             "<section aria-labelledby=totals-name>\n<h2 id=totals-name>Totals</h2>\n<dl class=facts>\n");
    for (size_t i = 0; i < all->count; i++) {
        html_add(page, "<div><dt>");
        html_text(page, all->at[i].kind.length ? all->at[i].kind : conv_span_of("of no kind"));
        html_add(page, "</dt><dd>");
        if (all->at[i].too_large)
            html_add(page, "too large to add up");
        else
            html_money(page, all->at[i].minor, all->at[i].currency);
        html_add(page, "</dd></div>\n");
    }
    html_add(page,
             "</dl>\n<p>Figures of different kinds and currencies are not added together. Each is somebody's "
             "figure at its date: no offer, and no promise of what it would fetch.</p>\n</section>\n");
}

/* ---- the schedule ---- */

static glassine_status add_figure(html_page *page, glassine_record *valuation, totals *all,
                                  glassine_error *error) {
    int64_t minor = 0;
    if (!glassine_record_integer(page->bundle, valuation, "amount_minor", &minor))
        return GLASSINE_OK;
    glassine_span currency = glassine_record_text(page->bundle, valuation, "currency");
    glassine_span kind = glassine_record_text(page->bundle, valuation, "kind");
    html_add(page, "<p>");
    html_text(page, kind);
    html_add(page, ": ");
    html_money(page, minor, currency);
    if (html_has(page, valuation, "as_of")) {
        html_add(page, " <small>as of ");
        html_value(page, valuation, "as_of");
        html_add(page, "</small>");
    }
    html_add(page, "</p>");
    return add_to_total(all, kind, currency, minor, error);
}

static glassine_status add_figures(html_page *page, glassine_record *item, totals *all,
                                   glassine_error *error) {
    html_list list;
    int64_t cost = 0;
    glassine_status status = GLASSINE_OK;
    if (glassine_record_integer(page->bundle, item, "cost_minor", &cost)) {
        glassine_span currency = glassine_record_text(page->bundle, item, "currency");
        html_add(page, "<p>cost: ");
        html_money(page, cost, currency);
        html_add(page, "</p>");
        status = add_to_total(all, conv_span_of("cost"), currency, cost, error);
    }
    if (status)
        return status;
    status = html_referrers(page, item, "valuation", &list, error);
    for (size_t i = 0; i < list.count && !status; i++)
        status = add_figure(page, list.at[i], all, error);
    html_list_free(&list);
    return status;
}

static glassine_status add_first_picture(html_page *page, glassine_record *item, glassine_error *error) {
    html_list scans;
    glassine_status status = html_scans(page, item, &scans, error);
    scans.count = scans.count ? 1 : 0;
    if (!status)
        status = html_pictures(page, &scans, error);
    html_list_free(&scans);
    return status;
}

static glassine_status add_line(html_page *page, glassine_record *item, totals *all, glassine_error *error) {
    html_add(page, "<tr><th scope=row>");
    html_label(page, item);
    html_add(page, "<br><small>");
    html_value(page, item, "title");
    html_add(page, "</small></th><td>");
    glassine_status status = add_first_picture(page, item, error);
    html_add(page, "</td><td>");
    html_value(page, item, "storage");
    html_add(page, "</td><td>");
    if (!status)
        status = add_figures(page, item, all, error);
    html_add(page, "</td></tr>\n");
    return status;
}

glassine_status html_schedule(html_page *page, glassine_error *error) {
    totals all = {NULL, 0, 0};
    glassine_status status = GLASSINE_OK;
    html_add(
        page,
        "<h2>Schedule</h2>\n<div class=wide tabindex=0 role=region aria-label=Schedule>\n<table "
        "class=schedule>\n<thead><tr><th scope=col>Item</th><th scope=col>Picture</th><th scope=col>Kept in"
        "</th><th scope=col>Figures</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < page->items.count && !status; i++)
        status = add_line(page, page->items.at[i], &all, error);
    html_add(page, "</tbody>\n</table>\n</div>\n");
    if (!status)
        add_totals(page, &all);
    free(all.at);
    return status;
}

/* ---- handing over ---- */

static const char *const heading_skips[] = {"name", "title", NULL}; /* they stand above it */

static glassine_status add_each(html_page *page, const char *type, const char *heading,
                                glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(page->bundle, type, false, &cursor, error);
    if (status)
        return status;
    conv_printf(&page->out, "<section>\n<h2>%s</h2>\n", heading);
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));) {
        html_add(page, "<h3>");
        html_label(page, record);
        html_add(page, "</h3>\n");
        status = html_facts(page, record, heading_skips, error);
    }
    html_add(page, "</section>\n");
    glassine_cursor_free(cursor);
    return status;
}

/* What is out, and with whom, since it has to come back. */
static glassine_status add_sent(html_page *page, glassine_error *error) {
    static const char *const skip[] = {"digest", "kind", NULL};
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(page->bundle, "event", false, &cursor, error);
    if (status)
        return status;
    html_add(page, "<section>\n<h2>Sent to others</h2>\n<p>Bundles, or the things themselves: ask those "
                   "named here.</p>\n");
    for (glassine_record *event; !status && (event = glassine_cursor_next(cursor));)
        if (conv_is(glassine_record_text(page->bundle, event, "kind"), "sent"))
            status = html_facts(page, event, skip, error);
    html_add(page, "</section>\n");
    glassine_cursor_free(cursor);
    return status;
}

glassine_status html_handover(html_page *page, glassine_error *error) {
    html_add(
        page,
        "<section>\n<h2>To begin with</h2>\n<ul>\n"
        "<li>Leave everything where it is until you have read this. Do not soak, clean, cut or remove "
        "anything: a stamp on its letter is often worth more than without it.</li>\n"
        "<li>Keep the file of this bundle, and a copy of it in another place. Any unzip program opens it; "
        "read-me.txt in it says how.</li>\n"
        "<li>Keep dry, dark and cool; handle with tongs, not with fingers.</li>\n"
        "<li>Before you sell, ask two people who do not know of each other. What stands here are opinions "
        "and "
        "somebody's figures at a date, and no appraisal. For a will, a tax or an insurance the rules where "
        "you "
        "are count: ask a licensed adviser.</li>\n</ul>\n</section>\n");
    glassine_status status = add_each(page, "collection", "The collection", error);
    if (!status)
        status = add_each(page, "contributor", "People", error);
    if (!status)
        status = add_sent(page, error);
    if (!status)
        html_add(page, "<h2>The items</h2>\n");
    return status ? status : html_items(page, error);
}
