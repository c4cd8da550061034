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
        cmocka_unit_test(buffer_gathers_all_that_is_added),
        cmocka_unit_test(buffer_failure_sticks_and_keeps_what_was_there),
        cmocka_unit_test(buffer_printf_takes_long_text),
        cmocka_unit_test(array_growth_doubles_and_minds_overflow),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
