#include "unit.h"

#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"

static void check_line(const glassine_error *error, const char *expected) {
    char line[2048];
    glassine_error_line(error, line, sizeof line);
    assert_string_equal(line, expected);
}

static void a_line_says_place_what_rule_and_remedy(void **state) {
    (void)state;
    glassine_error error;
    assert_int_equal(
        gl_fail(&error, GLASSINE_REFUSED, "R201", "positions \"131\"", "plate %d has %d positions", 1, 120),
        GLASSINE_REFUSED);
    check_line(&error, "positions \"131\": plate 1 has 120 positions (R201)");
    gl_error_within(&error, "answer 3");
    gl_error_within(&error, "reply.json");
    check_line(&error, "reply.json: answer 3: positions \"131\": plate 1 has 120 positions (R201)");
    gl_error_remedy(&error, "Name a position from 1 to %d", 120);
    check_line(&error, "reply.json: answer 3: positions \"131\": plate 1 has 120 positions (R201). "
                       "Name a position from 1 to 120");
}

static void parts_that_are_not_there_leave_no_trace(void **state) {
    (void)state;
    glassine_error error;
    gl_fail(&error, GLASSINE_REFUSED, NULL, NULL, "no");
    check_line(&error, "no");
    gl_error_within(&error, "here");
    check_line(&error, "here: no");
    gl_fail(&error, GLASSINE_REFUSED, "C001", NULL, "again"); /* nothing is left of the last one */
    check_line(&error, "again (C001)");
    assert_int_equal(gl_fail_memory(&error), GLASSINE_SYSTEM);
    assert_int_equal(error.status, GLASSINE_SYSTEM);
}

/* The texts are those of POSIX.1-2008's <errno.h>, as the C library has them. */
static void a_system_error_says_its_reason(void **state) {
    (void)state;
    glassine_error error;
    assert_int_equal(gl_fail_system(&error, ENOSPC, "a.glassine", "cannot write %s", "the edition"),
                     GLASSINE_SYSTEM);
    check_line(&error, "a.glassine: cannot write the edition: No space left on device");
    gl_fail_system(&error, 99999, NULL, "cannot");
    check_line(&error, "cannot: unknown system error");
}

/* A name that leads nowhere is the asker's to mend, a full disk is not. */
static void a_wrong_name_is_refused(void **state) {
    (void)state;
    static const int names[] = {ENOENT, ENOTDIR, EISDIR, EEXIST, ELOOP, ENAMETOOLONG};
    static const int system[] = {ENOSPC, EACCES, EIO, EROFS, ENOMEM, EDQUOT};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        assert_int_equal(gl_fail_system(NULL, names[i], "x", "y"), GLASSINE_REFUSED);
        assert_int_equal(gl_fail_system(NULL, system[i], "x", "y"), GLASSINE_SYSTEM);
        assert_int_equal(gl_fail_making(NULL, system[i], "x", "y"), GLASSINE_SYSTEM);
    }
    assert_int_equal(gl_fail_making(NULL, ENOENT, "x", "y"), GLASSINE_SYSTEM); /* the folder is gone */
    assert_int_equal(gl_fail_making(NULL, EEXIST, "x", "y"), GLASSINE_REFUSED);
}

static void nobody_need_listen(void **state) {
    (void)state;
    assert_int_equal(gl_fail(NULL, GLASSINE_REFUSED, "C001", "x", "y"), GLASSINE_REFUSED);
    assert_int_equal(gl_fail_system(NULL, EIO, "x", "y"), GLASSINE_SYSTEM);
    assert_int_equal(gl_fail_memory(NULL), GLASSINE_SYSTEM);
    gl_error_within(NULL, "x");
    gl_error_remedy(NULL, "x");
}

static void nothing_unfit_for_a_terminal_gets_through(void **state) {
    (void)state;
    glassine_error error;
    gl_fail(&error, GLASSINE_REFUSED, NULL, "a\x1b[2J\n.zip", "name \"%s\"", "x\xff\xe2\x80\xaey\x9b");
    check_line(&error, "a\\u{1b}[2J\\n.zip: name \"x\\x{ff}\\u{202e}y\\x{9b}\"");
}

/* Text of every length around the room there is: never a torn character, always an end. */
static void what_is_too_long_is_cut_at_a_character(void **state) {
    (void)state;
    const char *pieces[] = {"a", "\xc3\xa9", "\xe2\x82\xac", "\xf0\x9f\x90\xa6", "\x1b"};
    for (size_t p = 0; p < UNIT_COUNT(pieces); p++) {
        for (size_t shift = 0; shift < 5; shift++) {
            char text[4096] = "";
            glassine_error error;
            memset(text, 'x', shift);
            while (strlen(text) + 8 < sizeof text)
                strcat(text, pieces[p]);
            gl_fail(&error, GLASSINE_REFUSED, "C001", text, "%s", text);
            gl_error_remedy(&error, "%s", text);
            gl_error_within(&error, text);
            const char *parts[] = {error.place, error.message, error.remedy};
            const size_t sizes[] = {sizeof error.place, sizeof error.message, sizeof error.remedy};
            for (size_t i = 0; i < UNIT_COUNT(parts); i++) {
                gl_span part = gl_span_of(parts[i]);
                assert_int_equal(gl_utf8_check(part), part.length);
                assert_true(part.length + 6 >= sizes[i] - 1);
                assert_true(!strchr(parts[i], '\\') || pieces[p][0] == 0x1b);
            }
            for (size_t size = 0; size < 40; size++) {
                char *line = malloc(size + 1);
                assert_non_null(line);
                line[size] = '#';
                glassine_error_line(&error, line, size);
                assert_int_equal(line[size], '#');
                if (size)
                    assert_int_equal(gl_utf8_check(gl_span_of(line)), strlen(line));
                free(line);
            }
        }
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_says_place_what_rule_and_remedy),
        cmocka_unit_test(parts_that_are_not_there_leave_no_trace),
        cmocka_unit_test(a_system_error_says_its_reason),
        cmocka_unit_test(a_wrong_name_is_refused),
        cmocka_unit_test(nobody_need_listen),
        cmocka_unit_test(nothing_unfit_for_a_terminal_gets_through),
        cmocka_unit_test(what_is_too_long_is_cut_at_a_character),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
