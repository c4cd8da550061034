/* Reading an expression character by character, and saying at which one it is wrong. */
#ifndef GL_PLATING_READER_H
#define GL_PLATING_READER_H

#include "base/error.h"
#include "base/span.h"

typedef struct gl_reader {
    gl_span text;
    size_t at;       /* byte that comes next */
    size_t fault_at; /* byte that the error is about */
    glassine_error *error;
} gl_reader;

/* Fills the error: its place is the expression, its message says at which character. Returns
 * GLASSINE_REFUSED. */
glassine_status gl_reader_fail(gl_reader *in, size_t at, const char *rule, const char *remedy,
                               const char *format, ...) __attribute__((format(printf, 5, 6)));
/* The character of a byte, from 1. */
size_t gl_reader_character(const gl_reader *in, size_t at);
/* The text up to 60 bytes, cut at a character: for messages. */
gl_span gl_reader_shortened(gl_span text);

static inline bool gl_reader_is_digit(char c) {
    return c >= '0' && c <= '9';
}
/* ASCII letters, and whatever is not ASCII: names of panes may have it. */
static inline bool gl_reader_is_letter(char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (unsigned char)c >= 0x80;
}

/* All of these pass over white space first. */
char gl_reader_peek(gl_reader *in); /* '\0' at the end */
bool gl_reader_at_end(gl_reader *in);
size_t gl_reader_place(gl_reader *in); /* the byte where the next thing begins */
/* The run of letters that comes next, empty where there is none; stays before it. */
gl_span gl_reader_word(gl_reader *in);
/* Passes it, where it comes next (ASCII letters in either case). */
bool gl_reader_take_word(gl_reader *in, const char *word);
bool gl_reader_take_char(gl_reader *in, char c);

#endif
