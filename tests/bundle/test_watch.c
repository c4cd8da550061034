/* Who looks on while a bundle is opened is told how far it is, and may stop it. */
#include "bundle/made.h"

#define FILE_OF_THE_KIT TESTVECTORS "/valid/grown.glassine"

typedef struct looking {
    const char *doing, *unit;
    uint64_t done, total;
    bool go_on;
} looking;

static bool look(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    looking *it = context;
    assert_true(done <= total);
    it->doing = doing;
    it->unit = unit;
    it->done = done;
    it->total = total;
    return it->go_on;
}

static glassine_status open_watched(const char *path, looking *it, glassine_error *error) {
    const glassine_watch watch = {look, it};
    const glassine_options options = {.watch = &watch};
    glassine_bundle *bundle;
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, &options, &bundle, error);
    glassine_bundle_close(bundle);
    return status;
}

/* However short it is: what is told last is that all is done. */
static void the_whole_log_is_told_of(void **state) {
    (void)state;
    const char *const paths[] = {FILE_OF_THE_KIT, FILE_OF_THE_KIT "#1"};
    for (size_t i = 0; i < 2; i++) {
        looking it = {.go_on = true};
        assert_int_equal(open_watched(paths[i], &it, NULL), GLASSINE_OK);
        assert_string_equal(it.doing, "opening");
        assert_null(it.unit); /* bytes */
        assert_true(it.total > 0);
        assert_true(it.done == it.total);
    }
}

static void whoever_looks_on_may_stop_it(void **state) {
    (void)state;
    looking it = {.go_on = false};
    glassine_error error = {0};
    assert_int_equal(open_watched(FILE_OF_THE_KIT, &it, &error), GLASSINE_SYSTEM);
    assert_string_equal(error.message, "stopped; nothing was changed");
}

static void what_is_counted_is_told_beside_what_is_done(void **state) {
    (void)state;
    looking it = {.go_on = true};
    const glassine_watch watch = {look, &it};
    glassine_bundle *bundle = made_bundle();
    bundle->watch = &watch;
    assert_int_equal(glassine_bundle_tell(bundle, "merging", "files", 1, 3, NULL), GLASSINE_OK);
    assert_string_equal(it.doing, "merging");
    assert_string_equal(it.unit, "files");
    assert_true(it.done == 1 && it.total == 3);
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_whole_log_is_told_of),
        cmocka_unit_test(whoever_looks_on_may_stop_it),
        cmocka_unit_test(what_is_counted_is_told_beside_what_is_done),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
