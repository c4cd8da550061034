#include "records/list.h"

#include "base/text.h"

static bool is_space(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

/* Where the element that starts at `from` ends: its comma, or the end of all. */
static size_t element_end(gl_span typed, size_t from) {
    size_t i = from;
    while (i < typed.length && typed.text[i] != ',')
        i += typed.text[i] == '\\' && i + 1 < typed.length ? 2 : 1;
    return i;
}

/* Without white space at its ends, but for what a backslash keeps. */
static gl_span element_trim(gl_span element) {
    size_t from = 0, to = element.length, kept = 0;
    while (from < to && is_space(element.text[from]))
        from++;
    for (size_t i = from; i < to; i++)
        if (element.text[i] == '\\' && i + 1 < to)
            kept = ++i + 1;
        else if (!is_space(element.text[i]))
            kept = i + 1;
    return gl_span_part(element, from, kept > from ? kept - from : 0);
}

bool gl_list_next(gl_span typed, size_t *at, gl_buf *out) {
    if (*at > typed.length || (*at == 0 && gl_text_trim(typed).length == 0))
        return false;
    size_t end = element_end(typed, *at);
    gl_span element = element_trim(gl_span_part(typed, *at, end - *at));
    *at = end + 1;
    for (size_t i = 0; i < element.length; i++) {
        if (element.text[i] == '\\' && i + 1 < element.length)
            i++;
        gl_buf_add_char(out, element.text[i]);
    }
    return true;
}

void gl_list_add(gl_buf *out, gl_span element, bool first) {
    if (!first)
        gl_buf_add_text(out, ", ");
    for (size_t i = 0; i < element.length; i++) {
        char c = element.text[i];
        bool outer = i == 0 || i + 1 == element.length;
        if (c == ',' || c == '\\' || (outer && is_space(c)))
            gl_buf_add_char(out, '\\');
        gl_buf_add_char(out, c);
    }
}
