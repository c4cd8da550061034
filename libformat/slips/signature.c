#include "slips/signature.h"

#include <openssl/evp.h>

enum { HALF_DIGITS = GL_HEX_SIZE - 1 };

/* The y coordinates, sign bit cleared, of the eight points whose order divides 8, and the two ways to write
 * them that are not reduced modulo 2^255 - 19 (found by multiplying points of the curve by the order of its
 * base). */
static bool has_small_order(const gl_public_key *key) {
    static const gl_public_key points[] = {
        {{0}},
        {{1}},
        {{0x26, 0xe8, 0x95, 0x8f, 0xc2, 0xb2, 0x27, 0xb0, 0x45, 0xc3, 0xf4, 0x89, 0xf2, 0xef, 0x98, 0xf0,
          0xd5, 0xdf, 0xac, 0x05, 0xd3, 0xc6, 0x33, 0x39, 0xb1, 0x38, 0x02, 0x88, 0x6d, 0x53, 0xfc, 0x05}},
        {{0xc7, 0x17, 0x6a, 0x70, 0x3d, 0x4d, 0xd8, 0x4f, 0xba, 0x3c, 0x0b, 0x76, 0x0d, 0x10, 0x67, 0x0f,
          0x2a, 0x20, 0x53, 0xfa, 0x2c, 0x39, 0xcc, 0xc6, 0x4e, 0xc7, 0xfd, 0x77, 0x92, 0xac, 0x03, 0x7a}},
    };
    gl_public_key y = *key;
    y.bytes[31] &= 0x7f;
    for (size_t i = 0; i < sizeof points / sizeof points[0]; i++)
        if (gl_digest_equal(&y, &points[i]))
            return true;
    /* p-1, p and p+1, for p = 2^255 - 19 */
    bool high = y.bytes[31] == 0x7f && y.bytes[0] >= 0xec && y.bytes[0] <= 0xee;
    for (size_t i = 1; high && i < 31; i++)
        high = y.bytes[i] == 0xff;
    return high;
}

bool gl_public_key_parse(gl_span hex, gl_public_key *key) {
    return gl_digest_parse(hex, key) && !has_small_order(key);
}

bool gl_signature_parse(gl_span hex, gl_signature *signature) {
    gl_digest first, second;
    if (hex.length != 2 * HALF_DIGITS || !gl_digest_parse(gl_span_part(hex, 0, HALF_DIGITS), &first) ||
        !gl_digest_parse(gl_span_part(hex, HALF_DIGITS, HALF_DIGITS), &second))
        return false;
    memcpy(signature->bytes, first.bytes, sizeof first.bytes);
    memcpy(signature->bytes + sizeof first.bytes, second.bytes, sizeof second.bytes);
    return true;
}

static bool take_key(gl_verifier *verifier, const gl_public_key *key) {
    if (verifier->point && gl_digest_equal(&verifier->key, key))
        return true;
    EVP_PKEY_free(verifier->point);
    verifier->key = *key;
    verifier->point = EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, NULL, key->bytes, sizeof key->bytes);
    if (!verifier->context)
        verifier->context = EVP_MD_CTX_new();
    return verifier->point && verifier->context;
}

int gl_verifier_verify(gl_verifier *verifier, const gl_public_key *key, gl_span message,
                       const gl_signature *signature) {
    if (!take_key(verifier, key))
        return -1;
    EVP_MD_CTX *context = verifier->context;
    int fits = -1;
    if (EVP_DigestVerifyInit(context, NULL, NULL, NULL, verifier->point) == 1)
        fits = EVP_DigestVerify(context, signature->bytes, sizeof signature->bytes,
                                (const unsigned char *)message.text, message.length) == 1;
    EVP_MD_CTX_reset(context);
    return fits;
}

void gl_verifier_end(gl_verifier *verifier) {
    EVP_MD_CTX_free(verifier->context);
    EVP_PKEY_free(verifier->point);
    *verifier = (gl_verifier){.point = NULL};
}

bool gl_signature_make(const glassine_key *key, gl_span message, gl_signature *signature) {
    EVP_MD_CTX *context = EVP_MD_CTX_new();
    size_t length = sizeof signature->bytes;
    bool done = context && EVP_DigestSignInit(context, NULL, NULL, NULL, key->pair) == 1 &&
                EVP_DigestSign(context, signature->bytes, &length, (const unsigned char *)message.text,
                               message.length) == 1;
    EVP_MD_CTX_free(context);
    return done;
}

bool gl_signature_write(const glassine_key *key, const gl_digest *of, gl_buf *out) {
    gl_signature signature;
    if (!gl_signature_make(key, gl_signed_bytes(of), &signature))
        return false;
    char hex[GL_HEX_SIZE];
    gl_digest half;
    gl_digest_hex(of, hex);
    gl_buf_printf(out, "{\"key\":\"%s\",\"of\":\"%s\",\"sig\":\"", key->hex, hex);
    for (size_t i = 0; i < 2; i++) {
        memcpy(half.bytes, signature.bytes + i * sizeof half.bytes, sizeof half.bytes);
        gl_digest_hex(&half, hex);
        gl_buf_add_text(out, hex);
    }
    gl_buf_add_text(out, "\"}");
    return !out->failed;
}
