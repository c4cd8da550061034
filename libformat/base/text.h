/* Text: UTF-8, NFC, what may be shown, orders that people expect. */
#ifndef GL_BASE_TEXT_H
#define GL_BASE_TEXT_H

#include <stdint.h>

#include "base/buf.h"

/* Offset of the first byte that is not well-formed UTF-8 (RFC 3629: no overlong forms, no surrogates,
 * nothing above U+10FFFF); span.length where all is well. */
size_t gl_utf8_check(gl_span text);
/* Decodes one code point at text[0]; returns its length in bytes (0 at the end). A byte that is not
 * well-formed counts as U+FFFD, of length 1. */
size_t gl_utf8_next(gl_span text, uint32_t *code);
/* Appends one code point; U+FFFD for what is none. */
void gl_utf8_add(gl_buf *buf, uint32_t code);

bool gl_text_is_nfc(gl_span text);
/* Appends the NFC form of well-formed text. */
void gl_text_add_nfc(gl_buf *buf, gl_span text);
/* Appends the NFC form after full case folding: for comparing names kindly. */
void gl_text_add_folded(gl_buf *buf, gl_span text);
/* Is that what becomes of `text`? `scratch` is written to where it is not ASCII, and tells whether memory ran out. */
bool gl_text_folds_to(gl_span text, gl_span folded, gl_buf *scratch);

/* Appends `text` fit for a terminal: control characters, bidirectional overrides, unpaired or invalid bytes
 * as \n, \t, \u{1b}, \x{ff}; a line feed stays one where `lines` is true. */
void gl_text_add_shown(gl_buf *buf, gl_span text, bool lines);
/* One step of it, for those who have a fixed place to write to: the character at text[0] or, in `escape`,
 * what stands for it. Returns how many bytes of `text` it was (0 at the end). */
#define GL_ESCAPE_SIZE 12
size_t gl_text_shown_next(gl_span text, gl_span *shown, char escape[GL_ESCAPE_SIZE]);
/* Columns that well-formed text takes on a terminal (utf8proc's widths). */
size_t gl_text_width(gl_span text);

/* Order for people: runs of digits by value, the rest by bytes; total, and equal only for equal bytes. */
int gl_text_natural(gl_span a, gl_span b);

/* White space taken from both ends. */
gl_span gl_text_trim(gl_span text);
/* Decimal integer, whole span, optional '-'; false where it is none or beyond int64_t. */
bool gl_text_integer(gl_span text, int64_t *value);

/* "MAJOR.MINOR" at text[0] (spec/versions.md): two decimal numbers of one to four digits without leading zeros, MAJOR
 * from 1. Returns its length in bytes, 0 where there is none. */
size_t gl_text_version(gl_span text, uint32_t *major, uint32_t *minor);

#endif
