/* The search for the last whole edition: versions, limits, and files made to keep it busy. */
#include "support.h"

#include <inttypes.h>

#include "container/layout.h"

/* A file of `editions` editions, each with a segment of its own; its length. */
static uint64_t make_file(const char *path, uint32_t editions) {
    uint64_t end = 0;
    unlink(path);
    for (uint32_t number = 1; number <= editions; number++) {
        glassine_error error;
        char inner[32], content[64];
        open_edition edition = begin_edition(path, number);
        snprintf(inner, sizeof inner, "slips/%" PRIu32, number);
        snprintf(content, sizeof content, "what edition %" PRIu32 " brings\n", number);
        must(gl_writer_add(edition.writer, gl_span_of(inner), gl_span_of(content), false, NULL, &error),
             &error);
        end = finish_edition(&edition);
    }
    return end;
}

/* Opens and closes: the status; the edition in *edition. */
static glassine_status try_open(const char *path, const glassine_limits *limits, uint32_t *edition,
                                glassine_error *error) {
    gl_zip *zip;
    int fd = open_for_reading(path);
    glassine_status status = gl_zip_open(fd, path, limits, &zip, error);
    *edition = status ? 0 : gl_zip_footer(zip)->edition;
    gl_zip_close(zip);
    gl_file_close(fd);
    return status;
}

/* Replaces the last `old` in the file by `new`, of the same length. */
static void patch(const char *path, const char *old, const char *new) {
    gl_buf bytes = file_bytes(path);
    size_t length = strlen(old), at = bytes.length - length;
    while (memcmp(bytes.text + at, old, length) != 0)
        at--;
    memcpy(bytes.text + at, new, length);
    write_file(path, bytes.text, bytes.length);
    gl_buf_free(&bytes);
}

static void versions(void **state) {
    (void)state;
    const char *path = path_in("version");
    glassine_error error;
    uint32_t edition;
    make_file(path, 2);
    patch(path, "glassine 1.0 ", "glassine 1.7 ");
    must(try_open(path, NULL, &edition, &error), &error);
    assert_int_equal(edition, 2);
    patch(path, "glassine 1.7 ", "glassine 2.0 ");
    refused_by(try_open(path, NULL, &edition, &error), &error, "C012");
    assert_non_null(strstr(error.message, "format 2"));
    assert_non_null(strstr(error.message, "format 1"));
    /* Also with something behind it: a later format is no damage to fall back from. */
    gl_buf bytes = file_bytes(path);
    gl_buf_add_text(&bytes, "tail");
    write_file(path, bytes.text, bytes.length);
    gl_buf_free(&bytes);
    refused_by(try_open(path, NULL, &edition, &error), &error, "C012");
    make_file(path, 2);
    patch(path, "glassine 1.0 ", "glassine 0.9 ");
    must(try_open(path, NULL, &edition, &error), &error);
    assert_int_equal(edition, 1);
}

static void not_ours(void **state) {
    (void)state;
    const char *path = path_in("not-ours");
    glassine_error error;
    uint32_t edition;
    write_file(path, "", 0);
    refused_by(try_open(path, NULL, &edition, &error), &error, "C010");
    write_file(path, "PK", 2);
    refused_by(try_open(path, NULL, &edition, &error), &error, "C010");
    make_file(path, 1);
    patch(path, "glassine 1.0 ", "Glassine 1.0 ");
    refused_by(try_open(path, NULL, &edition, &error), &error, "C011");
    int fd = open_for_reading(folder);
    gl_zip *zip;
    assert_int_equal(gl_zip_open(fd, folder, NULL, &zip, &error), GLASSINE_REFUSED);
    gl_file_close(fd);
}

static void limits(void **state) {
    (void)state;
    const char *path = path_in("limits");
    glassine_error error;
    uint32_t edition;
    make_file(path, 5);
    refused_by(try_open(path, &(glassine_limits){.entries = 4}, &edition, &error), &error, "L001");
    must(try_open(path, &(glassine_limits){.entries = 5}, &edition, &error), &error);
    refused_by(try_open(path, &(glassine_limits){.directory_bytes = 100}, &edition, &error), &error, "L002");

    int fd = open_for_reading(path);
    gl_zip *zip;
    must(gl_zip_open(fd, path, &(glassine_limits){.editions = 4}, &zip, &error), &error);
    refused_by(gl_zip_walk(zip, NULL, NULL, &error), &error, "L024");
    gl_buf out = GL_BUF_EMPTY;
    const gl_entry *entry = gl_zip_at(zip, 0);
    refused_by(gl_zip_read(zip, entry, entry->size - 1, &out, &error), &error, "L003");
    must(gl_zip_read(zip, entry, entry->size, &out, &error), &error);
    gl_buf_free(&out);
    gl_zip_close(zip);
    gl_file_close(fd);
}

/* Blocks that are alike but for a number: they deflate to about a fiftieth. */
static char *much_alike(size_t length) {
    char *text = calloc(length, 1);
    assert_non_null(text);
    for (size_t i = 0; i + 1024 <= length; i += 1024)
        snprintf(text + i, 16, "%zu", i);
    return text;
}

static void ratio(void **state) {
    (void)state;
    const char *path = path_in("ratio");
    glassine_error error;
    unlink(path);
    size_t length = 8 << 20;
    char *alike = much_alike(length), *zeros = calloc(length, 1);
    assert_non_null(zeros);
    open_edition edition = begin_edition(path, 1);
    must(gl_writer_add(edition.writer, GL_SPAN("big"), (gl_span){alike, length}, false, NULL, &error),
         &error);
    must(gl_writer_add(edition.writer, GL_SPAN("fine"), (gl_span){alike, 1 << 20}, false, NULL, &error),
         &error);
    must(gl_writer_add(edition.writer, GL_SPAN("zeros"), (gl_span){zeros, length}, false, NULL, &error),
         &error);
    free(alike);
    free(zeros);
    finish_edition(&edition);
    gl_zip *zip;
    must(gl_zip_open(open_for_reading(path), path, &(glassine_limits){.ratio = 5}, &zip, &error), &error);
    refused_by(gl_zip_stream(zip, gl_zip_find(zip, GL_SPAN("big")), NULL, NULL, NULL, &error), &error,
               "L006");
    must(gl_zip_stream(zip, gl_zip_find(zip, GL_SPAN("fine")), NULL, NULL, NULL, &error), &error);
    close_zip(zip);
    /* What the writer wrote can be read within the usual limits, whatever it was. */
    zip = open_zip(path);
    must(gl_zip_stream(zip, gl_zip_find(zip, GL_SPAN("big")), NULL, NULL, NULL, &error), &error);
    must(gl_zip_stream(zip, gl_zip_find(zip, GL_SPAN("zeros")), NULL, NULL, NULL, &error), &error);
    close_zip(zip);
}

/* ------------------------------------------------------------------------------------------- work */

static uint64_t bytes_read;

static ssize_t count_pread(int fd, void *bytes, size_t length, off_t at) {
    ssize_t got = gl_calls_system()->pread(fd, bytes, length, at);
    bytes_read += got > 0 ? (uint64_t)got : 0;
    return got;
}

static glassine_status counted_open(const char *path, uint32_t *edition, glassine_error *error) {
    gl_calls calls = *gl_calls_system();
    calls.pread = count_pread;
    bytes_read = 0;
    gl_calls_use(&calls);
    glassine_status status = try_open(path, NULL, edition, error);
    without_syncs();
    return status;
}

/* End records that only look like ours cost next to nothing. */
static void thousands_of_marks(void **state) {
    (void)state;
    const char *path = path_in("marks");
    glassine_error error;
    uint32_t edition;
    uint64_t end = make_file(path, 3);
    gl_buf bytes = file_bytes(path);
    for (int i = 0; i < 50000; i++)
        gl_buf_add_bytes(&bytes, "PK\005\006..................glassine ", GL_END_SIZE + 9);
    write_file(path, bytes.text, bytes.length);
    must(counted_open(path, &edition, &error), &error);
    assert_int_equal(edition, 3);
    assert_true(bytes_read < 2 * bytes.length);
    gl_zip *zip = open_zip(path);
    assert_true(gl_zip_tail_is_ours(zip));
    assert_int_equal(gl_zip_tail(zip), bytes.length - end);
    close_zip(zip);
    gl_buf_free(&bytes);
}

/* End records that claim all bytes before them, each with a directory that has to be read: the work stays
 * within a few times the size of the file, however many there are. */
static void thousands_of_claims(void **state) {
    (void)state;
    const char *path = path_in("claims");
    glassine_error error;
    uint32_t edition;
    for (int claims = 2000; claims <= 8000; claims *= 4) {
        make_file(path, 3);
        gl_buf bytes = file_bytes(path);
        for (int i = 0; i < claims; i++) {
            uint8_t end[GL_END_MAX];
            gl_footer footer = {.start = 0,
                                .directory_at = 64,
                                .directory_size = bytes.length - 64,
                                .entries = 2,
                                .edition = 9,
                                .major = 1};
            gl_buf_add_bytes(&bytes, end, gl_layout_end(&footer, end));
        }
        write_file(path, bytes.text, bytes.length);
        refused_by(counted_open(path, &edition, &error), &error, "L007");
        assert_true(bytes_read < 4 * bytes.length + (2 << 20));
        gl_buf_free(&bytes);
    }
}

/* A tail of many windows, with the mark across their borders. */
static void far_back(void **state) {
    (void)state;
    const char *path = path_in("far");
    glassine_error error;
    uint32_t edition;
    make_file(path, 2);
    gl_buf bytes = file_bytes(path);
    size_t whole = bytes.length;
    for (size_t tail = 65 * 1024 - 300; tail < (5 << 20); tail += (1 << 20) - 61) {
        gl_buf_reserve(&bytes, tail);
        memset(bytes.text + whole, 'P', tail);
        write_file(path, bytes.text, whole + tail);
        must(counted_open(path, &edition, &error), &error);
        assert_int_equal(edition, 2);
        assert_true(bytes_read < 2 * (whole + tail) + (1 << 20));
    }
    /* Every position of the end record against the border of the first window. */
    for (size_t tail = 65536 - 400; tail <= 65536 + 10; tail++) {
        memset(bytes.text + whole, 'x', tail);
        write_file(path, bytes.text, whole + tail);
        must(try_open(path, NULL, &edition, &error), &error);
        assert_int_equal(edition, 2);
    }
    gl_buf_free(&bytes);
}

/* Opening a file of many stored scans does not read one by one what the directory says already. */
static void opening_is_cheap(void **state) {
    (void)state;
    const char *path = path_in("many");
    glassine_error error;
    uint32_t number;
    char inner[128];
    open_edition edition = begin_edition(path, 1);
    for (int i = 0; i < 2000; i++) {
        char content[600];
        memset(content, 'x', sizeof content);
        snprintf(content, sizeof content, "scan %d", i);
        must(add_scan(edition.writer, (gl_span){content, sizeof content}, "png", inner, &error), &error);
    }
    must(gl_writer_add(edition.writer, GL_SPAN("slips/1"), GL_SPAN("text"), false, NULL, &error), &error);
    finish_edition(&edition);
    must(counted_open(path, &number, &error), &error);
    gl_zip *zip = open_zip(path);
    assert_true(bytes_read < 64 * 1024 + gl_zip_footer(zip)->directory_size + 2000);
    must(gl_zip_walk(zip, NULL, NULL, &error), &error);
    must(gl_zip_check_locals(zip, &error), &error);
    close_zip(zip);
}

/* A stored scan's local header is compared when the scan is read, and by the walk. */
static void header_of_scan(void **state) {
    (void)state;
    const char *path = path_in("header");
    glassine_error error;
    char inner[128];
    open_edition edition = begin_edition(path, 1);
    must(add_scan(edition.writer, GL_SPAN("picture"), "png", inner, &error), &error);
    finish_edition(&edition);
    int fd = open_for_writing(path, false);
    assert_int_equal(gl_file_write_at(fd, "\x01", 1, 10), 0); /* its time */
    gl_file_close(fd);
    gl_zip *zip = open_zip(path);
    refused_by(gl_zip_stream(zip, gl_zip_at(zip, 0), NULL, NULL, NULL, &error), &error, "C054");
    refused_by(gl_zip_check_locals(zip, &error), &error, "C054");
    refused_by(gl_zip_walk(zip, NULL, NULL, &error), &error, "C054");
    close_zip(zip);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(versions),
        cmocka_unit_test(not_ours),
        cmocka_unit_test(limits),
        cmocka_unit_test(ratio),
        cmocka_unit_test(thousands_of_marks),
        cmocka_unit_test(thousands_of_claims),
        cmocka_unit_test(far_back),
        cmocka_unit_test(opening_is_cheap),
        cmocka_unit_test(header_of_scan),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
