/* Scans as they go to somebody: cleared of what their files tell beyond the picture, made smaller, or left
 * behind (spec/exchange.md, "Scans that go"). */
#ifndef GL_EXCHANGE_COPIES_H
#define GL_EXCHANGE_COPIES_H

#include "exchange/draft.h"

typedef struct gl_copies {
    glassine_draft *from, *to; /* of the bundle that sends, and of the one that goes */
    glassine_scans scans;
    uint32_t limit; /* of reduced ones */
    bool keep_metadata, blind;
    void (*progress)(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total);
    void *context;
    size_t whole, cleared, reduced; /* that go; those that went as they are, less metadata, smaller */
    gl_buf left;                    /* label NUL why NUL, of each that stays behind though it should go */
} gl_copies;

/* For every scan whose record goes and whose bytes are there: its bytes, or those of a copy, whose record is
 * then said in both bundles. */
glassine_status gl_copies_send(gl_copies *it, glassine_error *error);
/* Findings about what stays behind. */
void gl_copies_tell(const gl_copies *it, glassine_report *report);
/* The longer side of the largest picture that goes, in pixels; 0: none does. */
uint32_t gl_copies_longest(glassine_bundle *from, glassine_record *const *records, size_t count);

#endif
