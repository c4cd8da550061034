/* Every system call of a save is made to fail, one after the other: the file is as it was before, or it is
 * the new edition complete. */
#include "support.h"

#include <errno.h>

#define PICTURE "2cea274d0bedc39ec4ab6ba9e59ec889e3ed6fb56a1cf088a64d9b383378dc97"

typedef enum failing_way { ONCE, FOR_GOOD, TORN, WAYS } failing_way;

/* The call number `at`, counted from the beginning of the save, fails: once; and all after it too (the disk
 * is gone); or, a write, half done first. */
static struct {
    unsigned count, at;
    failing_way way;
    gl_calls calls;
} plan;

static bool fails_now(void) {
    unsigned number = plan.count++;
    if (number < plan.at || (plan.way != FOR_GOOD && number > plan.at))
        return false;
    errno = number % 2 ? ENOSPC : EIO;
    return true;
}

static int open_or_fail(const char *path, int flags, mode_t mode) {
    return fails_now() ? -1 : gl_calls_system()->open(path, flags, mode);
}

static ssize_t pread_or_fail(int fd, void *bytes, size_t length, off_t at) {
    return fails_now() ? -1 : gl_calls_system()->pread(fd, bytes, length, at);
}

static ssize_t pwrite_or_fail(int fd, const void *bytes, size_t length, off_t at) {
    if (plan.way == TORN && plan.count == plan.at && length > 1) {
        plan.at++; /* the rest of the write fails */
        plan.count++;
        return gl_calls_system()->pwrite(fd, bytes, length / 2, at);
    }
    return fails_now() ? -1 : gl_calls_system()->pwrite(fd, bytes, length, at);
}

static int fstat_or_fail(int fd, struct stat *result) {
    return fails_now() ? -1 : gl_calls_system()->fstat(fd, result);
}

static int ftruncate_or_fail(int fd, off_t size) {
    return fails_now() ? -1 : gl_calls_system()->ftruncate(fd, size);
}

static int sync_or_fail(int fd) {
    (void)fd;
    return fails_now() ? -1 : 0;
}

static int unlink_or_fail(const char *path) {
    return fails_now() ? -1 : gl_calls_system()->unlink(path);
}

static ssize_t copy_or_fail(int from, off_t from_at, int to, off_t to_at, size_t length) {
    return fails_now() ? -1 : gl_calls_system()->copy_file_range(from, from_at, to, to_at, length);
}

static void use_failing_calls(failing_way way, unsigned at) {
    plan.count = 0;
    plan.at = at;
    plan.way = way;
    plan.calls = *gl_calls_system();
    plan.calls.open = open_or_fail;
    plan.calls.pread = pread_or_fail;
    plan.calls.pwrite = pwrite_or_fail;
    plan.calls.fstat = fstat_or_fail;
    plan.calls.ftruncate = ftruncate_or_fail;
    plan.calls.fdatasync = sync_or_fail;
    plan.calls.fsync = sync_or_fail;
    plan.calls.unlink = unlink_or_fail;
    plan.calls.copy_file_range = copy_or_fail;
    gl_calls_use(&plan.calls);
}

/* The save that is tried: a scan, two files, an entry taken over. */
static glassine_status save(int fd, const char *path, const gl_zip *zip, int scan, const char *scan_path,
                            const gl_zip *other, glassine_error *error) {
    gl_writer *writer;
    uint64_t end;
    glassine_status status = gl_writer_new(fd, path, zip, BASE, 3, AT, &writer, error);
    if (status)
        return status;
    status = gl_writer_add_scan(writer, scan, scan_path, 7, "png", NULL, NULL, error);
    if (!status)
        status = gl_writer_add(writer, GL_SPAN("slips/1"), GL_SPAN("new new new"), false, NULL, error);
    if (!status)
        status = gl_writer_add(writer, GL_SPAN("slips/3"), GL_SPAN("newer"), true, NULL, error);
    if (!status)
        status = gl_writer_add_raw(writer, other, gl_zip_at(other, 0), error);
    if (!status)
        status = gl_writer_finish(writer, &end, error);
    gl_writer_free(writer);
    return status;
}

typedef struct save_scene {
    const char *path, *scan_path, *other_path, *tail_path;
    gl_buf before; /* the file as it was */
    file_model old, new;
    uint64_t old_end;
    bool tail;
} save_scene;

static void set_scene(save_scene *scene, bool tail) {
    *scene = (save_scene){path_in("file"),
                          path_in("scan.png"),
                          path_in("other"),
                          path_in("file.tail-3"),
                          GL_BUF_EMPTY,
                          {.count = 0},
                          {.count = 0},
                          0,
                          tail};
    unlink(scene->path);
    unlink(scene->other_path);
    glassine_error error;
    write_file(scene->scan_path, "picture", 7);
    open_edition edition = begin_edition(scene->other_path, 1);
    must(gl_writer_add(edition.writer, GL_SPAN("from other"), GL_SPAN("taken over"), true, NULL, &error),
         &error);
    finish_edition(&edition);
    edition = begin_edition(scene->path, 1);
    must(gl_writer_add(edition.writer, GL_SPAN("slips/1"), GL_SPAN("old old old"), false, NULL, &error),
         &error);
    finish_edition(&edition);
    edition = begin_edition(scene->path, 2);
    must(gl_writer_add(edition.writer, GL_SPAN("slips/2"), GL_SPAN("old two"), false, NULL, &error), &error);
    scene->old_end = finish_edition(&edition);
    scene->before = file_bytes(scene->path);
    if (tail) {
        gl_buf_add_text(&scene->before, "bytes that somebody appended, more than a save takes to write: ");
        for (int i = 0; i < 200; i++)
            gl_buf_printf(&scene->before, "%d ", i);
    }
    model_put(&scene->old, "slips/1", GL_SPAN("old old old"));
    model_put(&scene->old, "slips/2", GL_SPAN("old two"));
    model_copy(&scene->old, &scene->new);
    model_put(&scene->new, "slips/1", GL_SPAN("new new new"));
    model_put(&scene->new, "slips/3", GL_SPAN("newer"));
    model_put(&scene->new, "from other", GL_SPAN("taken over"));
    /* SHA-256 of "picture", by the sha256sum program */
    model_put(&scene->new, "data/scans/" PICTURE ".png", GL_SPAN("picture"));
}

static void clear_scene(save_scene *scene) {
    gl_buf_free(&scene->before);
    model_free(&scene->old);
    model_free(&scene->new);
}

/* Whole edition 2, byte for byte where the file could be put back; or whole edition 3. */
static void check_file(save_scene *scene, bool saved, failing_way way) {
    gl_buf after = file_bytes(scene->path);
    gl_zip *zip = open_zip(scene->path);
    bool new = gl_zip_footer(zip)->edition == 3;
    if (saved)
        assert_true(new);
    model_agrees(new ? &scene->new : &scene->old, zip);
    if (new)
        assert_int_equal(gl_zip_tail(zip), 0);
    if (!saved && way != FOR_GOOD) {
        assert_true(gl_span_equal(gl_buf_span(&after), gl_buf_span(&scene->before)));
        assert_int_not_equal(access(scene->tail_path, F_OK), 0);
    }
    /* The tail is never lost: in the file, or beside it. */
    bool tail_in_file = gl_span_equal(gl_buf_span(&after), gl_buf_span(&scene->before));
    if (scene->tail && !tail_in_file) {
        gl_buf tail = file_bytes(scene->tail_path);
        assert_true(gl_span_equal(
            gl_buf_span(&tail), gl_span_part(gl_buf_span(&scene->before), (size_t)scene->old_end, SIZE_MAX)));
        gl_buf_free(&tail);
    }
    close_zip(zip);
    gl_buf_free(&after);
}

/* True where the save got through, because there are fewer calls than `at`. */
static bool try_save(save_scene *scene, failing_way way, unsigned at) {
    write_file(scene->path, scene->before.text, scene->before.length);
    unlink(scene->tail_path);
    glassine_error error;
    gl_zip *zip, *other = open_zip(scene->other_path);
    int fd = open_for_writing(scene->path, false), scan = open_for_reading(scene->scan_path);
    must(gl_zip_open(fd, scene->path, NULL, &zip, &error), &error);
    use_failing_calls(way, at);
    glassine_status status = save(fd, scene->path, zip, scan, scene->scan_path, other, &error);
    bool reached = plan.count > plan.at;
    without_syncs();
    gl_zip_close(zip);
    gl_file_close(fd);
    gl_file_close(scan);
    close_zip(other);
    check_file(scene, status == GLASSINE_OK, way);
    if (status) {
        assert_int_equal(status, GLASSINE_SYSTEM);
        assert_true(error.message[0] != '\0');
    }
    return !reached;
}

static void every_call_fails(void **state) {
    (void)state;
    for (int tail = 0; tail < 2; tail++) {
        save_scene scene;
        set_scene(&scene, tail);
        for (failing_way way = ONCE; way < WAYS; way++) {
            unsigned at = 0;
            while (!try_save(&scene, way, at))
                at++;
            assert_true(at > 15); /* that many calls were made to fail */
        }
        clear_scene(&scene);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_call_fails)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
