/* A dispatch in the making: what dispatch.c puts into the bundle, and dispatch_out.c beside it. */
#ifndef GL_EXCHANGE_DISPATCH_H
#define GL_EXCHANGE_DISPATCH_H

#include "exchange/closure.h"
#include "exchange/copies.h"

typedef struct gl_dispatching {
    glassine_draft *draft; /* of the bundle that sends */
    glassine_bundle *bundle;
    const glassine_dispatch_options *options;
    glassine_record *to;
    glassine_record **items;
    size_t item_count;
    gl_closure closure;
    char event[6 + 36 + 1];
    gl_make make;
    gl_copies copies;
    uint32_t limit; /* pixels of what is reduced, 0: none is */
    size_t slips;
    const char *folder;         /* "FOLDER/", made by this call; NULL: none */
    gl_buf path;                /* of the bundle */
    gl_buf page, letter, sheet; /* beside it; empty: none */
    uint64_t bytes;             /* of all that is written, once it is made */
    bool sent;                  /* it is written, and saved as sent; what is left is the report on it */
} gl_dispatching;

/* Where it goes: "FOLDER/" is made, and the bundle lies in it under the folder's name. */
glassine_status gl_dispatch_place(gl_dispatching *it, const char *out, glassine_error *error);
/* Page, letter and sheet, of the bundle that was made and saved; the page also into it. */
glassine_status gl_dispatch_make_rest(gl_dispatching *it, glassine_error *error);
/* Of everything that will be written. */
glassine_status gl_dispatch_size(gl_dispatching *it, uint64_t *bytes, glassine_error *error);
/* Gives everything its name. */
glassine_status gl_dispatch_publish(gl_dispatching *it, glassine_error *error);
void gl_dispatch_tell(gl_dispatching *it, glassine_report *report);
/* What gl_dispatch_place and gl_dispatch_publish put there. */
void gl_dispatch_take_away(gl_dispatching *it);
void gl_dispatch_free(gl_dispatching *it);

#endif
