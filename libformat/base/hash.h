/* SHA-256 (FIPS 180-4, by libcrypto with the processor's instructions), CRC-32, lower-case hex (RFC 4648). */
#ifndef GL_BASE_HASH_H
#define GL_BASE_HASH_H

#include <stdint.h>

#include "base/span.h"

typedef struct gl_digest {
    uint8_t bytes[32];
} gl_digest;

#define GL_HEX_SIZE 65 /* 64 digits and the NUL byte */

typedef struct gl_hash gl_hash; /* a reusable SHA-256 computation; one thread at a time */
gl_hash *gl_hash_new(void);     /* NULL when memory ran out */
void gl_hash_free(gl_hash *hash);
void gl_hash_start(gl_hash *hash);
void gl_hash_add(gl_hash *hash, const void *bytes, size_t length);
gl_digest gl_hash_end(gl_hash *hash);
/* start, add, end. */
gl_digest gl_hash_once(gl_hash *hash, const void *bytes, size_t length);

bool gl_digest_equal(const gl_digest *a, const gl_digest *b);
int gl_digest_compare(const gl_digest *a, const gl_digest *b);
void gl_digest_hex(const gl_digest *digest, char out[GL_HEX_SIZE]);
/* Is it so many lower-case hex digits? */
bool gl_hex_check(gl_span text, size_t digits);
/* Exactly 64 lower-case hex digits; else false, and *out stays. */
bool gl_digest_parse(gl_span hex, gl_digest *out);

uint32_t gl_crc32(uint32_t crc, const void *bytes, size_t length); /* start with 0 */

#endif
