/* large_bundle many OUT COUNT: a file of two editions, the first with COUNT small scans.
 * large_bundle deep OUT BYTES: a scan of BYTES zeros (more than 4 GiB make Zip64 values of all kinds), small
 * files before and behind it, a second edition. Zeros become holes, so that the file takes next to no room on
 * disk. large_bundle check FILE: opens it, walks its editions, compares every local header; prints what it
 * holds. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "base/calls.h"
#include "base/error.h"
#include "base/file.h"
#include "container/writer.h"

enum { AT = 1764061200 };

static int fail(const glassine_error *error) {
    char line[2048];
    glassine_error_line(error, line, sizeof line);
    fprintf(stderr, "large_bundle: %s\n", line);
    return 1;
}

static bool all_zeros(const char *bytes, size_t length) {
    return length > 0 && bytes[0] == 0 && memcmp(bytes, bytes + 1, length - 1) == 0;
}

/* Leaves zeros out: what is never written reads as zeros once the file is longer. */
static ssize_t write_holes(int fd, const void *bytes, size_t length, off_t at) {
    if (length >= 4096 && all_zeros(bytes, length))
        return (ssize_t)length;
    return gl_calls_system()->pwrite(fd, bytes, length, at);
}

static int do_nothing(int fd) {
    (void)fd;
    return 0;
}

static void leave_holes(void) {
    static gl_calls calls;
    calls = *gl_calls_system();
    calls.pwrite = write_holes;
    calls.fdatasync = do_nothing;
    gl_calls_use(&calls);
}

static glassine_status add_text(gl_writer *writer, const char *inner, glassine_error *error) {
    return gl_writer_add(writer, gl_span_of(inner), GL_SPAN("some text, some text\n"), false, NULL, error);
}

/* A scan out of a temporary file of `length` bytes that begins with `number`. */
static glassine_status add_scan(gl_writer *writer, const char *path, uint64_t number, uint64_t length,
                                glassine_error *error) {
    int fd, code = gl_file_open_write(path, false, &fd);
    if (code == ENOENT)
        code = gl_file_open_write(path, true, &fd);
    if (!code)
        code = gl_file_truncate(fd, length);
    if (!code)
        code = gl_file_write_at(fd, &number, sizeof number, 0);
    if (code)
        return gl_fail_system(error, code, path, "cannot be written");
    glassine_status status = gl_writer_add_scan(writer, fd, path, length, "bin", NULL, NULL, error);
    gl_file_close(fd);
    return status;
}

static glassine_status fill(gl_writer *writer, const char *scan, bool many, uint64_t size,
                            glassine_error *error) {
    glassine_status status = add_text(writer, "slips/first.txt", error);
    for (uint64_t i = 0; !status && i < (many ? size : 1); i++)
        status = add_scan(writer, scan, i, many ? 64 : size, error);
    if (!status)
        status = add_text(writer, "slips/last.txt", error);
    return status;
}

static glassine_status make_editions(int fd, const char *path, bool many, uint64_t size,
                                     glassine_error *error) {
    gl_writer *writer = NULL;
    gl_zip *zip = NULL;
    uint64_t end;
    gl_buf scan = GL_BUF_EMPTY;
    gl_buf_printf(&scan, "%s.scan", path);
    glassine_status status = gl_writer_new(fd, path, NULL, GL_SPAN("glassine-large"), 1, AT, &writer, error);
    if (!status)
        status = fill(writer, scan.text, many, size, error);
    if (!status)
        status = gl_writer_finish(writer, &end, error);
    gl_writer_free(writer);
    writer = NULL;
    if (!status)
        status = gl_zip_open(fd, path, NULL, &zip, error);
    if (!status)
        status = gl_writer_new(fd, path, zip, GL_NO_SPAN, 2, AT + 60, &writer, error);
    if (!status)
        status = add_text(writer, "slips/last.txt", error);
    if (!status)
        status = gl_writer_finish(writer, &end, error);
    gl_writer_free(writer);
    gl_zip_close(zip);
    gl_file_remove(scan.text);
    gl_buf_free(&scan);
    return status;
}

static int make(const char *path, bool many, uint64_t size) {
    glassine_error error;
    int fd, code = gl_file_open_write(path, true, &fd);
    if (code) {
        gl_fail_system(&error, code, path, "cannot be made");
        return fail(&error);
    }
    leave_holes();
    glassine_status status = make_editions(fd, path, many, size, &error);
    gl_file_close(fd);
    return status ? fail(&error) : 0;
}

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static int check(const char *path) {
    glassine_error error;
    gl_zip *zip;
    int fd, code = gl_file_open_read(path, &fd);
    if (code) {
        gl_fail_system(&error, code, path, "cannot be opened");
        return fail(&error);
    }
    double start = seconds();
    glassine_status status = gl_zip_open(fd, path, NULL, &zip, &error);
    double opened = seconds();
    if (!status)
        status = gl_zip_walk(zip, NULL, NULL, &error);
    if (!status)
        status = gl_zip_check_locals(zip, &error);
    if (!status)
        printf("%zu entries, edition %" PRIu32 ", tail %" PRIu64 "\n", gl_zip_count(zip),
               gl_zip_footer(zip)->edition, gl_zip_tail(zip));
    fprintf(stderr, "opened in %.3f s, walked in %.3f s\n", opened - start, seconds() - opened);
    gl_zip_close(zip);
    gl_file_close(fd);
    return status ? fail(&error) : 0;
}

int main(int count, char **words) {
    if (count == 3 && strcmp(words[1], "check") == 0)
        return check(words[2]);
    if (count == 4 && (strcmp(words[1], "many") == 0 || strcmp(words[1], "deep") == 0))
        return make(words[2], words[1][0] == 'm', strtoull(words[3], NULL, 10));
    fprintf(stderr, "usage: large_bundle many|deep OUT NUMBER\n       large_bundle check FILE\n");
    return 2;
}
