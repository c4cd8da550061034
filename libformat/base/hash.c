#include "base/hash.h"

#include <libdeflate.h>
#include <openssl/evp.h>
#include <stdlib.h>

/* The algorithm is fetched once and the context used again: fetching it for each of half a million short
 * lines would cost more than hashing them. */
struct gl_hash {
    EVP_MD *algorithm;
    EVP_MD_CTX *context;
};

gl_hash *gl_hash_new(void) {
    gl_hash *hash = calloc(1, sizeof *hash);
    if (!hash)
        return NULL;
    hash->algorithm = EVP_MD_fetch(NULL, "SHA256", NULL);
    hash->context = EVP_MD_CTX_new();
    if (!hash->algorithm || !hash->context || EVP_DigestInit_ex2(hash->context, hash->algorithm, NULL) != 1) {
        gl_hash_free(hash);
        return NULL;
    }
    return hash;
}

void gl_hash_free(gl_hash *hash) {
    if (!hash)
        return;
    EVP_MD_CTX_free(hash->context);
    EVP_MD_free(hash->algorithm);
    free(hash);
}

/* Neither starting again, adding nor ending allocates: after gl_hash_new they have no way to fail. */
void gl_hash_start(gl_hash *hash) {
    EVP_DigestInit_ex2(hash->context, NULL, NULL);
}

void gl_hash_add(gl_hash *hash, const void *bytes, size_t length) {
    EVP_DigestUpdate(hash->context, bytes, length);
}

gl_digest gl_hash_end(gl_hash *hash) {
    gl_digest digest = {{0}};
    EVP_DigestFinal_ex(hash->context, digest.bytes, NULL);
    return digest;
}

gl_digest gl_hash_once(gl_hash *hash, const void *bytes, size_t length) {
    gl_hash_start(hash);
    gl_hash_add(hash, bytes, length);
    return gl_hash_end(hash);
}

int gl_digest_compare(const gl_digest *a, const gl_digest *b) {
    return memcmp(a->bytes, b->bytes, sizeof a->bytes);
}

bool gl_digest_equal(const gl_digest *a, const gl_digest *b) {
    return gl_digest_compare(a, b) == 0;
}

void gl_digest_hex(const gl_digest *digest, char out[GL_HEX_SIZE]) {
    static const char digits[] = "0123456789abcdef";
    for (size_t i = 0; i < sizeof digest->bytes; i++) {
        out[2 * i] = digits[digest->bytes[i] >> 4];
        out[2 * i + 1] = digits[digest->bytes[i] & 15];
    }
    out[GL_HEX_SIZE - 1] = '\0';
}

/* Without a branch on each digit: digests are random, and no processor foresees whether a letter comes next. */
bool gl_hex_check(gl_span text, size_t digits) {
    if (text.length != digits)
        return false;
    unsigned sound = 1;
    for (size_t i = 0; i < digits; i++) {
        unsigned char c = (unsigned char)text.text[i];
        sound &= (unsigned)((unsigned char)(c - '0') < 10) | (unsigned)((unsigned char)(c - 'a') < 6);
    }
    return sound;
}

/* Of a digit that was checked: the letters have bit 6, and begin at 1 in the bits below. */
static unsigned hex_value(char c) {
    return ((unsigned)c & 15) + 9 * ((unsigned)c >> 6);
}

bool gl_digest_parse(gl_span hex, gl_digest *out) {
    if (!gl_hex_check(hex, GL_HEX_SIZE - 1))
        return false;
    for (size_t i = 0; i < sizeof out->bytes; i++)
        out->bytes[i] = (uint8_t)(hex_value(hex.text[2 * i]) << 4 | hex_value(hex.text[2 * i + 1]));
    return true;
}

uint32_t gl_crc32(uint32_t crc, const void *bytes, size_t length) {
    return bytes ? libdeflate_crc32(crc, bytes, length) : crc; /* NULL would begin anew */
}
