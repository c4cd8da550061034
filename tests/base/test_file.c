/* The file layer on a real folder, on calls that do less than they are asked, and on calls that fail. */
#include "in_folder.h"

#include <errno.h>
#include <fcntl.h>

/* Bytes that differ from place to place. */
static gl_span pattern(gl_buf *buf, size_t length) {
    unit_random random = {13};
    for (size_t i = 0; i < length; i++)
        gl_buf_add_char(buf, (char)unit_next(&random));
    return gl_buf_span(buf);
}

/* -------------------------------------------------------------------------------------- calls that lag */

/* Every transfer is short, and every other call of any kind is interrupted first. */
static unsigned interruptions;

static bool is_interrupted(void) {
    if (++interruptions % 2) {
        errno = EINTR;
        return true;
    }
    return false;
}

static size_t shortened(size_t length) {
    return length > 3 ? 1 + interruptions % 3 : length;
}

static int lag_open(const char *path, int flags, mode_t mode) {
    return is_interrupted() ? -1 : gl_calls_system()->open(path, flags, mode);
}
static ssize_t lag_read(int fd, void *bytes, size_t length) {
    return is_interrupted() ? -1 : read(fd, bytes, shortened(length));
}
static ssize_t lag_pread(int fd, void *bytes, size_t length, off_t offset) {
    return is_interrupted() ? -1 : pread(fd, bytes, shortened(length), offset);
}
static ssize_t lag_pwrite(int fd, const void *bytes, size_t length, off_t offset) {
    return is_interrupted() ? -1 : pwrite(fd, bytes, shortened(length), offset);
}
static int lag_ftruncate(int fd, off_t size) {
    return is_interrupted() ? -1 : ftruncate(fd, size);
}
static int lag_fdatasync(int fd) {
    return is_interrupted() ? -1 : fdatasync(fd);
}
static int lag_fsync(int fd) {
    return is_interrupted() ? -1 : fsync(fd);
}
static ssize_t lag_copy(int from, off_t from_offset, int to, off_t to_offset, size_t length) {
    return is_interrupted()
               ? -1
               : gl_calls_system()->copy_file_range(from, from_offset, to, to_offset, shortened(length));
}
static int lag_flock(int fd) {
    return is_interrupted() ? -1 : gl_calls_system()->flock(fd);
}

static gl_calls lagging_calls(void) {
    gl_calls calls = *gl_calls_system();
    calls.open = lag_open;
    calls.read = lag_read;
    calls.pread = lag_pread;
    calls.pwrite = lag_pwrite;
    calls.ftruncate = lag_ftruncate;
    calls.fdatasync = lag_fdatasync;
    calls.fsync = lag_fsync;
    calls.copy_file_range = lag_copy;
    calls.flock = lag_flock;
    return calls;
}

static void exercise(gl_span content) {
    char back[1000];
    int fd, other;
    uint64_t size;
    assert_true(content.length <= sizeof back);
    assert_int_equal(gl_file_open_write(in_folder("a"), true, &fd), 0);
    assert_int_equal(gl_file_lock(fd, 0), 0);
    assert_int_equal(gl_file_write_at(fd, content.text, content.length, 100), 0);
    assert_int_equal(gl_file_size(fd, &size), 0);
    assert_int_equal(size, 100 + content.length);
    assert_int_equal(gl_file_read_at(fd, back, content.length, 100), 0);
    assert_memory_equal(back, content.text, content.length);
    assert_int_equal(gl_file_sync_data(fd), 0);
    assert_int_equal(gl_file_sync(fd), 0);
    gl_file_start_writing(fd, 0, size);
    assert_int_equal(gl_file_open_write(in_folder("b"), true, &other), 0);
    assert_int_equal(gl_file_copy_range(fd, 100, other, 7, content.length), 0);
    assert_int_equal(gl_file_read_at(other, back, content.length, 7), 0);
    assert_memory_equal(back, content.text, content.length);
    assert_int_equal(gl_file_truncate(other, 7), 0);
    assert_int_equal(gl_file_size(other, &size), 0);
    assert_int_equal(size, 7);
    assert_int_equal(gl_file_close(other), 0);
    assert_int_equal(gl_file_close(fd), 0);
    put("b", content);
    check_content("b", content);
    assert_int_equal(gl_file_remove(in_folder("a")), 0);
    assert_int_equal(gl_file_remove(in_folder("b")), 0);
    assert_int_equal(files_in_folder(), 0);
}

static void all_is_moved_whole(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    exercise(pattern(&buf, 997));
    gl_buf_free(&buf);
}

static void all_is_moved_by_short_and_interrupted_calls_too(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    gl_calls calls = lagging_calls();
    gl_calls_use(&calls);
    exercise(pattern(&buf, 997));
    gl_calls_use(NULL);
    gl_buf_free(&buf);
}

/* ---------------------------------------------------------------------------------------- plain refusals */

static void reading_past_the_end_is_told(void **state) {
    (void)state;
    char back[10];
    int fd;
    put("a", GL_SPAN("12345"));
    assert_int_equal(gl_file_open_read(in_folder("a"), &fd), 0);
    assert_int_equal(gl_file_read_at(fd, back, 5, 0), 0);
    assert_int_equal(gl_file_read_at(fd, back, 6, 0), ENODATA);
    assert_int_equal(gl_file_read_at(fd, back, 1, 5), ENODATA);
    assert_int_equal(gl_file_read_at(fd, back, 0, 5), 0);
    assert_int_equal(gl_file_close(fd), 0);
}

static void offsets_that_do_not_fit_are_refused(void **state) {
    (void)state;
    char byte = 'x';
    int fd;
    put("a", GL_SPAN("12345"));
    assert_int_equal(gl_file_open_write(in_folder("a"), false, &fd), 0);
    assert_int_equal(gl_file_read_at(fd, &byte, 1, UINT64_MAX), EFBIG);
    assert_int_equal(gl_file_read_at(fd, &byte, 1, INT64_MAX), EFBIG);
    assert_int_equal(gl_file_write_at(fd, &byte, 1, INT64_MAX), EFBIG);
    assert_int_equal(gl_file_truncate(fd, UINT64_MAX), EFBIG);
    assert_int_equal(gl_file_copy_range(fd, 0, fd, UINT64_MAX - 1, 10), EFBIG);
    assert_int_equal(gl_file_close(fd), 0);
    check_content("a", GL_SPAN("12345"));
}

static void what_is_no_plain_file_has_no_size(void **state) {
    (void)state;
    int fd, ends[2];
    uint64_t size;
    assert_int_equal(gl_file_open_read(folder, &fd), 0);
    assert_int_equal(gl_file_size(fd, &size), EISDIR);
    assert_int_equal(gl_file_close(fd), 0);
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(gl_file_size(ends[0], &size), ESPIPE);
    close(ends[0]);
    close(ends[1]);
    gl_buf content = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(folder, 100, &content), EISDIR);
    gl_buf_free(&content);
}

static void a_new_file_takes_nobodys_place(void **state) {
    (void)state;
    int fd;
    put("a", GL_SPAN("old"));
    assert_int_equal(gl_file_open_write(in_folder("a"), true, &fd), EEXIST);
    assert_int_equal(gl_file_open_private(in_folder("a"), &fd), EEXIST);
    assert_int_equal(gl_file_write_all(in_folder("a"), GL_SPAN("new"), true), EEXIST);
    assert_int_equal(gl_file_write_private(in_folder("a"), GL_SPAN("new")), EEXIST);
    put("b", GL_SPAN("other"));
    assert_int_equal(gl_file_link_new(in_folder("b"), in_folder("a")), EEXIST);
    check_content("a", GL_SPAN("old"));
    check_content("b", GL_SPAN("other"));
    assert_int_equal(files_in_folder(), 2);
    assert_int_equal(gl_file_link_new(in_folder("b"), in_folder("c")), 0);
    check_content("c", GL_SPAN("other"));
    assert_int_equal(files_in_folder(), 2);
    assert_int_equal(gl_file_open_read(in_folder("b"), &fd), ENOENT);
}

static void a_private_file_is_its_owners_alone(void **state) {
    (void)state;
    struct stat file;
    mode_t mask = umask(0);
    assert_int_equal(gl_file_write_private(in_folder("key"), GL_SPAN("secret")), 0);
    assert_int_equal(gl_file_write_all(in_folder("open"), GL_SPAN("shared"), true), 0);
    umask(mask);
    assert_int_equal(stat(in_folder("key"), &file), 0);
    assert_int_equal(file.st_mode & 0777, 0600);
    assert_int_equal(stat(in_folder("open"), &file), 0);
    assert_int_equal(file.st_mode & 0777, 0666);
    check_content("key", GL_SPAN("secret"));
}

static void a_file_takes_the_permissions_of_another(void **state) {
    (void)state;
    static const mode_t modes[] = {0600, 0640, 0644, 0400, 0666};
    int from, to;
    struct stat file;
    put("a", GL_SPAN("1"));
    put("b", GL_SPAN("2"));
    assert_int_equal(gl_file_open_read(in_folder("a"), &from), 0);
    assert_int_equal(gl_file_open_write(in_folder("b"), false, &to), 0);
    for (size_t i = 0; i < UNIT_COUNT(modes); i++) {
        assert_int_equal(fchmod(from, modes[i]), 0);
        assert_int_equal(gl_file_take_mode(from, to), 0);
        assert_int_equal(fstat(to, &file), 0);
        assert_int_equal(file.st_mode & 07777, modes[i]);
    }
    assert_int_equal(gl_file_close(from), 0);
    assert_int_equal(gl_file_close(to), 0);
}

static void a_folder_is_made_once(void **state) {
    (void)state;
    assert_int_equal(gl_file_make_folder(in_folder("f")), 0);
    assert_int_equal(gl_file_make_folder(in_folder("f")), EEXIST);
    assert_int_equal(gl_file_make_folder(in_folder("g/h")), ENOENT);
    assert_int_equal(rmdir(in_folder("f")), 0);
}

static void reading_whole_minds_the_limit_and_appends(void **state) {
    (void)state;
    gl_buf content = GL_BUF_EMPTY;
    put("a", GL_SPAN("12345"));
    gl_buf_add_text(&content, "before ");
    assert_int_equal(gl_file_read_all(in_folder("a"), 5, &content), 0);
    assert_string_equal(content.text, "before 12345");
    assert_int_equal(gl_file_read_all(in_folder("a"), 4, &content), EFBIG);
    assert_int_equal(gl_file_read_all(in_folder("none"), 5, &content), ENOENT);
    assert_int_equal(gl_file_read_all("/dev/zero", 100000, &content), EFBIG); /* it never ends */
    gl_buf_free(&content);
}

static void the_head_of_a_file_is_as_long_as_it_has(void **state) {
    (void)state;
    char head[4];
    size_t length;
    put("head", GL_SPAN("five!"));
    assert_int_equal(gl_file_read_head(in_folder("head"), head, sizeof head, &length), 0);
    assert_int_equal(length, 4);
    assert_memory_equal(head, "five", 4);
    put("head", GL_SPAN("two"));
    assert_int_equal(gl_file_read_head(in_folder("head"), head, sizeof head, &length), 0);
    assert_int_equal(length, 3);
    assert_memory_equal(head, "two", 3);
    assert_int_equal(gl_file_read_head(in_folder("none"), head, sizeof head, &length), ENOENT);
    assert_int_equal(gl_file_read_head(".", head, sizeof head, &length), EISDIR);
}

static void a_pipe_can_be_read_whole(void **state) {
    (void)state;
    int ends[2];
    char path[64];
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(write(ends[1], "typed", 5), 5);
    close(ends[1]);
    snprintf(path, sizeof path, "/dev/fd/%d", ends[0]);
    gl_buf content = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(path, 100, &content), 0);
    assert_string_equal(content.text, "typed");
    gl_buf_free(&content);
    close(ends[0]);
}

/* ------------------------------------------------------------------------------------------------ names */

static void the_last_part_of_a_path_is_its_name(void **state) {
    (void)state;
    static const char *const cases[][2] = {{"a", "a"},    {"a/b", "b"},   {"/a", "a"},  {"/a/b.c", "b.c"},
                                           {"a/", "a"},   {"a/b//", "b"}, {"./a", "a"}, {"/", "/"},
                                           {"//", "/"},   {"", ""},       {"..", ".."}, {"a/.b", ".b"},
                                           {"a//b", "b"}, {"ab/c", "c"}};
    for (size_t i = 0; i < UNIT_COUNT(cases); i++)
        if (!gl_span_is(gl_path_name(cases[i][0]), cases[i][1]))
            fail_msg("\"%s\"", cases[i][0]);
}

static void a_file_is_known_again_by_what_it_is(void **state) {
    (void)state;
    int fd;
    bool same;
    put("a", GL_SPAN("1"));
    assert_int_equal(gl_file_open_read(in_folder("a"), &fd), 0);
    assert_int_equal(gl_file_is_same(fd, in_folder("a"), &same), 0);
    assert_true(same);
    put("a", GL_SPAN("1")); /* replaced: the same name and content, another file */
    assert_int_equal(gl_file_is_same(fd, in_folder("a"), &same), 0);
    assert_false(same);
    assert_int_equal(gl_file_remove(in_folder("a")), 0);
    assert_int_equal(gl_file_is_same(fd, in_folder("a"), &same), 0);
    assert_false(same);
    assert_int_equal(gl_file_close(fd), 0);
}

/* ------------------------------------------------------------------------------------------------ locks */

static unsigned slept;

static void count_sleep(unsigned milliseconds) {
    slept += milliseconds;
}

static void a_second_writer_waits_and_hears_who_is_first(void **state) {
    (void)state;
    int first, second;
    gl_buf holder = GL_BUF_EMPTY;
    char self[32];
    gl_calls calls = *gl_calls_system();
    calls.sleep_ms = count_sleep;
    put("a", GL_SPAN("1"));
    assert_int_equal(gl_file_open_write(in_folder("a"), false, &first), 0);
    assert_int_equal(gl_file_open_write(in_folder("a"), false, &second), 0);
    gl_calls_use(&calls);
    assert_false(gl_file_lock_holder(second, &holder)); /* nobody holds it */
    slept = 0;
    assert_int_equal(gl_file_lock(first, 1000), 0);
    assert_int_equal(slept, 0);
    assert_int_equal(gl_file_lock(second, 0), EWOULDBLOCK);
    assert_int_equal(slept, 0);
    assert_int_equal(gl_file_lock(second, 1234), EWOULDBLOCK);
    assert_int_equal(slept, 1234);
    snprintf(self, sizeof self, "process %ld (", (long)getpid());
    assert_int_equal(gl_file_lock_holder(second, &holder), access("/proc/locks", R_OK) == 0);
    assert_int_equal(holder.length ? strncmp(holder.text, self, strlen(self)) : 0, 0);
    assert_int_equal(gl_file_close(first), 0);
    assert_int_equal(gl_file_lock(second, 0), 0);
    assert_int_equal(gl_file_close(second), 0);
    gl_buf_free(&holder);
}

/* ------------------------------------------------------------------------------------ calls that fail */

static int no_links(const char *from, const char *to) {
    (void)from, (void)to;
    errno = EPERM; /* as link does on FAT */
    return -1;
}

static void without_hard_links_a_file_is_fresh_all_the_same(void **state) {
    (void)state;
    gl_calls calls = *gl_calls_system();
    calls.link = no_links;
    gl_calls_use(&calls);
    assert_int_equal(gl_file_write_all(in_folder("a"), GL_SPAN("1"), true), 0);
    assert_int_equal(gl_file_write_all(in_folder("a"), GL_SPAN("2"), true), EEXIST);
    check_content("a", GL_SPAN("1"));
    assert_int_equal(files_in_folder(), 1);
}

static int copy_failure;

static ssize_t no_copying(int from, off_t from_offset, int to, off_t to_offset, size_t length) {
    (void)from, (void)from_offset, (void)to, (void)to_offset, (void)length;
    errno = copy_failure;
    return copy_failure ? -1 : 0; /* some file systems say 0 for what they cannot */
}

static void where_the_system_cannot_copy_we_read_and_write(void **state) {
    (void)state;
    static const int harmless[] = {0, EXDEV, EINVAL, ENOSYS, EOPNOTSUPP, EBADF, EPERM};
    gl_buf buf = GL_BUF_EMPTY;
    gl_calls calls = *gl_calls_system();
    calls.copy_file_range = no_copying;
    gl_calls_use(&calls);
    put("a", pattern(&buf, 600000)); /* more than one buffer */
    for (size_t i = 0; i < UNIT_COUNT(harmless); i++) {
        int from, to;
        copy_failure = harmless[i];
        assert_int_equal(gl_file_open_read(in_folder("a"), &from), 0);
        assert_int_equal(gl_file_open_write(in_folder("b"), true, &to), 0);
        assert_int_equal(gl_file_copy_range(from, 0, to, 0, 600000), 0);
        check_content("b", gl_buf_span(&buf));
        assert_int_equal(gl_file_copy_range(from, 1, to, 0, 600000), ENODATA);
        copy_failure = ENOSPC;
        assert_int_equal(gl_file_copy_range(from, 0, to, 0, 600000), ENOSPC);
        assert_int_equal(gl_file_close(from), 0);
        assert_int_equal(gl_file_close(to), 0);
        assert_int_equal(gl_file_remove(in_folder("b")), 0);
    }
    gl_buf_free(&buf);
}

static size_t disk_room;

static ssize_t write_while_there_is_room(int fd, const void *bytes, size_t length, off_t offset) {
    if (disk_room == 0) {
        errno = ENOSPC;
        return -1;
    }
    ssize_t put_bytes = pwrite(fd, bytes, length < disk_room ? length : disk_room, offset);
    disk_room -= put_bytes > 0 ? (size_t)put_bytes : 0;
    return put_bytes;
}

static void a_full_disk_leaves_the_old_file(void **state) {
    (void)state;
    gl_buf buf = GL_BUF_EMPTY;
    gl_calls calls = *gl_calls_system();
    calls.pwrite = write_while_there_is_room;
    put("a", GL_SPAN("old"));
    gl_span content = pattern(&buf, 1000);
    gl_calls_use(&calls);
    for (size_t room = 0; room < 1000; room += 37) {
        disk_room = room;
        assert_int_equal(gl_file_write_all(in_folder("a"), content, false), ENOSPC);
        check_content("a", GL_SPAN("old"));
        assert_int_equal(files_in_folder(), 1);
    }
    disk_room = 1000;
    assert_int_equal(gl_file_write_all(in_folder("a"), content, false), 0);
    check_content("a", content);
    gl_buf_free(&buf);
}

/* The n-th call fails, whichever it is; files left open are counted. */
static unsigned calls_left;
static int open_files;

static bool fails_now(void) {
    if (calls_left == 0 || --calls_left > 0)
        return false;
    errno = EIO;
    return true;
}

static int count_open(const char *path, int flags, mode_t mode) {
    int fd = fails_now() ? -1 : gl_calls_system()->open(path, flags, mode);
    open_files += fd >= 0;
    return fd;
}
static int count_close(int fd) {
    open_files--;
    bool failing = fails_now();
    return close(fd) != 0 || failing ? (errno = EIO, -1) : 0;
}
static ssize_t count_pwrite(int fd, const void *bytes, size_t length, off_t offset) {
    return fails_now() ? -1 : pwrite(fd, bytes, length, offset);
}
static int count_stat(const char *path, struct stat *result) {
    return fails_now() ? -1 : stat(path, result);
}
static int count_fsync(int fd) {
    return fails_now() ? -1 : fsync(fd);
}
static int count_rename(const char *from, const char *to) {
    return fails_now() ? -1 : rename(from, to);
}
static int count_link(const char *from, const char *to) {
    return fails_now() ? -1 : link(from, to);
}

static void whichever_call_fails_there_is_the_old_file_or_the_new(void **state) {
    (void)state;
    gl_calls calls = *gl_calls_system();
    calls.open = count_open;
    calls.close = count_close;
    calls.pwrite = count_pwrite;
    calls.stat = count_stat;
    calls.fsync = count_fsync;
    calls.rename = count_rename;
    calls.link = count_link;
    for (int fresh = 0; fresh < 2; fresh++) {
        unsigned failed = 0;
        for (unsigned n = 1;; n++) {
            gl_calls_use(NULL);
            unlink(in_folder("a"));
            if (!fresh)
                put("a", GL_SPAN("old"));
            gl_calls_use(&calls);
            calls_left = n;
            open_files = 0;
            int failure = gl_file_write_all(in_folder("a"), GL_SPAN("new"), fresh != 0);
            bool done = calls_left > 0;
            calls_left = 0;
            assert_int_equal(open_files, 0);
            gl_calls_use(NULL);
            gl_buf content = GL_BUF_EMPTY;
            int reading = gl_file_read_all(in_folder("a"), 100, &content);
            if (fresh && reading == ENOENT)
                assert_int_equal(files_in_folder(), 0);
            else
                assert_true(reading == 0 && files_in_folder() == 1 &&
                            (gl_span_is(gl_buf_span(&content), "new") ||
                             (!fresh && gl_span_is(gl_buf_span(&content), "old"))));
            if (done) {
                assert_int_equal(failure, 0);
                assert_true(gl_span_is(gl_buf_span(&content), "new"));
                gl_buf_free(&content);
                break;
            }
            gl_buf_free(&content);
            assert_int_equal(failure, EIO);
            failed++;
        }
        assert_int_equal(
            failed,
            10); /* stat, open, stat, pwrite, fsync, rename or link; folder: open, fsync, close; close */
    }
}

static int fsync_of_files_only(int fd) {
    struct stat file;
    if (fstat(fd, &file) == 0 && S_ISDIR(file.st_mode)) {
        errno = EINVAL;
        return -1;
    }
    return fsync(fd);
}

static void a_folder_that_cannot_be_synced_is_no_failure(void **state) {
    (void)state;
    gl_calls calls = *gl_calls_system();
    calls.fsync = fsync_of_files_only;
    gl_calls_use(&calls);
    assert_int_equal(gl_file_write_all(in_folder("a"), GL_SPAN("1"), false), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        FILE_TEST(all_is_moved_whole),
        FILE_TEST(all_is_moved_by_short_and_interrupted_calls_too),
        FILE_TEST(reading_past_the_end_is_told),
        FILE_TEST(offsets_that_do_not_fit_are_refused),
        FILE_TEST(what_is_no_plain_file_has_no_size),
        FILE_TEST(a_new_file_takes_nobodys_place),
        FILE_TEST(a_private_file_is_its_owners_alone),
        FILE_TEST(a_file_takes_the_permissions_of_another),
        FILE_TEST(a_folder_is_made_once),
        FILE_TEST(reading_whole_minds_the_limit_and_appends),
        FILE_TEST(the_head_of_a_file_is_as_long_as_it_has),
        FILE_TEST(a_pipe_can_be_read_whole),
        cmocka_unit_test(the_last_part_of_a_path_is_its_name),
        FILE_TEST(a_file_is_known_again_by_what_it_is),
        FILE_TEST(a_second_writer_waits_and_hears_who_is_first),
        FILE_TEST(without_hard_links_a_file_is_fresh_all_the_same),
        FILE_TEST(where_the_system_cannot_copy_we_read_and_write),
        FILE_TEST(a_full_disk_leaves_the_old_file),
        FILE_TEST(whichever_call_fails_there_is_the_old_file_or_the_new),
        FILE_TEST(a_folder_that_cannot_be_synced_is_no_failure),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
