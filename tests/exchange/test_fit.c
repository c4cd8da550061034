/* glassine_limit_fit: the largest limit that fits, against trying every one of them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "glassine.h"

typedef struct measured {
    double scale, power;
    uint64_t base;
    uint32_t last;
    unsigned calls;
} measured;

static uint64_t size_at(const measured *it, uint32_t limit) {
    uint64_t steps = limit / 20, size = it->base;
    for (uint64_t i = 0; i < (it->power > 1.5 ? 2 : 1); i++)
        size += (uint64_t)(it->scale * (double)(steps * (i ? steps : 1)));
    return size;
}

static glassine_status measure(void *context, uint32_t limit, uint64_t *bytes, glassine_error *error) {
    measured *it = context;
    (void)error;
    it->last = limit;
    it->calls++;
    *bytes = size_at(it, limit);
    return GLASSINE_OK;
}

static uint32_t by_trying(const measured *it, uint32_t most, uint64_t bytes) {
    uint32_t best = 0;
    for (uint32_t limit = 20; limit <= most; limit += 20)
        if (size_at(it, limit) <= bytes)
            best = limit;
    return best;
}

static void test_largest(void **state) {
    (void)state;
    static const double scales[] = {0, 1, 40, 5000};
    static const uint64_t bases[] = {0, 100000};
    for (unsigned s = 0; s < 4; s++)
        for (unsigned b = 0; b < 2; b++)
            for (unsigned p = 1; p <= 2; p++)
                for (uint64_t bytes = 1; bytes < 200000000; bytes = bytes * 3 + 1)
                    for (uint32_t most = 20; most <= 9000; most = most * 3 + 20) {
                        measured it = {.scale = scales[s], .power = p, .base = bases[b]};
                        uint32_t found = 1, whole = most / 20 * 20;
                        assert_int_equal(glassine_limit_fit(whole, bytes, measure, &it, &found, NULL),
                                         GLASSINE_OK);
                        assert_int_equal(found, by_trying(&it, whole, bytes));
                        assert_true(found == 0 || it.last == found);
                        assert_true(it.calls <= 20);
                    }
}

static glassine_status broken(void *context, uint32_t limit, uint64_t *bytes, glassine_error *error) {
    (void)context;
    (void)limit;
    (void)bytes;
    (void)error;
    return GLASSINE_SYSTEM;
}

static void test_failure(void **state) {
    (void)state;
    uint32_t limit;
    assert_int_equal(glassine_limit_fit(1000, 5000, broken, NULL, &limit, NULL), GLASSINE_SYSTEM);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_largest), cmocka_unit_test(test_failure)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
