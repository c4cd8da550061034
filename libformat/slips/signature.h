/* Ed25519 signatures (RFC 8032) over the 32 bytes of a slip's digest, by libcrypto. */
#ifndef GL_SLIPS_SIGNATURE_H
#define GL_SLIPS_SIGNATURE_H

#include "base/buf.h"
#include "base/hash.h"

/* 32 bytes, like a digest: parsed, compared and printed by the same functions. */
typedef gl_digest gl_public_key;

typedef struct gl_signature {
    uint8_t bytes[64];
} gl_signature;

/* 64 lower-case hex digits that are no point of small order: by such a "key" anything would be signed. */
bool gl_public_key_parse(gl_span hex, gl_public_key *key);
/* 128 lower-case hex digits. */
bool gl_signature_parse(gl_span hex, gl_signature *signature);
/* Keeps what libcrypto makes of a key until another one comes. Of one thread; to be zero at first. */
typedef struct gl_verifier {
    gl_public_key key;
    void *point, *context; /* EVP_PKEY of `key`, EVP_MD_CTX; NULL: not made */
} gl_verifier;
/* Whether it is this key's signature on the message: 1 or 0; -1 when memory ran out. Of a slip the message is
 * its digest. */
int gl_verifier_verify(gl_verifier *verifier, const gl_public_key *key, gl_span message,
                       const gl_signature *signature);
void gl_verifier_end(gl_verifier *verifier);
bool gl_signature_make(const glassine_key *key, gl_span message, gl_signature *signature);
static inline gl_span gl_signed_bytes(const gl_digest *of) {
    return (gl_span){(const char *)of->bytes, sizeof of->bytes};
}

/* The private key, from inside. */
struct glassine_key {
    void *pair; /* EVP_PKEY */
    gl_public_key public_key;
    char hex[GL_HEX_SIZE];
};
/* The signature line (without \n) of a slip, appended. */
bool gl_signature_write(const glassine_key *key, const gl_digest *of, gl_buf *out);

#endif
