/* Unpacking where something stands already: whatever it is, it stays as it was, nothing is written through a
 * link, and nothing is left beside it. */
#include "exchange/support.h"

static int make_bundle(void **state) {
    if (make_folder(state))
        return -1;
    MUST(glassine_bundle_make(in_folder("sorrel.glassine"), "Sorrel Islands", "Wren Alderby", &error));
    return 0;
}

/* Everything below `name`, links as links, with the bytes of files. */
static void look_at(const char *name, gl_buf *out) {
    char command[400], line[1000];
    snprintf(command, sizeof command,
             "cd '%s' && find . -printf '%%p %%y %%l\\n' -type f -exec cat {} \\; | sort",
             in_folder("%s", name));
    FILE *listed = popen(command, "r");
    assert_non_null(listed);
    while (fgets(line, sizeof line, listed))
        gl_buf_printf(out, "%s", line);
    assert_int_equal(pclose(listed), 0);
}

static void what_stands_there_stays(void **state) {
    static const char *const makings[] = {
        "ln -s ../nowhere glassine-sorrel",
        "ln -s ../outside glassine-sorrel",
        "ln -s ../outside/file glassine-sorrel",
        "ln -s glassine-sorrel glassine-sorrel",
        "ln ../outside/file glassine-sorrel",
        "echo mine > glassine-sorrel",
        "mkfifo glassine-sorrel",
        "mkdir glassine-sorrel",
        "mkdir glassine-sorrel && echo mine > glassine-sorrel/bagit.txt",
        "mkdir glassine-sorrel && ln -s ../../outside/file glassine-sorrel/bagit.txt",
    };
    (void)state;
    for (size_t i = 0; i < COUNT(makings); i++) {
        char command[600];
        gl_buf before = GL_BUF_EMPTY, after = GL_BUF_EMPTY;
        snprintf(
            command, sizeof command,
            "mkdir -p '%s' && cd '%s' && mkdir outside into && echo theirs > outside/file && cd into && %s",
            in_folder("%zu", i), in_folder("%zu", i), makings[i]);
        assert_int_equal(system(command), 0);
        const char *name = in_folder("%zu", i);
        look_at(strrchr(name, '/') + 1, &before);
        error = (glassine_error){0};
        glassine_status status =
            glassine_unpack(in_folder("sorrel.glassine"), in_folder("%zu/into", i), NULL, NULL, &error);
        if (status != GLASSINE_REFUSED && status != GLASSINE_SYSTEM)
            fail_msg("where \"%s\": status %d", makings[i], (int)status);
        assert_non_null(strstr(error.place, "glassine-sorrel"));
        look_at(strrchr(name, '/') + 1, &after);
        assert_string_equal(before.text, after.text);
        gl_buf_free(&before);
        gl_buf_free(&after);
    }
}

/* A folder that the user names through a link is the folder that the user means. */
static void the_folder_itself_may_be_a_link(void **state) {
    (void)state;
    char command[600];
    snprintf(command, sizeof command, "cd '%s' && mkdir meant && ln -s meant named", in_folder("."));
    assert_int_equal(system(command), 0);
    MUST(glassine_unpack(in_folder("sorrel.glassine"), in_folder("named"), NULL, NULL, &error));
    struct stat facts;
    assert_int_equal(stat(in_folder("meant/glassine-sorrel/bagit.txt"), &facts), 0);
    assert_int_equal(lstat(in_folder("named"), &facts), 0);
    assert_true(S_ISLNK(facts.st_mode));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_stands_there_stays),
        cmocka_unit_test(the_folder_itself_may_be_a_link),
    };
    return cmocka_run_group_tests(tests, make_bundle, remove_folder);
}
