/* Scans in the page: pictures as data, captions, and what is to be known for measuring on them. */
#include "html_page.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

/* RFC 4648, section 4. */
static void add_base64(conv_output *out, const unsigned char *bytes, size_t length) {
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    char piece[4096];
    size_t used = 0;
    for (size_t at = 0; at < length; at += 3) {
        size_t left = length - at;
        uint32_t three = (uint32_t)bytes[at] << 16 | (left > 1 ? (uint32_t)bytes[at + 1] << 8 : 0) |
                         (left > 2 ? (uint32_t)bytes[at + 2] : 0);
        piece[used++] = digits[three >> 18];
        piece[used++] = digits[three >> 12 & 63];
        piece[used++] = left > 1 ? digits[three >> 6 & 63] : '=';
        piece[used++] = left > 2 ? digits[three & 63] : '=';
        if (used == sizeof piece) {
            conv_add(out, (glassine_span){piece, used});
            used = 0;
        }
    }
    conv_add(out, (glassine_span){piece, used});
}

static void add_number(html_page *page, const char *name, int64_t value) {
    conv_printf(&page->out, " data-%s=%lld", name, (long long)value);
}

/* "K-002, front, K-002 front.jpg": what somebody who cannot see the picture is told. */
static void add_description(html_page *page, glassine_record *scan) {
    glassine_span item = glassine_record_text(page->bundle, scan, "item");
    html_text(page, conv_label_of(page->bundle, item, page->options->with_private));
    static const char *const fields[] = {"side", "caption"};
    glassine_span before = {NULL, 0};
    for (size_t i = 0; i < 2; i++) {
        glassine_span text = glassine_record_text(page->bundle, scan, fields[i]);
        if (!text.length || !html_has(page, scan, fields[i]) || (before.text && conv_equal(text, before)))
            continue;
        before = text;
        html_add(page, ", ");
        html_text(page, text);
    }
}

static void add_image(html_page *page, glassine_record *scan, const glassine_picture *picture) {
    int64_t width = picture->scan_width, height = picture->scan_height, dpi_x = 0, dpi_y = 0;
    bool turned = picture->orientation >= 5;
    glassine_record_integer(page->bundle, scan, "width", &width);
    glassine_record_integer(page->bundle, scan, "height", &height);
    glassine_record_integer(page->bundle, scan, "dpi_x", &dpi_x);
    glassine_record_integer(page->bundle, scan, "dpi_y", &dpi_y);
    html_add(page, "<img decoding=async");
    conv_printf(&page->out, " width=%u height=%u", turned ? picture->height : picture->width,
                turned ? picture->width : picture->height);
    add_number(page, "width", width);
    add_number(page, "height", height);
    add_number(page, "dpi-x", dpi_x);
    add_number(page, "dpi-y", dpi_y);
    add_number(page, "turn", picture->orientation);
    html_add(page, " alt=\"");
    add_description(page, scan);
    conv_printf(&page->out, "\" src=\"data:%s;base64,", picture->media);
    add_base64(&page->out, picture->bytes, picture->length);
    html_add(page, "\">");
}

static void add_missing(html_page *page, glassine_record *scan, const char *why) {
    html_add(page, "<p class=missing>");
    html_add(page, why);
    html_add(page, " <bdi>");
    html_text(page, glassine_record_text(page->bundle, scan, "media"));
    html_add(page, "</bdi></p>");
}

static void add_caption(html_page *page, glassine_record *scan, const glassine_picture *picture) {
    int64_t width = 0, height = 0, dpi = 0;
    html_add(page, "<figcaption>");
    bool side = html_value(page, scan, "side");
    bool same = side && conv_equal(glassine_record_text(page->bundle, scan, "side"),
                                   glassine_record_text(page->bundle, scan, "caption"));
    if (!same && html_has(page, scan, "caption")) {
        html_add(page, side ? ": " : "");
        html_value(page, scan, "caption");
    }
    if (html_has(page, scan, "credit")) {
        html_add(page, " <small>(");
        html_value(page, scan, "credit");
        html_add(page, ")</small>");
    }
    if (picture && glassine_record_integer(page->bundle, scan, "width", &width) &&
        glassine_record_integer(page->bundle, scan, "height", &height)) {
        conv_printf(&page->out, " <small class=size>%lld × %lld pixels", (long long)width, (long long)height);
        if (glassine_record_integer(page->bundle, scan, "dpi_x", &dpi))
            conv_printf(&page->out, ", %lld per inch", (long long)((dpi + 50) / 100));
        if (picture->width < width)
            conv_printf(&page->out, "; here %u × %u", picture->width, picture->height);
        html_add(page, "</small>");
    }
    html_add(page, "</figcaption>");
}

static void warn(html_page *page, glassine_record *scan, const char *why) {
    char label[160];
    glassine_span name = glassine_record_label(page->bundle, scan);
    snprintf(label, sizeof label, "scan of %.*s", (int)(name.length < 100 ? name.length : 100),
             name.text ? name.text : "");
    if (page->report)
        glassine_report_finding(page->report, GLASSINE_WARNING, NULL, label, NULL, "%s", why);
}

/* A scan of the page, and the picture of it that was made. */
typedef struct figure {
    glassine_record *scan, *there; /* `there`: the one whose bytes are shown; NULL: none */
} figure;

static void add_figure(html_page *page, const figure *one, const glassine_picture_wanted *made) {
    bool shown = one->there && made->status == GLASSINE_OK;
    html_add(page, "<figure class=scan data-scan=\"");
    html_text(page, glassine_record_id(page->bundle, one->scan));
    html_add(page, "\">");
    if (shown)
        add_image(page, one->scan, &made->picture);
    else if (one->there)
        add_missing(page, one->scan, "A file that no browser shows; it is in the bundle:");
    else
        add_missing(page, one->scan, "This scan did not come along:");
    if (!shown && one->there)
        warn(page, one->scan, made->error.message);
    add_caption(page, one->scan, shown ? &made->picture : NULL);
    html_add(page, "</figure>\n");
    page->pictures += shown;
}

static void want(html_page *page, figure *one, glassine_record *scan, glassine_picture_wanted *wanted) {
    one->scan = scan;
    one->there = html_scan_there(page, scan);
    if (!one->there)
        return;
    memcpy(wanted->sha256, glassine_record_text(page->bundle, one->there, "sha256").text, 64);
    wanted->bundle =
        glassine_scan_has(page->bundle, wanted->sha256, NULL) ? page->bundle : page->options->scans;
    wanted->limit = page->options->scan_limit;
}

glassine_status html_pictures(html_page *page, const html_list *scans, glassine_error *error) {
    figure *figures = calloc(scans->count + 1, sizeof *figures);
    glassine_picture_wanted *wanted = calloc(scans->count + 1, sizeof *wanted);
    glassine_status status = GLASSINE_OK;
    if (!figures || !wanted)
        status = conv_fail_system(error, ENOMEM, NULL, "Cannot make pictures");
    for (size_t i = 0; i < scans->count && !status; i++)
        want(page, &figures[i], scans->at[i], &wanted[i]);
    if (!status)
        glassine_pictures_make(wanted, scans->count);
    for (size_t i = 0; i < scans->count && wanted; i++) {
        if (wanted[i].status == GLASSINE_SYSTEM && !status) {
            status = GLASSINE_SYSTEM;
            if (error)
                *error = wanted[i].error;
        }
        if (!status)
            add_figure(page, &figures[i], &wanted[i]);
        glassine_picture_free(&wanted[i].picture);
    }
    free(figures);
    free(wanted);
    return status;
}
