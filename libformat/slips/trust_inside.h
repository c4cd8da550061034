/* Inside the layer: what trust.c and signer.c share. */
#ifndef GL_SLIPS_TRUST_INSIDE_H
#define GL_SLIPS_TRUST_INSIDE_H

#include "slips/trust.h"

enum { GL_FITS_UNKNOWN, GL_FITS, GL_FITS_NOT };
#define GL_WORD_UNKNOWN UINT8_MAX

/* Of one key on one slip so many signatures are looked at: one is enough, and nobody needs two. */
#define GL_SIGNATURE_TRIES 4

typedef struct gl_signature_trust {
    gl_span line;
    uint32_t slip; /* GL_NONE: not in the set */
    uint32_t next; /* the slip's signature noted before it */
    uint8_t fits;
} gl_signature_trust;

typedef struct gl_slip_trust {
    uint8_t word;
    bool spoken;
} gl_slip_trust;

struct gl_trust {
    const gl_store *store;
    const gl_log *log;
    gl_span keeper;
    gl_signature_trust *signatures;                          /* those of the log, then those added */
    size_t signature_count, signature_room, from_log, loose; /* loose: on no slip of the set */
    gl_slip_trust *slips;                                    /* by number in the store */
    size_t slip_count, slip_room;
    uint32_t *tied; /* by slip, as long as there are signatures: the one on it noted last; GL_NONE */
    size_t tied_count, tied_room;
    gl_signer **signers; /* by person in the store; NULL: not worked out */
    size_t signer_count, signer_room;
};

/* Takes over what store and log have by now. */
bool gl_trust_catch_up(gl_trust *trust);

void gl_signer_free(gl_signer *signer);

#endif
