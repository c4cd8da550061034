/* The page that opens without the program: its frame. What stands in it comes from html_*.c, how it looks and
 * works from converters/html/. */
#include "html_page.h"

#include "html_sources.h"
#include "signers.h"

static void add_rule(html_page *page, const char *what, const char *sha256) {
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    unsigned bits = 0, have = 0;
    conv_printf(&page->out, "%s 'sha256-", what);
    for (const char *at = sha256; *at; at++) {
        unsigned nibble = (unsigned)(*at <= '9' ? *at - '0' : *at - 'a' + 10);
        bits = bits << 4 | nibble;
        have += 4;
        if (have >= 6) {
            have -= 6;
            conv_add_char(&page->out, digits[bits >> have & 63]);
        }
    }
    conv_add_char(&page->out, digits[bits << (6 - have) & 63]); /* 256 bits are 42 digits and 4 bits more */
    html_add(page, "=';");
}

static void add_embedded(html_page *page, const unsigned char *bytes, unsigned long length) {
    conv_add(&page->out, (glassine_span){(const char *)bytes, length});
}

/* No network, nothing from outside, no script or style but these. */
static void add_policy(html_page *page) {
    html_add(
        page,
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data: blob:; "
        "base-uri 'none'; form-action 'none'; ");
    add_rule(page, "style-src", html_style_sha256);
    add_rule(page, " script-src", html_script_sha256);
    html_add(page, "\">\n");
}

static const char *face_name(const html_page *page) {
    static const char *const names[] = {"items", "talk", "schedule", "handover"};
    return names[page->options->face];
}

static void add_head(html_page *page) {
    html_add(page, "<!doctype html>\n<html lang=en>\n<head>\n<meta charset=utf-8>\n");
    add_policy(page);
    html_add(page,
             "<meta name=viewport content=\"width=device-width, initial-scale=1\">\n"
             "<meta name=color-scheme content=\"light dark\">\n<meta name=referrer content=no-referrer>\n"
             "<meta name=robots content=noindex>\n<link rel=icon href=\"data:,\">\n<title>");
    html_text(page, conv_span_of(glassine_bundle_title(page->bundle)));
    html_add(page, "</title>\n<style>");
    add_embedded(page, html_style, html_style_length);
    conv_printf(&page->out, "</style>\n</head>\n<body data-face=%s>\n", face_name(page));
    html_add(page, "<a class=skip href=\"#items\">To the items</a>\n");
}

static void add_person(html_page *page, const char *before, const char *id) {
    glassine_span name = conv_label_of(page->bundle, conv_span_of(id), page->options->with_private);
    if (!name.text)
        return;
    html_add(page, before);
    html_add(page, "<bdi>");
    html_text(page, name);
    html_add(page, "</bdi>");
}

static void add_front(html_page *page) {
    bool asks = page->options->face == GLASSINE_FACE_ITEMS;
    html_add(page, "<header class=front>\n<p class=from>");
    add_person(page, page->event ? "From " : "Kept by ", glassine_bundle_keeper(page->bundle));
    if (page->event)
        add_person(page, " for ", glassine_bundle_answer_by(page->bundle));
    html_add(page, "</p>\n<h1><bdi>");
    html_text(page, conv_span_of(glassine_bundle_title(page->bundle)));
    html_add(page, "</bdi></h1>\n");
    conv_printf(&page->out, "<p class=count>%zu item%s, %zu stamp%s</p>\n", page->items.count,
                page->items.count == 1 ? "" : "s", page->questions.count,
                page->questions.count == 1 ? "" : "s");
    if (asks && page->event && html_has(page, page->event, "note")) {
        html_add(page, "<p class=ask>");
        html_value(page, page->event, "note");
        html_add(page, "</p>\n");
    }
    if (page->options->with_private)
        html_add(
            page,
            "<p class=banner role=note><strong>Private:</strong> this page shows prices, storage places and "
            "addresses. Do not pass it on.</p>\n");
    html_add(page, "</header>\n");
}

static void add_contents(html_page *page) {
    html_add(page, "<nav class=contents aria-label=Items>\n<ol>\n");
    for (size_t i = 0; i < page->items.count; i++) {
        conv_printf(&page->out, "<li><a href=\"#i%zu\">", i + 1);
        html_label(page, page->items.at[i]);
        html_add(page, "</a></li>\n");
    }
    html_add(page, "</ol>\n</nav>\n");
}

static void add_by_mail(html_page *page) {
    html_add(page,
             "<section class=mail aria-labelledby=mail-name>\n<h2 id=mail-name>Answering by e-mail</h2>\n"
             "<p>Put the number of the question before each answer, for instance</p>\n"
             "<pre>1: 64, early state, certain\n2: column 4 but not row 2, possible\n3: cannot tell</pre>\n"
             "<p>Positions count from the top left, along the rows unless the plate says otherwise. An "
             "answer is taken "
             "as your opinion, and as no certificate.</p>\n</section>\n");
}

static void add_cautions(html_page *page) {
    html_add(page, page->cautions.count ? "<ul class=cautions>\n" : "");
    for (size_t i = 0; i < page->cautions.count; i++) {
        html_add(page, "<li>");
        html_text(page, conv_span_of(page->cautions.text[i]));
        html_add(page, "</li>\n");
    }
    html_add(page, page->cautions.count ? "</ul>\n" : "");
}

static glassine_status add_signers(html_page *page, glassine_error *error) {
    conv_signers signers;
    conv_output said = {0};
    glassine_status status = conv_signers_find(page->bundle, page->options->with_private, &signers, error);
    html_add(page, signers.count ? "<ul class=cautions aria-label=\"Statements that are signed\">\n" : "");
    for (size_t i = 0; i < signers.count; i++) {
        conv_clear(&said);
        conv_signer_say(&signers.list[i], &said);
        html_add(page, "<li>Statements of ");
        html_text(page, conv_span(&said));
        html_add(page, "</li>\n");
    }
    html_add(page, signers.count ? "</ul>\n" : "");
    if (said.failed)
        page->out.failed = said.failed;
    conv_free(&said);
    conv_signers_free(&signers);
    return status;
}

static glassine_status add_foot(html_page *page, glassine_error *error) {
    char digest[65];
    glassine_bundle_digest(page->bundle, digest);
    html_add(page, "<footer>\n");
    add_cautions(page);
    glassine_status status = add_signers(page, error);
    uint32_t edition = glassine_bundle_edition(page->bundle);
    conv_printf(&page->out, "<p>Bundle %s, edition %u of ", glassine_bundle_uuid(page->bundle),
                (unsigned)edition);
    html_text(page, glassine_bundle_edition_at(page->bundle, edition).at);
    conv_printf(&page->out,
                ". What was said since is not on this page. Content digest <code>%s</code>.</p>\n</footer>\n",
                digest);
    return status;
}

static glassine_status add_main(html_page *page, glassine_error *error) {
    html_add(page, "<main id=items tabindex=-1>\n");
    glassine_status status = page->options->face == GLASSINE_FACE_SCHEDULE   ? html_schedule(page, error)
                             : page->options->face == GLASSINE_FACE_HANDOVER ? html_handover(page, error)
                                                                             : html_items(page, error);
    html_add(page, "</main>\n");
    return status;
}

static glassine_status write_page(html_page *page, glassine_error *error) {
    bool asks = page->options->face == GLASSINE_FACE_ITEMS,
         works = asks || page->options->face == GLASSINE_FACE_TALK;
    add_head(page);
    add_front(page);
    if (works)
        add_contents(page);
    glassine_status status = add_main(page, error);
    if (status)
        return status;
    if (asks)
        add_by_mail(page);
    status = add_foot(page, error);
    if (status)
        return status;
    if (works) {
        add_embedded(page, html_tools, html_tools_length);
        status = html_records(page, error);
        html_add(page, "<script>");
        add_embedded(page, html_script, html_script_length);
        html_add(page, "</script>\n");
    }
    html_add(page, "</body>\n</html>\n");
    int code = conv_finish(&page->out);
    return status || !code ? status : conv_fail_system(error, code, NULL, "Cannot write the page");
}

glassine_status glassine_to_html(glassine_bundle *bundle, const glassine_html_options *options,
                                 glassine_write write, void *context, glassine_report *report,
                                 glassine_error *error) {
    if (options->face == GLASSINE_FACE_SCHEDULE && !options->with_private)
        return conv_fail(error, GLASSINE_REFUSED, NULL, "Ask for them with --with-private",
                         "A schedule shows storage places and values, which are private");
    html_page page = {.bundle = bundle,
                      .options = options,
                      .report = report,
                      .out = {.write = write, .context = context},
                      .view = {.bundle = bundle, .with_private = options->with_private}};
    glassine_status status = html_choose(&page, error);
    if (!status)
        status = write_page(&page, error);
    html_list_free(&page.items);
    html_list_free(&page.questions);
    conv_view_free(&page.view);
    conv_free(&page.out);
    return status;
}
