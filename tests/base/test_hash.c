#include "unit.h"

#include <stdlib.h>

#include "base/hash.h"

static void check_digest(gl_hash *hash, const void *bytes, size_t length, const char *expected) {
    char hex[GL_HEX_SIZE];
    gl_digest digest = gl_hash_once(hash, bytes, length);
    gl_digest_hex(&digest, hex);
    assert_string_equal(hex, expected);
}

/* FIPS 180-4's own examples (NIST, "Secure Hash Standard: SHA-256 example values"), and the empty message of
 * the NIST test files SHA256ShortMsg. */
static void sha256_gives_the_published_digests(void **state) {
    (void)state;
    gl_hash *hash = gl_hash_new();
    check_digest(hash, "abc", 3, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    check_digest(hash, "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 56,
                 "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    check_digest(hash, "", 0, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    char *million = malloc(1000000);
    assert_non_null(million);
    memset(million, 'a', 1000000);
    check_digest(hash, million, 1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    free(million);
    gl_hash_free(hash);
}

static void pieces_amount_to_the_whole(void **state) {
    (void)state;
    unit_random random = {1};
    uint8_t bytes[700];
    gl_hash *hash = gl_hash_new();
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (uint8_t)unit_next(&random);
    for (int round = 0; round < 200; round++) {
        size_t length = unit_below(&random, sizeof bytes), at = 0;
        gl_digest whole = gl_hash_once(hash, bytes, length);
        gl_hash_start(hash);
        while (at < length) {
            size_t part = 1 + unit_below(&random, length - at);
            gl_hash_add(hash, bytes + at, part);
            at += part;
        }
        gl_digest pieces = gl_hash_end(hash);
        assert_true(gl_digest_equal(&whole, &pieces));
    }
    gl_hash_free(hash);
}

static void starting_again_drops_what_was_added(void **state) {
    (void)state;
    gl_hash *hash = gl_hash_new();
    gl_hash_start(hash);
    gl_hash_add(hash, "left over", 9);
    check_digest(hash, "abc", 3, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    gl_hash_free(hash);
}

static void hex_goes_there_and_back(void **state) {
    (void)state;
    unit_random random = {2};
    for (int round = 0; round < 100; round++) {
        gl_digest digest, back;
        char hex[GL_HEX_SIZE];
        for (size_t i = 0; i < sizeof digest.bytes; i++)
            digest.bytes[i] = (uint8_t)unit_next(&random);
        gl_digest_hex(&digest, hex);
        assert_true(gl_digest_parse(gl_span_of(hex), &back));
        assert_int_equal(gl_digest_compare(&digest, &back), 0);
    }
}

static void other_than_64_lower_case_digits_is_no_digest(void **state) {
    (void)state;
    char hex[GL_HEX_SIZE + 1];
    gl_digest digest;
    memset(hex, '0', sizeof hex);
    assert_true(gl_digest_parse((gl_span){hex, 64}, &digest));
    assert_false(gl_digest_parse((gl_span){hex, 63}, &digest));
    assert_false(gl_digest_parse((gl_span){hex, 65}, &digest));
    assert_false(gl_digest_parse(GL_NO_SPAN, &digest));
    for (int c = 0; c < 256; c++) {
        bool good = strchr("0123456789abcdef", c) && c != 0;
        hex[0] = (char)c;
        assert_int_equal(gl_digest_parse((gl_span){hex, 64}, &digest), good);
        hex[0] = '0';
        hex[63] = (char)c;
        assert_int_equal(gl_digest_parse((gl_span){hex, 64}, &digest), good);
        hex[63] = '0';
    }
}

static void digests_are_ordered_by_bytes(void **state) {
    (void)state;
    gl_digest low = {{0}}, high = {{0}};
    low.bytes[31] = 0xFF;
    high.bytes[0] = 0x80;
    assert_true(gl_digest_compare(&low, &high) < 0);
    assert_true(gl_digest_compare(&high, &low) > 0);
}

/* The check value of CRC-32/ISO-HDLC, the one of ZIP: ITU-T V.42, as listed in R. Williams, "A painless guide
 * to CRC error detection algorithms" (1993). */
static void crc32_gives_the_published_check_value(void **state) {
    (void)state;
    assert_int_equal(gl_crc32(0, "123456789", 9), 0xCBF43926);
    assert_int_equal(gl_crc32(gl_crc32(0, "1234", 4), "56789", 5), 0xCBF43926);
    assert_int_equal(gl_crc32(0, NULL, 0), 0);
    assert_int_equal(gl_crc32(0x1234, NULL, 0), 0x1234);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sha256_gives_the_published_digests),
        cmocka_unit_test(pieces_amount_to_the_whole),
        cmocka_unit_test(starting_again_drops_what_was_added),
        cmocka_unit_test(hex_goes_there_and_back),
        cmocka_unit_test(other_than_64_lower_case_digits_is_no_digest),
        cmocka_unit_test(digests_are_ordered_by_bytes),
        cmocka_unit_test(crc32_gives_the_published_check_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
