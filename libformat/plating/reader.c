#include "plating/reader.h"

#include <stdarg.h>
#include <stdio.h>

#include "plating/plan.h"

size_t gl_reader_character(const gl_reader *in, size_t at) {
    size_t character = 1;
    for (size_t i = 0; i < at && i < in->text.length; i++)
        character += ((unsigned char)in->text.text[i] & 0xc0) != 0x80;
    return character;
}

gl_span gl_reader_shortened(gl_span text) {
    if (text.length <= 60)
        return text;
    size_t length = 57;
    while (length && ((unsigned char)text.text[length] & 0xc0) == 0x80)
        length--;
    return gl_span_part(text, 0, length);
}

glassine_status gl_reader_fail(gl_reader *in, size_t at, const char *rule, const char *remedy,
                               const char *format, ...) {
    char message[256], place[128], where[40] = "";
    va_list values;
    va_start(values, format);
    vsnprintf(message, sizeof message, format, values);
    va_end(values);
    gl_span shown = gl_reader_shortened(in->text);
    snprintf(place, sizeof place, "positions \"%.*s%s\"", GL_SPAN_ARGS(shown),
             shown.length < in->text.length ? "…" : "");
    if (at > 0)
        snprintf(where, sizeof where, ", at character %zu", gl_reader_character(in, at));
    in->fault_at = at;
    gl_fail(in->error, GLASSINE_REFUSED, rule, place, "%s%s", message, where);
    if (remedy)
        gl_error_remedy(in->error, "%s", remedy);
    return GLASSINE_REFUSED;
}

static bool is_space(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

char gl_reader_peek(gl_reader *in) {
    while (in->at < in->text.length && is_space(in->text.text[in->at]))
        in->at++;
    return in->at < in->text.length ? in->text.text[in->at] : '\0';
}

bool gl_reader_at_end(gl_reader *in) {
    return gl_reader_place(in) == in->text.length;
}

size_t gl_reader_place(gl_reader *in) {
    gl_reader_peek(in);
    return in->at;
}

gl_span gl_reader_word(gl_reader *in) {
    size_t start = gl_reader_place(in), end = start;
    while (end < in->text.length && gl_reader_is_letter(in->text.text[end]))
        end++;
    return gl_span_part(in->text, start, end - start);
}

bool gl_reader_take_word(gl_reader *in, const char *word) {
    gl_span here = gl_reader_word(in);
    if (!gl_plan_names_equal(here, gl_span_of(word)))
        return false;
    in->at += here.length;
    return true;
}

bool gl_reader_take_char(gl_reader *in, char c) {
    if (gl_reader_peek(in) != c)
        return false;
    in->at++;
    return true;
}
