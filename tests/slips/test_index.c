#include "slips/made.h"

#include "slips/index.h"

#define NUMBERS 400

/* Entries come and go in any order, on hashes so few that they collide all the time; a plain array is asked
 * the same questions. */
static void it_agrees_with_an_array(void **state) {
    (void)state;
    uint64_t random = 7;
    for (uint32_t hashes = 1; hashes <= 256; hashes *= 4) {
        gl_index index = GL_INDEX_EMPTY;
        uint32_t hash_of[NUMBERS];
        bool there[NUMBERS] = {false};
        for (uint32_t i = 0; i < NUMBERS; i++) /* some at the very end, so that runs wrap round */
            hash_of[i] = made_random(&random, hashes) - hashes / 2;
        for (int step = 0; step < 4000; step++) {
            uint32_t number = made_random(&random, NUMBERS), found;
            if (there[number]) {
                gl_index_remove(&index, hash_of[number], number);
            } else {
                assert_true(gl_index_reserve(&index, 1));
                gl_index_add(&index, hash_of[number], number);
            }
            there[number] = !there[number];
            uint32_t asked = made_random(&random, NUMBERS);
            size_t at = hash_of[asked];
            bool seen = false;
            while ((found = gl_index_next(&index, hash_of[asked], &at)) != GL_NONE) {
                assert_true(there[found]);
                assert_int_equal(hash_of[found], hash_of[asked]);
                seen = seen || found == asked;
            }
            assert_int_equal(seen, there[asked]);
        }
        gl_index_free(&index);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_agrees_with_an_array),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
