#include "exchange/derived.h"

#include <stdio.h>

bool gl_derived_id(const char *type, gl_span name, char out[GL_DERIVED_SIZE]) {
    gl_hash *hash = gl_hash_new();
    if (!hash)
        return false;
    gl_digest digest = gl_hash_once(hash, name.text, name.length);
    gl_hash_free(hash);
    digest.bytes[6] = (uint8_t)((digest.bytes[6] & 0x0f) | 0x80);
    digest.bytes[8] = (uint8_t)((digest.bytes[8] & 0x3f) | 0x80);
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&digest, hex);
    snprintf(out, GL_DERIVED_SIZE, "%s/%.8s-%.4s-%.4s-%.4s-%.12s", type, hex, hex + 8, hex + 12, hex + 16,
             hex + 20);
    return true;
}
