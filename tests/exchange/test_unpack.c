/* Unpacking where something stands already: whatever it is, it stays as it was, nothing is written through a
 * link, and nothing is left beside it. */
#include "exchange/support.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <sys/wait.h>

#include "base/calls.h"

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

/* ------------------------------------------------------------------------------- killed in the middle */

static atomic_uint calls_left;

static void die_in_time(void) {
    if (atomic_fetch_sub(&calls_left, 1) == 0)
        _exit(9); /* the other threads go with it, in the middle of what they do */
}

static int open_or_die(const char *path, int flags, mode_t mode) {
    die_in_time();
    return open(path, flags, mode);
}

static ssize_t pwrite_or_die(int fd, const void *bytes, size_t length, off_t at) {
    die_in_time();
    return pwrite(fd, bytes, length, at);
}

static int mkdir_or_die(const char *path, mode_t mode) {
    die_in_time();
    return mkdir(path, mode);
}

static int rename_or_die(const char *from, const char *to) {
    die_in_time();
    return rename(from, to);
}

static int unlink_or_die(const char *path) {
    die_in_time();
    return unlink(path);
}

/* Unpacks in a process that is killed at a call; false where it came to an end before. */
static bool unpack_and_die(const char *bundle, const char *into, unsigned call) {
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        gl_calls calls = *gl_calls_system();
        calls.open = open_or_die;
        calls.pwrite = pwrite_or_die;
        calls.mkdir = mkdir_or_die;
        calls.rename = rename_or_die;
        calls.unlink = unlink_or_die;
        atomic_store(&calls_left, call);
        gl_calls_use(&calls);
        _exit(glassine_unpack(bundle, into, NULL, NULL, NULL) == GLASSINE_OK ? 0 : 1);
    }
    int how;
    assert_int_equal(waitpid(child, &how, 0), child);
    assert_true(WIFEXITED(how) && (WEXITSTATUS(how) == 0 || WEXITSTATUS(how) == 9));
    return WEXITSTATUS(how) == 9;
}

/* How many names there are in a folder but those of the bundles unpacked there. */
static size_t names_besides(const char *into) {
    DIR *list = opendir(into);
    size_t count = 0;
    assert_non_null(list);
    for (const struct dirent *entry; (entry = readdir(list));)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0 &&
                 strcmp(entry->d_name, "glassine-sorrel") != 0;
    closedir(list);
    return count;
}

/* It goes through, and leaves nothing else; was there something else before? */
static bool unpack_again(const char *bundle, const char *into) {
    char command[300];
    bool there = access(into, F_OK) == 0, left = there && names_besides(into);
    error = (glassine_error){0};
    glassine_status status = glassine_unpack(bundle, into, NULL, NULL, &error);
    if (status == GLASSINE_REFUSED)
        assert_string_equal(error.message, "it is there already");
    else if (status)
        fail_msg("%s (%s)", error.message, error.place);
    else
        assert_int_equal(names_besides(into), 0);
    snprintf(command, sizeof command, "rm -r '%s'", into);
    assert_int_equal(system(command), 0);
    return left;
}

/* Wherever a process is killed, the next one clears away what it left: folders too, with what is in them. The
 * first edition of a bundle of two is written out before it is unpacked. */
static void the_next_run_clears_away(void **state) {
    (void)state;
    const char *path = in_folder("sorrel.glassine");
    saying_session session = begin_saying(path, NULL);
    glassine_record *record;
    MUST(glassine_draft_enter(session.draft, "item", (glassine_assignment[]){{"label", "H-1", NULL}}, 1, NULL,
                              &record, &error));
    end_saying(&session);
    static const char *const editions[] = {"sorrel.glassine", "sorrel.glassine#1"};
    for (size_t i = 0; i < COUNT(editions); i++) {
        unsigned call = 0, left = 0;
        for (bool killed = true; killed; call++) {
            killed = unpack_and_die(in_folder("%s", editions[i]), in_folder("killed"), call);
            left += unpack_again(in_folder("%s", editions[i]), in_folder("killed"));
        }
        assert_true(call > 20 && left > 10); /* something was left now and then */
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_stands_there_stays),
        cmocka_unit_test(the_folder_itself_may_be_a_link),
        cmocka_unit_test(the_next_run_clears_away),
    };
    return cmocka_run_group_tests(tests, make_bundle, remove_folder);
}
