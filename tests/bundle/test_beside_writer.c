/* Opened while somebody else cuts off what a killed save left. */
#include <fcntl.h>
#include <unistd.h>

#include "base/calls.h"
#include "base/file.h"
#include "bundle/made.h"
#include "folder.h"

#define OF_THE_KIT TESTVECTORS "/valid/grown.glassine"

static gl_calls calls;
static char path[160];
static uint64_t whole;   /* the file's length without what was left */
static unsigned changes; /* still to come */

/* While it is read the file is cut, and grows again while it is read once more. */
static ssize_t pread_of_another_file(int fd, void *bytes, size_t length, off_t offset) {
    if (changes > 0) {
        int other = open(path, O_WRONLY);
        assert_true(other >= 0);
        assert_int_equal(gl_file_truncate(other, whole + (changes-- > 1 ? 0 : 4096)), 0);
        assert_int_equal(close(other), 0);
    }
    return pread(fd, bytes, length, offset);
}

static void leave_a_tail(void) {
    glassine_bundle *bundle;
    assert_int_equal(glassine_bundle_open(OF_THE_KIT, GLASSINE_READ, NULL, &bundle, NULL), GLASSINE_OK);
    uint64_t size;
    assert_int_equal(gl_file_size(bundle->fd, &size), 0);
    whole = size;
    gl_buf bytes = GL_BUF_EMPTY;
    assert_true(gl_buf_reserve(&bytes, (size_t)size));
    assert_int_equal(gl_file_read_at(bundle->fd, bytes.text, (size_t)size, 0), 0);
    glassine_bundle_close(bundle);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes.text, 1, (size_t)size, file), size);
    for (unsigned i = 0; i < 300000; i++)
        assert_int_equal(fputc((int)(i % 251), file), i % 251);
    assert_int_equal(fclose(file), 0);
    gl_buf_free(&bytes);
}

static void the_tail_may_go_while_the_directory_is_looked_for(void **state) {
    (void)state;
    snprintf(path, sizeof path, "%s/beside.glassine", folder);
    leave_a_tail();
    calls = *gl_calls_system();
    calls.pread = pread_of_another_file;
    changes = 2;
    gl_calls_use(&calls);
    glassine_bundle *bundle;
    glassine_error error = {0};
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error);
    gl_calls_use(NULL);
    if (status)
        fail_msg("%s: %s", error.place, error.message);
    assert_int_equal(changes, 0);
    glassine_bundle_close(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_tail_may_go_while_the_directory_is_looked_for)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
