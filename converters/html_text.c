#include "html_page.h"

#include <stdio.h>

void html_add(html_page *page, const char *markup) {
    conv_add_text(&page->out, markup);
}

/* What has a meaning in markup, and what a reader of HTML would change (NUL, carriage returns), as
 * references. */
static const char *reference(unsigned char c) {
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    case '\0':
        return "\xEF\xBF\xBD";
    case '\r':
        return "&#13;";
    default:
        return NULL;
    }
}

void html_text(html_page *page, glassine_span text) {
    size_t plain = 0;
    for (size_t at = 0; at < text.length; at++) {
        const char *instead = reference((unsigned char)text.text[at]);
        if (!instead)
            continue;
        conv_add(&page->out, (glassine_span){text.text + plain, at - plain});
        conv_add_text(&page->out, instead);
        plain = at + 1;
    }
    if (text.length > plain)
        conv_add(&page->out, (glassine_span){text.text + plain, text.length - plain});
}

void html_label(html_page *page, glassine_record *record) {
    glassine_span label = conv_label(page->bundle, record, page->options->with_private);
    if (!label.text || !label.length) {
        html_text(page, glassine_record_type(page->bundle, record));
        return;
    }
    html_add(page, "<bdi>"); /* its direction is its own affair */
    html_text(page, label);
    html_add(page, "</bdi>");
}

/* A reference, by what people call the record that it leads to. */
static void add_reference(html_page *page, glassine_value value) {
    glassine_span id = glassine_value_text(page->bundle, value);
    glassine_record *record = glassine_bundle_record(page->bundle, id, (glassine_span){NULL, 0});
    if (record)
        html_label(page, record);
    else
        html_text(page, id);
}

static void add_value(html_page *page, glassine_value value, const glassine_field_info *info) {
    glassine_value item;
    size_t at = 0;
    bool first = true;
    if (info && info->kind == GLASSINE_REF) {
        add_reference(page, value);
    } else if (info && info->kind == GLASSINE_REFS) {
        for (; glassine_value_next(value, &at, NULL, &item); first = false) {
            html_add(page, first ? "" : ", ");
            add_reference(page, item);
        }
    } else {
        html_add(page, "<bdi>");
        html_text(page, glassine_value_shown(page->bundle, value, info));
        html_add(page, "</bdi>");
    }
}

/* The field's leading reading; a private one only where it was asked for. */
static const glassine_field *field_of(html_page *page, glassine_record *record, const char *name) {
    const glassine_field *fields;
    size_t count;
    if (glassine_record_fields(page->bundle, record, &fields, &count, NULL))
        return NULL;
    for (size_t i = 0; i < count; i++) {
        bool hidden = fields[i].reach == GLASSINE_PRIVATE && !page->options->with_private;
        if (!hidden && conv_is(fields[i].name, name) &&
            (fields[i].contested || fields[i].sayings[0].value.text))
            return &fields[i];
    }
    return NULL;
}

bool html_has(html_page *page, glassine_record *record, const char *field) {
    return field_of(page, record, field) != NULL;
}

/* Every value of a contested field, with who says so: nothing is chosen here. */
static void add_field(html_page *page, const glassine_field *field) {
    size_t shown = field->contested ? field->saying_count : 1;
    for (size_t i = 0; i < shown; i++) {
        html_add(page, i ? " <span class=or>or</span> " : "");
        if (field->sayings[i].value.text)
            add_value(page, field->sayings[i].value, field->info);
        else
            html_add(page, "(taken away)");
        if (!field->contested)
            continue;
        glassine_span by = conv_label_of(page->bundle, field->sayings[i].by, page->options->with_private);
        html_add(page, " <small>says <bdi>");
        html_text(page, by);
        html_add(page, "</bdi></small>");
    }
}

bool html_value(html_page *page, glassine_record *record, const char *name) {
    const glassine_field *field = field_of(page, record, name);
    if (field)
        add_field(page, field);
    return field != NULL;
}

static bool skipped(glassine_span name, const char *const *skip) {
    for (; skip && *skip; skip++)
        if (conv_is(name, *skip))
            return true;
    return false;
}

/* "width_um" as "width", with its unit behind the value. */
static void add_name(html_page *page, const glassine_field *field) {
    char name[80];
    size_t length = field->name.length < sizeof name ? field->name.length : sizeof name - 1;
    memcpy(name, field->name.text, length);
    if (length > 3 && memcmp(name + length - 3, "_um", 3) == 0)
        length -= 3;
    for (size_t i = 0; i < length; i++)
        name[i] = name[i] == '_' ? ' ' : name[i];
    html_text(page, (glassine_span){name, length});
}

glassine_status html_facts(html_page *page, glassine_record *record, const char *const *skip,
                           glassine_error *error) {
    bool shown, begun = false;
    glassine_status status = conv_view_look(&page->view, record, &shown, error);
    if (!status)
        status = conv_cautions_look(&page->cautions, &page->view, record, error);
    for (size_t i = 0; !status && shown && i < page->view.said_count; i++) {
        const glassine_field *field = page->view.said[i].field;
        if (skipped(field->name, skip) || conv_is(field->name, "set_aside"))
            continue;
        html_add(page, begun ? "<div><dt>" : "<dl class=facts><div><dt>");
        begun = true;
        add_name(page, field);
        html_add(page, "</dt><dd>");
        add_field(page, field);
        if (field->info && field->info->unit && strncmp(field->info->unit, "micro", 5) == 0)
            html_add(page, " µm");
        html_add(page, "</dd></div>");
    }
    html_add(page, begun ? "</dl>\n" : "");
    return status;
}

void html_money(html_page *page, int64_t minor, glassine_span currency) {
    char digits[32];
    int length = snprintf(digits, sizeof digits, "%lld", (long long)(minor / 100));
    for (int i = 0; i < length; i++) {
        if (i && (length - i) % 3 == 0 && digits[i - 1] != '-')
            conv_add_char(&page->out, ',');
        conv_add_char(&page->out, digits[i]);
    }
    conv_printf(&page->out, ".%02lld ", (long long)(minor % 100));
    html_text(page, currency);
}
