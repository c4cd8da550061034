#include "records/list.h"

#include <stdint.h>

#include "base/text.h"

/* Takes white space off both ends of what `out` holds from `start` on: a backslash does not protect it. */
static void trim_from(gl_buf *out, size_t start) {
    gl_span whole = gl_span_part(gl_buf_span(out), start, SIZE_MAX), trimmed = gl_text_trim(whole);
    if (out->failed || trimmed.length == whole.length)
        return;
    memmove(out->text + start, trimmed.text, trimmed.length);
    out->length = start + trimmed.length;
    out->text[out->length] = '\0';
}

/* Where the element that starts at `from` ends: its comma, or the end of all. */
static size_t element_end(gl_span typed, size_t from) {
    size_t i = from;
    while (i < typed.length && typed.text[i] != ',')
        i += typed.text[i] == '\\' && i + 1 < typed.length ? 2 : 1;
    return i;
}

bool gl_list_next(gl_span typed, size_t *at, gl_buf *out) {
    if (*at > typed.length)
        return false;
    size_t end = element_end(typed, *at);
    gl_span element = gl_span_part(typed, *at, end - *at);
    if (*at == 0 && end == typed.length && gl_text_trim(element).length == 0)
        return false;
    *at = end + 1;
    size_t start = out->length;
    for (size_t i = 0; i < element.length; i++) {
        if (element.text[i] == '\\' && i + 1 < element.length)
            i++;
        gl_buf_add_char(out, element.text[i]);
    }
    trim_from(out, start);
    return !out->failed;
}

void gl_list_add(gl_buf *out, gl_span element, bool first) {
    if (!first)
        gl_buf_add_text(out, ", ");
    for (size_t i = 0; i < element.length; i++) {
        if (element.text[i] == ',' || element.text[i] == '\\')
            gl_buf_add_char(out, '\\');
        gl_buf_add_char(out, element.text[i]);
    }
}
