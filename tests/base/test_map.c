#include "unit.h"

#include <openssl/core_names.h>
#include <openssl/evp.h>
#include <openssl/params.h>
#include <stdio.h>

#include "base/map.h"

/* J.-P. Aumasson, D. J. Bernstein, "SipHash: a fast short-input PRF" (2012), appendix A. */
static void siphash_gives_the_published_value(void **state) {
    (void)state;
    const uint64_t key[2] = {UINT64_C(0x0706050403020100), UINT64_C(0x0f0e0d0c0b0a0908)};
    unsigned char message[15];
    for (size_t i = 0; i < sizeof message; i++)
        message[i] = (unsigned char)i;
    assert_int_equal(gl_siphash(key, message, sizeof message), UINT64_C(0xa129ca6149be45e5));
}

/* libcrypto has SipHash-2-4 as a MAC (eight bytes, little-endian). */
static uint64_t siphash_of_libcrypto(const unsigned char key[16], const void *bytes, size_t length) {
    size_t size = 8, written;
    unsigned char out[8];
    OSSL_PARAM parameters[] = {OSSL_PARAM_construct_size_t(OSSL_MAC_PARAM_SIZE, &size),
                               OSSL_PARAM_construct_end()};
    EVP_MAC *algorithm = EVP_MAC_fetch(NULL, "SIPHASH", NULL);
    EVP_MAC_CTX *context = EVP_MAC_CTX_new(algorithm);
    assert_int_equal(EVP_MAC_init(context, key, 16, parameters), 1);
    assert_int_equal(EVP_MAC_update(context, bytes, length), 1);
    assert_int_equal(EVP_MAC_final(context, out, &written, sizeof out), 1);
    EVP_MAC_CTX_free(context);
    EVP_MAC_free(algorithm);
    uint64_t value = 0;
    for (size_t i = 8; i-- > 0;)
        value = value << 8 | out[i];
    return value;
}

static void siphash_agrees_with_libcrypto(void **state) {
    (void)state;
    unit_random random = {3};
    unsigned char key[16], message[100];
    for (size_t length = 0; length <= sizeof message; length++) {
        uint64_t words[2] = {0, 0};
        for (size_t i = 0; i < sizeof message; i++)
            message[i] = (unsigned char)unit_next(&random);
        for (size_t i = 0; i < sizeof key; i++) {
            key[i] = (unsigned char)unit_next(&random);
            words[i / 8] |= (uint64_t)key[i] << (8 * (i % 8));
        }
        assert_int_equal(gl_siphash(words, message, length), siphash_of_libcrypto(key, message, length));
    }
}

#define KEYS 20000

static void every_key_keeps_its_number(void **state) {
    (void)state;
    static char keys[KEYS][16];
    gl_map *map = gl_map_new();
    for (uint32_t i = 0; i < KEYS; i++) {
        snprintf(keys[i], sizeof keys[i], "key %u", i);
        assert_int_equal(gl_map_find(map, gl_span_of(keys[i])), GL_NONE);
        assert_true(gl_map_set(map, gl_span_of(keys[i]), i));
    }
    assert_int_equal(gl_map_count(map), KEYS);
    for (uint32_t i = 0; i < KEYS; i++) {
        char copy[16]; /* found by content, not by place */
        memcpy(copy, keys[i], sizeof copy);
        assert_int_equal(gl_map_find(map, gl_span_of(copy)), i);
    }
    for (uint32_t i = 0; i < KEYS; i += 2)
        assert_true(gl_map_set(map, gl_span_of(keys[i]), i + 1));
    assert_int_equal(gl_map_count(map), KEYS);
    for (uint32_t i = 0; i < KEYS; i++)
        assert_int_equal(gl_map_find(map, gl_span_of(keys[i])), i % 2 ? i : i + 1);
    gl_map_clear(map);
    assert_int_equal(gl_map_count(map), 0);
    assert_int_equal(gl_map_find(map, gl_span_of(keys[7])), GL_NONE);
    assert_true(gl_map_set(map, gl_span_of(keys[7]), 7));
    assert_int_equal(gl_map_find(map, gl_span_of(keys[7])), 7);
    gl_map_free(map);
}

static void a_key_may_be_empty_or_hold_nul_bytes(void **state) {
    (void)state;
    gl_map *map = gl_map_new();
    assert_int_equal(gl_map_find(map, GL_NO_SPAN), GL_NONE);
    assert_true(gl_map_set(map, GL_NO_SPAN, 1));
    assert_true(gl_map_set(map, GL_SPAN("a\0b"), 2));
    assert_true(gl_map_set(map, GL_SPAN("a\0c"), 3));
    assert_true(gl_map_set(map, GL_SPAN("a"), 4));
    assert_int_equal(gl_map_find(map, GL_SPAN("")), 1);
    assert_int_equal(gl_map_find(map, GL_SPAN("a\0b")), 2);
    assert_int_equal(gl_map_find(map, GL_SPAN("a\0c")), 3);
    assert_int_equal(gl_map_find(map, GL_SPAN("a")), 4);
    assert_int_equal(gl_map_count(map), 4);
    gl_map_free(map);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(siphash_gives_the_published_value),
        cmocka_unit_test(siphash_agrees_with_libcrypto),
        cmocka_unit_test(every_key_keeps_its_number),
        cmocka_unit_test(a_key_may_be_empty_or_hold_nul_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
