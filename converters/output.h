/* Output that grows: a buffer, alone or in front of a sink that takes it in pieces. Failure sticks. */
#ifndef CONVERTERS_OUTPUT_H
#define CONVERTERS_OUTPUT_H

#include <string.h>

#include "glassine.h"

typedef struct conv_output {
    char *text; /* NUL-ended once anything was added */
    size_t length, room;
    char last;            /* character that was added, handed on or not */
    glassine_write write; /* NULL: everything stays in `text` */
    void *context;
    int failed; /* errno value of the first failure */
} conv_output;

void conv_free(conv_output *out);
void conv_clear(conv_output *out);
void conv_add(conv_output *out, glassine_span span);
void conv_add_text(conv_output *out, const char *text);
void conv_add_char(conv_output *out, char c);
void conv_printf(conv_output *out, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Between quotes, with the shortest escapes (RFC 8785 3.2.2.2). */
void conv_add_json_string(conv_output *out, glassine_span utf8);
static inline glassine_span conv_span(const conv_output *out) {
    return (glassine_span){out->text ? out->text : "", out->length};
}

/* Hands the rest on; the first failure as an errno value, 0 for none. */
int conv_finish(conv_output *out);

static inline glassine_span conv_span_of(const char *text) {
    return (glassine_span){text, text ? strlen(text) : 0};
}
bool conv_equal(glassine_span a, glassine_span b);
bool conv_is(glassine_span a, const char *text);
/* By bytes; of the names and keys that a bundle holds, all ASCII, this is the order of RFC 8785 too. */
int conv_compare(glassine_span a, glassine_span b);

/* `place` may be NULL. Return `status`, GLASSINE_SYSTEM with the text of `code` behind the message. */
glassine_status conv_fail(glassine_error *error, glassine_status status, const char *place,
                          const char *remedy, const char *message);
glassine_status conv_fail_system(glassine_error *error, int code, const char *place, const char *message);

/* Doubling growth of an array; NULL where memory ran out, the old one being untouched. */
void *conv_grow(void *array, size_t *room, size_t need, size_t size);

#endif
