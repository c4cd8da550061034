#include "report/page.h"

#include "base/text.h"

#define WIDTH_UNSAID 80
#define WIDTH_LEAST 20

gl_page gl_page_new(const glassine_report *report, glassine_text_style style, glassine_write write,
                    void *context) {
    size_t width = style.width ? style.width : WIDTH_UNSAID;
    return (gl_page){.out = {.buf = GL_BUF_EMPTY, .write = write, .context = context},
                     .report = report,
                     .width = width < WIDTH_LEAST ? WIDTH_LEAST : width,
                     .colour = style.colour};
}

void gl_page_gap(gl_page *page) {
    page->gap_wanted = page->started;
}

void gl_page_spaces(gl_page *page, size_t count) {
    while (count--)
        gl_buf_add_char(&page->out.buf, ' ');
}

void gl_page_start(gl_page *page, size_t indent) {
    if (page->gap_wanted)
        gl_buf_add_char(&page->out.buf, '\n');
    page->gap_wanted = false;
    page->started = true;
    gl_page_spaces(page, indent);
}

void gl_page_end(gl_page *page) {
    gl_buf *buf = &page->out.buf;
    while (buf->length && buf->text[buf->length - 1] == ' ')
        buf->length--;
    gl_buf_add_char(buf, '\n');
    gl_printer_flush_full(&page->out);
}

/* ECMA-48 8.3.117, select graphic rendition. */
void gl_page_strong(gl_page *page, gl_span text, const char *colour) {
    gl_buf *buf = &page->out.buf;
    if (page->colour)
        gl_buf_printf(buf, "\x1b[%sm", colour);
    gl_buf_add(buf, text);
    if (page->colour)
        gl_buf_add_text(buf, "\x1b[0m");
}

/* --------------------------------------------------------------------------------------------- wrapping */

/* gl_utf8_next, of ASCII at once. */
static size_t next_code(gl_span text, uint32_t *code) {
    if (!text.length || (unsigned char)text.text[0] >= 0x80)
        return gl_utf8_next(text, code);
    *code = (unsigned char)text.text[0];
    return 1;
}

static size_t columns_of(gl_span text, uint32_t code, size_t length) {
    return code < 0x80 ? 1 : gl_text_width((gl_span){text.text, length});
}

static gl_span without_spaces_before(gl_span text) {
    while (text.length && text.text[0] == ' ')
        text = gl_span_part(text, 1, text.length);
    return text;
}

gl_span gl_page_take_line(gl_span *rest, size_t width, bool cut) {
    gl_span text = without_spaces_before(*rest);
    size_t at = 0, used = 0;
    size_t end = 0, next = 0; /* the latest place to end the line at, and where the one after it starts */
    bool after_space = false;
    for (;;) {
        uint32_t code;
        gl_span left = gl_span_part(text, at, text.length);
        size_t length = next_code(left, &code);
        if (length == 0 || code == '\n') {
            end = after_space ? end : at;
            next = at + length;
            break;
        }
        size_t columns = columns_of(left, code, length);
        if (code != ' ' && used + columns > width) {
            if (!end && cut && at)
                end = next = at;
            if (end)
                break;
        }
        if (code == ' ' && !after_space)
            end = next = at;
        after_space = code == ' ';
        used += columns;
        at += length;
        bool marks_wide = columns == 0 && end && end == at - length;
        if (columns > 1 || marks_wide)
            end = next = at;
    }
    *rest = gl_span_part(text, next, text.length);
    return gl_span_part(text, 0, end);
}

size_t gl_page_widest_word(gl_span shown) {
    size_t widest = 0, used = 0;
    for (size_t at = 0; at < shown.length;) {
        uint32_t code;
        gl_span left = gl_span_part(shown, at, shown.length);
        size_t length = next_code(left, &code);
        size_t columns = columns_of(left, code, length);
        used = code == ' ' || code == '\n' ? 0 : used + columns;
        widest = used > widest ? used : widest;
        used = columns > 1 ? 0 : used;
        at += length;
    }
    return widest;
}

void gl_page_flow(gl_page *page, gl_span shown, size_t at, size_t hanging) {
    gl_span rest = shown;
    for (;;) {
        size_t room = page->width > at ? page->width - at : 1;
        gl_span line = gl_page_take_line(&rest, room, false);
        gl_buf_add(&page->out.buf, line);
        gl_page_end(page);
        rest = without_spaces_before(rest);
        if (!rest.length)
            return;
        gl_page_start(page, hanging);
        at = hanging;
    }
}

void gl_page_prose(gl_page *page, gl_span shown, size_t indent, size_t hanging) {
    gl_page_start(page, indent);
    gl_page_flow(page, shown, indent, hanging);
}

void gl_page_heading(gl_page *page, gl_span label, size_t indent) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_text_add_shown(&shown, label, false);
    gl_page_gap(page);
    size_t room = page->width > indent ? page->width - indent : 1;
    gl_span rest = gl_buf_span(&shown);
    do {
        gl_page_start(page, indent);
        gl_page_strong(page, gl_page_take_line(&rest, room, false), GL_PAGE_BOLD);
        gl_page_end(page);
    } while (rest.length);
    page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
}
