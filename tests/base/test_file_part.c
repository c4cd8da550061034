/* Files and folders for work in progress: their names, and what becomes of those that a killed process left. */
#include "in_folder.h"

#include <sys/stat.h>

static void a_temporary_name_is_new_and_lies_beside(void **state) {
    (void)state;
    gl_buf name = GL_BUF_EMPTY, other = GL_BUF_EMPTY;
    assert_int_equal(gl_file_temporary_name(in_folder("x.glassine"), &name), 0);
    assert_int_equal(gl_file_temporary_name(in_folder("x.glassine"), &other), 0);
    assert_string_not_equal(name.text, other.text);
    assert_int_equal(strncmp(name.text, in_folder(".x.glassine."), strlen(in_folder(".x.glassine."))), 0);
    assert_string_equal(name.text + name.length - 5, ".part");
    gl_buf_clear(&name);
    assert_int_equal(gl_file_temporary_name("plain", &name), 0);
    assert_int_equal(strncmp(name.text, ".plain.", 7), 0);
    gl_buf_free(&name);
    gl_buf_free(&other);
}

static unsigned names_tried;

static int first_names_exist(const char *path, struct stat *result) {
    return names_tried++ < 3 ? 0 : stat(path, result);
}

static void a_temporary_name_that_exists_is_not_taken(void **state) {
    (void)state;
    gl_buf name = GL_BUF_EMPTY;
    gl_calls calls = *gl_calls_system();
    calls.stat = first_names_exist;
    gl_calls_use(&calls);
    gl_buf_add_text(&name, "kept ");
    assert_int_equal(gl_file_temporary_name("plain", &name), 0);
    gl_calls_use(NULL);
    assert_int_equal(names_tried, 4);
    assert_int_equal(strncmp(name.text, "kept .plain.", 12), 0);
    assert_int_equal(name.length, strlen("kept .plain.XXXXXX.part"));
    gl_buf_free(&name);
}

/* Left by whoever was killed; of another file; in use; and what only looks like one. */
static void what_a_killed_process_left_is_cleared(void **state) {
    (void)state;
    static const char *const gone[] = {".a.glassine.abcdef.part", "..a.glassine.abcdef.part.234567.part"};
    static const char *const kept[] = {".b.glassine.abcdef.part", ".a.glassine.ABCDEF.part",
                                       ".a.glassine.abcde.part", "a.glassine.abcdef.part",
                                       ".a.glassine.abcdef.parts"};
    gl_buf name = GL_BUF_EMPTY, other = GL_BUF_EMPTY;
    int fd, second;
    for (size_t i = 0; i < 2; i++)
        put(gone[i], GL_SPAN("half"));
    for (size_t i = 0; i < 5; i++)
        put(kept[i], GL_SPAN("mine"));
    assert_int_equal(symlink(in_folder(kept[0]), in_folder(".a.glassine.aaaaaa.part")), 0);
    assert_int_equal(mkdir(in_folder(".a.glassine.bbbbbb.part"), 0700), 0);
    assert_int_equal(gl_file_part_new(in_folder("a.glassine"), GL_PART_SHARED, &name, &fd), 0);
    assert_int_equal(gl_file_part_new(in_folder("a.glassine"), GL_PART_PRIVATE, &other, &second), 0);
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(access(in_folder(gone[i]), F_OK), -1);
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(access(in_folder(kept[i]), F_OK), 0);
    assert_int_equal(access(in_folder(".a.glassine.bbbbbb.part"), F_OK), 0);
    assert_int_equal(access(name.text, F_OK), 0); /* its maker is alive */
    gl_file_close(fd);
    gl_buf_clear(&name);
    assert_int_equal(gl_file_part_new(in_folder("a.glassine"), GL_PART_SHARED, &name, &fd), 0);
    assert_int_equal(access(other.text, F_OK), 0);
    gl_file_close(fd);
    gl_file_close(second);
    gl_buf_free(&name);
    gl_buf_free(&other);
    rmdir(in_folder(".a.glassine.bbbbbb.part"));
}

/* A folder goes with its file, with all that is in it: links as links, never what they lead to. */
static void what_a_killed_process_worked_in_is_cleared(void **state) {
    (void)state;
    gl_part_folder first, second;
    char command[300];
    put("theirs", GL_SPAN("theirs"));
    assert_int_equal(gl_part_folder_new(in_folder("b.glassine"), &first), 0);
    snprintf(
        command, sizeof command,
        "cd '%s' && mkdir -p in/to/it && echo x >in/to/it/x && ln -s ../../theirs in/to && ln -s ../.. up",
        first.path.text);
    assert_int_equal(system(command), 0);
    assert_int_equal(gl_part_folder_new(in_folder("b.glassine"), &second), 0);
    assert_int_equal(access(first.path.text, F_OK), 0); /* its maker is alive */
    gl_part_folder_end(&second);
    assert_int_equal(gl_file_close(first.fd), 0);
    assert_int_equal(gl_part_folder_new(in_folder("b.glassine"), &second), 0);
    assert_int_equal(access(first.path.text, F_OK), -1);
    assert_int_equal(access(first.lock.text, F_OK), -1);
    assert_int_equal(access(in_folder("theirs"), F_OK), 0);
    snprintf(command, sizeof command, "%s", second.path.text);
    gl_part_folder_end(&second);
    assert_int_equal(access(command, F_OK), -1);
    gl_buf_free(&first.path);
    gl_buf_free(&first.lock);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        FILE_TEST(a_temporary_name_is_new_and_lies_beside),
        cmocka_unit_test(a_temporary_name_that_exists_is_not_taken),
        FILE_TEST(what_a_killed_process_left_is_cleared),
        FILE_TEST(what_a_killed_process_worked_in_is_cleared),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
