/* Tokens of a typed date. Within base/ only. */
#ifndef GL_BASE_EDTF_WORDS_H
#define GL_BASE_EDTF_WORDS_H

#include "base/span.h"

typedef enum gl_typed_kind {
    GL_TYPED_END,
    GL_TYPED_NUMBER,  /* value; `digits` as written */
    GL_TYPED_DECADE,  /* "1850s" */
    GL_TYPED_UNKNOWN, /* "185x", "18xx": value is 1850, 1800; `digits` counts the x */
    GL_TYPED_ORDINAL, /* "14th" */
    GL_TYPED_MONTH,   /* value 1 to 12 */
    GL_TYPED_ROMAN,   /* value 1 to 12 */
    GL_TYPED_SEASON,  /* value 21 to 24 */
    GL_TYPED_MARK,    /* value is the character: '-' '/' '.' '?' '~' '%' */
    GL_TYPED_ABOUT,
    GL_TYPED_PERHAPS,
    GL_TYPED_BEFORE,
    GL_TYPED_UNTIL,
    GL_TYPED_AFTER,
    GL_TYPED_SINCE,
    GL_TYPED_NOT,
    GL_TYPED_BETWEEN,
    GL_TYPED_AND,
    GL_TYPED_OR,
    GL_TYPED_LATER,
    GL_TYPED_EARLIER,
    GL_TYPED_CENTURY,
    GL_TYPED_FILLER, /* "of", "the", "in": passed over */
} gl_typed_kind;

typedef struct gl_typed_token {
    gl_typed_kind kind;
    int value;
    unsigned digits;
    bool spaced; /* a mark with white space on both sides, or a long dash */
} gl_typed_token;

/* Takes the next token off *rest; false at what no date holds (*rest then starts there). */
bool gl_typed_next(gl_span *rest, gl_typed_token *token);

#endif
