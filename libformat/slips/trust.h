/* Whose word counts (spec/signatures.md): which keys a contributor has in this bundle, and what that makes of
 * each slip. It follows from the set of slips, the signatures, the keeper, and, as far as a key is seen first
 * in an edition, from the editions. Worked out when asked for, and kept until something changes. */
#ifndef GL_SLIPS_TRUST_H
#define GL_SLIPS_TRUST_H

#include "slips/log.h"
#include "slips/signature.h"

typedef struct gl_trust gl_trust;

/* Both outlive it. The keeper (contributor/UUID) is borrowed; absent as long as nobody is known to be it. */
gl_trust *gl_trust_new(const gl_store *store, const gl_log *log);
void gl_trust_free(gl_trust *trust);
void gl_trust_keeper(gl_trust *trust, gl_span id);

/* A signature line that stands in no log yet; its bytes outlive the trust. `fits`: it was made here, or verified, and
 * need not be verified again. False when memory ran out. */
bool gl_trust_add(gl_trust *trust, gl_span line, bool fits);
void gl_trust_drop_added(gl_trust *trust);
/* Forgets all about the slips from number `slips` on. */
void gl_trust_cut(gl_trust *trust, uint32_t slips);
/* The slip was spoken here and now, and not saved yet: it counts. */
bool gl_trust_spoken(gl_trust *trust, uint32_t slip);
bool gl_trust_is_spoken(const gl_trust *trust, uint32_t slip);
/* Keys, signatures or the keeper's word on them are others than before: all is worked out anew. */
void gl_trust_changed(gl_trust *trust);
/* May a slip with this line change whose word counts? */
bool gl_trust_touched_by(gl_span record, gl_span line);

/* 1: counts, 0: does not, -1: memory ran out. */
int gl_trust_counts(gl_trust *trust, uint32_t slip);
/* The same as a glassine_word; -1 when memory ran out. */
int gl_trust_word(gl_trust *trust, uint32_t slip);

/* The signature lines of the log and those added, in this order. */
size_t gl_trust_signatures(gl_trust *trust);
/* The same, each verified by now: on all processors. */
size_t gl_trust_verified(gl_trust *trust);
gl_span gl_trust_signature(const gl_trust *trust, size_t number);
/* The slip that it is on; GL_NONE: not in the set. */
uint32_t gl_trust_signed_slip(const gl_trust *trust, size_t number);
/* Whether key, slip and signature fit: 1, 0, -1 as above. */
int gl_trust_fits(gl_trust *trust, size_t number);

typedef enum gl_key_way {
    GL_KEY_SEEN,    /* by its contributor's own slip, and the first one seen */
    GL_KEY_CHANGED, /* by a slip that the key before it signed */
    GL_KEY_BEFORE,  /* named as the key before, in a change that it signed */
    GL_KEY_KEEPER,  /* by the keeper's word */
    GL_KEY_SAVED,   /* the keeper's own: an edition of this bundle names it */
    GL_KEY_RIVAL,   /* does not count: another one was seen before */
    GL_KEY_NOT_HELD /* does not count: the slip is not signed by that key, or by the one before it */
} gl_key_way;

typedef struct gl_held_key {
    gl_public_key key;
    uint32_t slip;    /* that gave it, GL_NONE: none */
    uint32_t edition; /* in which it was first seen */
    gl_key_way way;
    bool counts;
} gl_held_key;

/* So many keys of one contributor count at most. */
#define GL_TRUST_KEYS_MOST 100

typedef struct gl_signer {
    gl_held_key *keys; /* all that were put forward */
    size_t count, room;
    gl_public_key *counting; /* those that count, each once */
    size_t counting_count;
    /* the first edition with a key that counts, of the keeper's one that names it; GL_NONE: does not sign */
    uint32_t since;
    uint32_t together; /* keys seen first, in one edition: above 1 they are rivals that all count */
    bool by_word;      /* the keeper decided */
    bool too_many;     /* more keys would count than may */
} gl_signer;

/* NULL when memory ran out. Lives until something changes. `person` as in the store. */
const gl_signer *gl_trust_signer(gl_trust *trust, uint32_t person);
/* Is there a signature of this key on the slip that fits: 1, 0, -1. */
int gl_trust_signed_by(gl_trust *trust, uint32_t slip, const gl_public_key *key);
/* Has the contributor a key that counts, and is it this one? */
bool gl_signer_has(const gl_signer *signer, const gl_public_key *key);

#endif
