/* Libraries that are loaded when they are needed. libtiff stands for them; there is nothing to try in a build that
 * links it. */
#include "base/late.h"
#include "base/work.h"
#include "unit.h"

enum { ASKING = 64, CALLS = 2 };

#ifdef GLASSINE_LATE
static const bool may_try = true;
#else
static const bool may_try = false;
#define GLASSINE_LATE_TIFF "no library"
#endif

typedef struct two_calls {
    const char *(*version)(void);
    void (*other)(void);
} two_calls;

static gl_late late_of(const char *file, const char *const names[CALLS], two_calls *calls) {
    return (gl_late){
        .file = file, .without = "that cannot be done", .names = names, .count = CALLS, .calls = calls};
}

static const char *const good_names[CALLS] = {"TIFFGetVersion", "TIFFClose"};

static void a_library_is_there_with_its_functions(void **state) {
    (void)state;
    two_calls calls = {NULL, NULL};
    glassine_error error;
    if (!may_try)
        skip();
    gl_late late = late_of(GLASSINE_LATE_TIFF, good_names, &calls);
    assert_int_equal(gl_late_load(&late, &error), GLASSINE_OK);
    assert_true(late.there);
    assert_non_null(calls.other);
    assert_non_null(strstr(calls.version(), "LIBTIFF"));
    assert_int_equal(gl_late_load(&late, NULL), GLASSINE_OK);
}

/* Every time it is asked; and then where it is there after all. */
static void a_library_that_is_not_there_is_told_in_a_line(void **state) {
    (void)state;
    two_calls calls = {NULL, NULL};
    gl_late late = late_of("libsorrel.so.1", good_names, &calls);
    for (int round = 0; round < 2; round++) {
        glassine_error error;
        char line[512];
        assert_int_equal(gl_late_load(&late, &error), GLASSINE_SYSTEM);
        glassine_error_line(&error, line, sizeof line);
        static const char begins[] = "that cannot be done: the library libsorrel.so.1 cannot be loaded (";
        assert_memory_equal(line, begins, sizeof begins - 1);
        assert_string_equal(error.remedy, "Install that library");
        assert_int_equal(gl_late_load(&late, NULL), GLASSINE_SYSTEM);
        assert_false(late.there);
        assert_null(calls.version);
    }
    if (!may_try)
        return;
    late.file = GLASSINE_LATE_TIFF;
    assert_int_equal(gl_late_load(&late, NULL), GLASSINE_OK);
    assert_true(late.there);
}

/* None of it is used then, wherever in the list it stands. */
static void a_function_that_it_lacks_is_named(void **state) {
    static const char *const names[][CALLS] = {{"TIFFClose", "TIFFOpenSorrel"},
                                               {"TIFFOpenSorrel", "TIFFClose"}};
    (void)state;
    if (!may_try)
        skip();
    for (size_t i = 0; i < UNIT_COUNT(names); i++) {
        two_calls calls = {NULL, NULL};
        glassine_error error;
        gl_late late = late_of(GLASSINE_LATE_TIFF, names[i], &calls);
        assert_int_equal(gl_late_load(&late, &error), GLASSINE_SYSTEM);
        assert_int_equal(error.status, GLASSINE_SYSTEM);
        assert_string_equal(error.message, "that cannot be done: the library " GLASSINE_LATE_TIFF
                                           " is here without TIFFOpenSorrel");
        assert_false(late.there);
    }
}

typedef struct asked {
    gl_late late;
    two_calls calls;
    glassine_status status[ASKING];
    const char *version[ASKING];
} asked;

static void ask(void *context, size_t index) {
    asked *it = context;
    it->status[index] = gl_late_load(&it->late, NULL);
    it->version[index] = it->status[index] ? NULL : it->calls.version();
}

static void many_may_ask_at_once(void **state) {
    (void)state;
    asked it = {.calls = {NULL, NULL}};
    if (!may_try)
        skip();
    it.late = late_of(GLASSINE_LATE_TIFF, good_names, &it.calls);
    gl_work(ASKING, ask, &it);
    for (size_t i = 0; i < ASKING; i++) {
        assert_int_equal(it.status[i], GLASSINE_OK);
        assert_ptr_equal(it.version[i], it.version[0]);
    }
}

#define NAMED(X) X(strlen) X(strcmp)
GL_LATE(named, NAMED, GLASSINE_LATE_TIFF, "nothing can be compared");

/* Each function has its place in the order in which they are named; where it is linked, it is there at once. */
static void a_list_of_names_makes_the_calls(void **state) {
    (void)state;
#ifdef GLASSINE_LATE
    assert_int_equal(named_late.count, 2);
    assert_string_equal(named_late.names[0], "strlen");
    assert_string_equal(named_late.names[1], "strcmp");
    assert_false(named_late.there);
    assert_int_equal(sizeof named, named_late.count * sizeof(void *));
    assert_int_equal(gl_late_load(&named_late, NULL), GLASSINE_OK); /* it sees those of what it needs */
#else
    assert_int_equal(gl_late_load(&named_late, NULL), GLASSINE_OK);
#endif
    assert_int_equal(named.strlen("Sorrel"), 6);
    assert_int_equal(named.strcmp("Sorrel", "Sorrel"), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_library_is_there_with_its_functions),
        cmocka_unit_test(a_library_that_is_not_there_is_told_in_a_line),
        cmocka_unit_test(a_function_that_it_lacks_is_named),
        cmocka_unit_test(many_may_ask_at_once),
        cmocka_unit_test(a_list_of_names_makes_the_calls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
