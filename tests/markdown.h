/* Reading tables out of the pages of spec/, so that they can be compared with what the library does. */
#ifndef TESTS_MARKDOWN_H
#define TESTS_MARKDOWN_H

#include "base/unit.h"

#include <stdio.h>

#include "base/text.h"

#define MARKDOWN_CELLS 8

static inline gl_span markdown_line(gl_span *text) {
    const char *end = memchr(text->text, '\n', text->length);
    size_t length = end ? (size_t)(end - text->text) : text->length;
    gl_span line = gl_span_part(*text, 0, length);
    *text = gl_span_part(*text, length + 1, SIZE_MAX);
    return line;
}

/* What is behind the first line that is exactly this. */
static inline gl_span markdown_behind(gl_span text, const char *line) {
    while (text.length > 0)
        if (gl_span_is(markdown_line(&text), line))
            return text;
    fail_msg("there is no line \"%s\"", line);
    return text;
}

/* The rows of the first table with this head. */
static inline gl_span markdown_rows(gl_span text, const char *head) {
    text = markdown_behind(text, head);
    markdown_line(&text); /* | --- | */
    gl_span rest = text;
    while (gl_span_starts(rest, GL_SPAN("| ")))
        markdown_line(&rest);
    return gl_span_part(text, 0, text.length - rest.length);
}

/* "| a | b |" into its cells; how many there are. */
static inline size_t markdown_cells(gl_span line, gl_span cells[MARKDOWN_CELLS]) {
    size_t count = 0;
    line = gl_span_part(line, 1, line.length - 2);
    while (count < MARKDOWN_CELLS) {
        const char *bar = memchr(line.text, '|', line.length);
        size_t length = bar ? (size_t)(bar - line.text) : line.length;
        cells[count++] = gl_text_trim(gl_span_part(line, 0, length));
        if (!bar)
            break;
        line = gl_span_part(line, length + 1, SIZE_MAX);
    }
    return count;
}

static inline void markdown_expect(gl_span cell, const char *expected) {
    char said[1024];
    snprintf(said, sizeof said, "%.*s", GL_SPAN_ARGS(cell));
    assert_string_equal(said, expected);
}

#endif
