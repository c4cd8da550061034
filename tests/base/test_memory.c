/* Arena, buffer, array growth. */
#include "unit.h"

#include <stdlib.h>

#include "base/arena.h"
#include "base/buf.h"

static void arena_hands_out_aligned_places_that_do_not_touch(void **state) {
    (void)state;
    enum { COUNT = 3000 };
    static unsigned char *places[COUNT];
    static size_t sizes[COUNT];
    unit_random random = {4};
    gl_arena *arena = gl_arena_new();
    for (size_t i = 0; i < COUNT; i++) {
        sizes[i] = unit_below(&random, i % 100 == 0 ? 50000 : 60);
        places[i] = gl_arena_array(arena, sizes[i], 1);
        assert_non_null(places[i]);
        assert_int_equal((uintptr_t)places[i] % GL_ARENA_UNIT, 0);
        memset(places[i], (int)(i & 0xFF), sizes[i]);
    }
    for (size_t i = 0; i < COUNT; i++)
        for (size_t j = 0; j < sizes[i]; j++)
            assert_int_equal(places[i][j], i & 0xFF);
    gl_arena_free(arena);
}

static void arena_refuses_what_does_not_fit_size_t(void **state) {
    (void)state;
    gl_arena *arena = gl_arena_new();
    assert_false(gl_arena_failed(arena));
    assert_null(gl_arena_array(arena, SIZE_MAX, 2));
    assert_true(gl_arena_failed(arena));
    assert_null(gl_arena_array(arena, SIZE_MAX / 2, 3));
    assert_null(gl_arena_array(arena, SIZE_MAX, 1));
    assert_null(gl_arena_array(arena, 1, SIZE_MAX - 3));
    assert_null(gl_arena_copy(arena, (gl_span){"", SIZE_MAX}).text);
    assert_non_null(gl_arena_array(arena, SIZE_MAX, 0));
    assert_non_null(gl_arena_array(arena, 10, 10));
    gl_arena_free(arena);
}

static void arena_copy_ends_with_nul(void **state) {
    (void)state;
    gl_arena *arena = gl_arena_new();
    gl_span copy = gl_arena_copy(arena, (gl_span){"kingfisher", 4});
    assert_int_equal(copy.length, 4);
    assert_string_equal(copy.text, "king");
    assert_string_equal(gl_arena_copy(arena, GL_NO_SPAN).text, "");
    gl_arena_free(arena);
}

/* Of so many bytes or more the memory is asked for at once (arena.c). */
enum { RESERVED_FROM = 1 << 20 };

/* Takes all that was reserved, in parts of `part` bytes, beside what was there before and what comes after. */
static void take_in_parts(size_t size, size_t part) {
    gl_arena *arena = gl_arena_new();
    unsigned char *before = gl_arena_array(arena, 1000, 1), *after;
    memset(before, 0xAA, 1000);
    assert_true(gl_arena_reserve(arena, size));
    unsigned char *first = gl_arena_array(arena, part, 1);
    assert_non_null(first);
    memset(first, 0, part);
    for (size_t i = 1; i < size / part; i++) {
        unsigned char *next = gl_arena_array(arena, part, 1);
        assert_ptr_equal(next, first + i * part);
        memset(next, (int)(i & 0xFF), part);
    }
    after = gl_arena_array(arena, 1000, 1);
    memset(after, 0xBB, 1000);
    for (size_t i = 0; i < 1000; i++) {
        assert_int_equal(before[i], 0xAA);
        assert_int_equal(after[i], 0xBB);
    }
    for (size_t i = 0; i < size / part; i++) {
        assert_int_equal(first[i * part], i & 0xFF);
        assert_int_equal(first[(i + 1) * part - 1], i & 0xFF);
    }
    assert_false(gl_arena_failed(arena));
    gl_arena_free(arena);
}

static void what_was_reserved_lies_in_one_piece(void **state) {
    static const size_t sizes[] = {RESERVED_FROM, RESERVED_FROM + GL_ARENA_UNIT, 3 * RESERVED_FROM,
                                   5 * RESERVED_FROM + 4096};
    static const size_t parts[] = {GL_ARENA_UNIT, 48, 4096, 300000 / GL_ARENA_UNIT * GL_ARENA_UNIT};
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(sizes); i++)
        for (size_t k = 0; k < UNIT_COUNT(parts); k++)
            take_in_parts(sizes[i], parts[k]);
}

/* Too little to ask for, more than is taken, less than is taken, and one after the other. */
static void reserving_is_never_wrong(void **state) {
    enum { COUNT = 600 };
    static const size_t sizes[] = {0, 1, 5000, RESERVED_FROM - 1, RESERVED_FROM, 2 * RESERVED_FROM};
    static unsigned char *places[COUNT];
    static size_t lengths[COUNT];
    (void)state;
    unit_random random = {8};
    gl_arena *arena = gl_arena_new();
    for (size_t i = 0; i < COUNT; i++) {
        if (i % 20 == 0)
            assert_true(gl_arena_reserve(arena, sizes[unit_below(&random, UNIT_COUNT(sizes))]));
        lengths[i] = unit_below(&random, i % 50 == 0 ? RESERVED_FROM + 5000 : 900);
        places[i] = gl_arena_array(arena, lengths[i], 1);
        assert_non_null(places[i]);
        assert_int_equal((uintptr_t)places[i] % GL_ARENA_UNIT, 0);
        memset(places[i], (int)(i & 0xFF), lengths[i]);
    }
    for (size_t i = 0; i < COUNT; i++)
        for (size_t j = 0; j < lengths[i]; j++)
            if (places[i][j] != (i & 0xFF))
                fail_msg("place %zu, byte %zu: %d", i, j, places[i][j]);
    assert_false(gl_arena_failed(arena));
    gl_arena_free(arena);
}

static void more_than_there_is_is_not_reserved(void **state) {
    (void)state;
    gl_arena *arena = gl_arena_new();
    char *before = gl_arena_array(arena, 10, 1);
    memset(before, 'b', 10);
    assert_false(gl_arena_reserve(arena, SIZE_MAX));
    assert_true(gl_arena_failed(arena));
    char *after = gl_arena_array(arena, 10, 1);
    assert_non_null(after);
    memset(after, 'a', 10);
    assert_memory_equal(before, "bbbbbbbbbb", 10);
    gl_arena_free(arena);
}

static void buffer_gathers_all_that_is_added(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    char expected[40001];
    for (size_t i = 0; i < 10000; i++) {
        memcpy(expected + 4 * i, "abcd", 5);
        gl_buf_add_char(&buf, 'a');
        gl_buf_add_text(&buf, "b");
        gl_buf_add(&buf, GL_SPAN("c"));
        gl_buf_printf(&buf, "%s", "d");
    }
    assert_false(buf.failed);
    assert_int_equal(buf.length, 40000);
    assert_string_equal(buf.text, expected);
    size_t room = buf.room;
    gl_buf_clear(&buf);
    assert_int_equal(buf.length, 0);
    assert_int_equal(buf.room, room);
    assert_string_equal(buf.text, "");
    gl_buf_free(&buf);
    assert_null(buf.text);
    assert_string_equal(gl_buf_span(&buf).text, "");
}

static void buffer_failure_sticks_and_keeps_what_was_there(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    gl_buf_add_text(&buf, "kept");
    assert_false(gl_buf_reserve(&buf, SIZE_MAX - 2));
    assert_true(buf.failed);
    gl_buf_add_text(&buf, "not added");
    assert_true(buf.failed);
    assert_string_equal(buf.text, "kept");
    gl_buf_free(&buf);
}

static void buffer_printf_takes_long_text(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    gl_buf_printf(&buf, "%5000d|%s", 7, "end");
    assert_int_equal(buf.length, 5004);
    assert_string_equal(buf.text + 4999, "7|end");
    gl_buf_free(&buf);
}

static void array_growth_doubles_and_minds_overflow(void **state) {
    (void)state;
    size_t room = 0, moves = 0;
    uint64_t *array = NULL;
    for (size_t i = 0; i < 100000; i++) {
        size_t before = room;
        uint64_t *grown = gl_grow(array, &room, i + 1, sizeof *array);
        assert_non_null(grown);
        assert_true(room > i);
        moves += room != before;
        array = grown;
        array[i] = i;
    }
    assert_true(moves < 20);
    size_t kept = room;
    assert_null(gl_grow(array, &room, SIZE_MAX / 4, sizeof *array));
    assert_int_equal(room, kept);
    assert_int_equal(array[99999], 99999);
    free(array);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(arena_hands_out_aligned_places_that_do_not_touch),
        cmocka_unit_test(arena_refuses_what_does_not_fit_size_t),
        cmocka_unit_test(arena_copy_ends_with_nul),
        cmocka_unit_test(what_was_reserved_lies_in_one_piece),
        cmocka_unit_test(reserving_is_never_wrong),
        cmocka_unit_test(more_than_there_is_is_not_reserved),
        cmocka_unit_test(buffer_gathers_all_that_is_added),
        cmocka_unit_test(buffer_failure_sticks_and_keeps_what_was_there),
        cmocka_unit_test(buffer_printf_takes_long_text),
        cmocka_unit_test(array_growth_doubles_and_minds_overflow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
