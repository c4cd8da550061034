/* The same work on many things, on all processors, watched or not. */
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/work.h"
#include "rounds.h"
#include "unit.h"

enum { THINGS = 100 };

typedef struct counted {
    atomic_int times[THINGS];
    gl_watch *watch; /* NULL: nobody's */
} counted;

static void count_one(void *context, size_t index) {
    counted *it = context;
    atomic_fetch_add(&it->times[index], 1);
    if (it->watch)
        gl_watch_add(it->watch, 1);
}

static void each_thing_has_its_turn_once(void **state) {
    (void)state;
    counted it = {.watch = NULL};
    gl_work(THINGS, count_one, &it);
    for (size_t i = 0; i < THINGS; i++)
        assert_int_equal(it.times[i], 1);
    gl_work(0, count_one, &it);
}

/* Of few bytes or many, watched or not: each once. */
static void each_thing_has_its_turn_whatever_its_size(void **state) {
    static const uint64_t sizes[] = {0, 1, 1000, 64 * 1024, 64 * 1024 + 1, 1 << 30};
    (void)state;
    for (size_t k = 0; k < sizeof sizes / sizeof sizes[0]; k++)
        for (int watched = 0; watched < 2; watched++) {
            gl_watch watch = {.total = THINGS};
            counted it = {.watch = watched ? &watch : NULL};
            gl_work_on(sizes[k], THINGS, count_one, &it, it.watch);
            for (size_t i = 0; i < THINGS; i++)
                assert_int_equal(it.times[i], 1);
        }
}

typedef struct told {
    uint64_t calls, first, last;
    uint64_t stop_at; /* the call that says so; 0: none does */
} told;

static bool look(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    told *it = context;
    assert_string_equal(doing, "counting");
    assert_null(unit);
    assert_true(done >= it->last && done <= total);
    if (it->calls++ == 0)
        it->first = done;
    it->last = done;
    return it->calls != it->stop_at;
}

/* Also where it is over before the caller's thread has begun to look on: often, work being this little. */
static void the_beginning_and_the_end_are_told(void **state) {
    (void)state;
    for (int round = 0; round < ROUNDS_OF(2000); round++) {
        told seen = {0};
        const glassine_watch by = {look, &seen};
        gl_watch watch = {.by = &by, .doing = "counting", .total = 2};
        counted it = {.watch = &watch};
        if (round % 2)
            gl_work_watched(2, count_one, &it, &watch);
        else
            gl_work_on(1, 2, count_one, &it, &watch);
        assert_int_equal(seen.first, 0);
        assert_int_equal(seen.last, 2);
        assert_false(atomic_load(&watch.stopped));
    }
}

static void whoever_stops_it_at_first_sees_nothing_done(void **state) {
    (void)state;
    told seen = {.stop_at = 1};
    const glassine_watch by = {look, &seen};
    gl_watch watch = {.by = &by, .doing = "counting", .total = THINGS};
    counted it = {.watch = &watch};
    gl_work_watched(THINGS, count_one, &it, &watch);
    assert_true(atomic_load(&watch.stopped));
    assert_int_equal(seen.calls, 1);
    for (size_t i = 0; i < THINGS; i++)
        assert_int_equal(it.times[i], 0);
}

/* ---- memory ---- */

/* What gl_work_copy and gl_work_hand_out cut memory into (work.c), and sizes about that. */
enum { PIECE = 2 * 1024 * 1024, EDGE = 64 };
static const size_t sizes_about_pieces[] = {0,
                                            1,
                                            EDGE + 1,
                                            PIECE - 1,
                                            PIECE,
                                            PIECE + 1,
                                            2 * PIECE - 1,
                                            2 * PIECE,
                                            2 * PIECE + 4097,
                                            3 * PIECE - 1,
                                            3 * PIECE,
                                            3 * PIECE + 1};

/* Random bytes, of which no two pieces are alike. */
static unsigned char *noise(size_t size, uint64_t seed) {
    unit_random random = {seed};
    unsigned char *bytes = malloc(size + sizeof(uint64_t));
    assert_non_null(bytes);
    for (size_t i = 0; i < size; i += sizeof(uint64_t)) {
        uint64_t next = unit_next(&random);
        memcpy(bytes + i, &next, sizeof next);
    }
    return bytes;
}

/* All that was asked for, and no byte before it or behind it, wherever it begins. */
static void a_copy_has_the_same_bytes_and_no_more(void **state) {
    (void)state;
    for (size_t k = 0; k < UNIT_COUNT(sizes_about_pieces); k++) {
        size_t size = sizes_about_pieces[k], all = size + 2 * EDGE, at = EDGE - k % 8;
        unsigned char *from = noise(all, 5), *to = noise(all, 6), *before = noise(all, 6);
        gl_work_copy(to + at, from + at + 1, size);
        assert_memory_equal(to, before, at);
        assert_int_equal(memcmp(to + at, from + at + 1, size), 0);
        assert_memory_equal(to + at + size, before + at + size, all - at - size);
        free(from);
        free(to);
        free(before);
    }
    gl_work_copy(NULL, NULL, 0);
}

/* Memory that holds something already, beginning anywhere in a page. */
static void handing_out_changes_no_byte(void **state) {
    (void)state;
    for (size_t k = 0; k < UNIT_COUNT(sizes_about_pieces); k++) {
        size_t size = sizes_about_pieces[k], all = size + 2 * EDGE;
        unsigned char *memory = noise(all, 7), *before = noise(all, 7);
        gl_work_hand_out(memory + EDGE - k % 8, size);
        gl_work_hand_out(memory, all);
        assert_memory_equal(memory, before, all);
        free(memory);
        free(before);
    }
    gl_work_hand_out(NULL, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_thing_has_its_turn_once),
        cmocka_unit_test(each_thing_has_its_turn_whatever_its_size),
        cmocka_unit_test(the_beginning_and_the_end_are_told),
        cmocka_unit_test(whoever_stops_it_at_first_sees_nothing_done),
        cmocka_unit_test(a_copy_has_the_same_bytes_and_no_more),
        cmocka_unit_test(handing_out_changes_no_byte),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
