/* What the page's script works on: the records in one JSON document, never anything private. */
#include "html_page.h"

/* JSON between tags: "<" stands in strings alone, and could end the script there. */
static void add_json(html_page *page, glassine_span json) {
    size_t plain = 0;
    for (size_t at = 0; at < json.length; at++) {
        if (json.text[at] != '<')
            continue;
        conv_add(&page->out, (glassine_span){json.text + plain, at - plain});
        conv_add_text(&page->out, "\\u003c");
        plain = at + 1;
    }
    conv_add(&page->out, (glassine_span){json.text + plain, json.length - plain});
}

static void add_string(html_page *page, glassine_span text) {
    conv_output quoted = {0};
    conv_add_json_string(&quoted, text);
    if (quoted.failed)
        page->out.failed = quoted.failed;
    else
        add_json(page, conv_span(&quoted));
    conv_free(&quoted);
}

static void add_member(html_page *page, const char *name, glassine_span text) {
    if (!text.text)
        return;
    conv_printf(&page->out, ",\"%s\":", name);
    add_string(page, text);
}

/* The script reads one value a name; of contested fields the names alone. */
static void add_fields(html_page *page, const conv_view *view) {
    bool first = true;
    html_add(page, ",\"fields\":{");
    for (size_t i = 0; i < view->said_count; i++) {
        glassine_value value = conv_value(&view->said[i]);
        if (!view->said[i].leading || !value.text)
            continue;
        html_add(page, first ? "" : ",");
        first = false;
        add_string(page, view->said[i].field->name);
        html_add(page, ":");
        add_json(page, value);
    }
    html_add(page, "}");
}

static glassine_status add_record(html_page *page, conv_view *view, glassine_record *record, bool *begun,
                                  glassine_error *error) {
    bool shown;
    glassine_status status = conv_view_look(view, record, &shown, error);
    if (status || !shown)
        return status;
    html_add(page, *begun ? ",\n{\"id\":" : "{\"id\":");
    *begun = true;
    add_string(page, glassine_record_id(page->bundle, record));
    add_member(page, "by", glassine_record_author(page->bundle, record));
    add_member(page, "label", conv_label(page->bundle, record, false));
    add_fields(page, view);
    html_add(page, "}");
    return GLASSINE_OK;
}

static glassine_status add_type(html_page *page, conv_view *view, const char *type, bool *begun,
                                glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(page->bundle, type, false, &cursor, error);
    if (status)
        return status;
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));)
        status = add_record(page, view, record, begun, error);
    glassine_cursor_free(cursor);
    return status;
}

/* The parameters of the ranking, so that page and library cannot differ in them. */
static void add_ranking(html_page *page) {
    glassine_ranking r = glassine_ranking_default();
    conv_printf(&page->out,
                ",\"ranking\":{\"visibility\":%.17g,\"visibility_least\":%.17g,\"visibility_most\":%.17g,"
                "\"spread_least\":%.17g,\"together\":%.17g,\"other_appearance\":%.17g,\"no_place\":%.17g,"
                "\"stray\":%.17g,\"stray_shared\":%.17g,\"stray_least\":%.17g,\"trace\":%.17g,\"reach\":%."
                "17g,\"silent\":%.17g,"
                "\"hasty\":%.17g}",
                r.visibility, r.visibility_least, r.visibility_most, r.spread_least, r.together,
                r.other_appearance, r.no_place, r.stray, r.stray_shared, r.stray_least, r.trace, r.reach,
                r.silent, r.hasty);
}

static void add_about(html_page *page) {
    const glassine_bundle *bundle = page->bundle;
    html_add(page, "{\"bundle\":");
    add_string(page, conv_span_of(glassine_bundle_uuid(bundle)));
    add_member(page, "title", conv_span_of(glassine_bundle_title(bundle)));
    add_member(page, "keeper", conv_span_of(glassine_bundle_keeper(bundle)));
    add_member(page, "answer_by", conv_span_of(glassine_bundle_answer_by(bundle)));
    if (page->event)
        add_member(page, "event", glassine_record_id(bundle, page->event));
    html_add(page, glassine_bundle_blind(bundle) ? ",\"blind\":true" : "");
    add_ranking(page);
    html_add(page, ",\"questions\":[");
    for (size_t i = 0; i < page->questions.count; i++) {
        html_add(page, i ? "," : "");
        add_string(page, glassine_record_id(bundle, page->questions.at[i]));
    }
    html_add(page, "]");
}

glassine_status html_records(html_page *page, glassine_error *error) {
    static const char *const types[] = {"contributor", "item",        "stamp", "scan",
                                        "marking",     "design",      "plate", "mark",
                                        "plate_state", "observation", "claim", "join"};
    conv_view view = {.bundle = page->bundle};
    glassine_status status = GLASSINE_OK;
    bool begun = false;
    html_add(page, "<script type=\"application/json\" id=records>");
    add_about(page);
    html_add(page, ",\"records\":[\n");
    for (size_t i = 0; i < sizeof types / sizeof *types && !status; i++)
        status = add_type(page, &view, types[i], &begun, error);
    html_add(page, "]}</script>\n");
    conv_view_free(&view);
    return status;
}
