/* Single duties of the writer: scans in one pass, end records inside content, tails, what it refuses. */
#include "support.h"

/* PK\005\006, 18 bytes, "glassine " */
static void put_mark(gl_buf *out) {
    gl_buf_add_bytes(out, "PK\005\006", 4);
    gl_buf_add_text(out, "..................");
    gl_buf_add_text(out, "glassine 1.0 edition 1 follows 0 sum ");
}

static void noise(random_source *luck, size_t length, gl_buf *out) {
    while (length-- > 0)
        gl_buf_add_char(out, (char)draw(luck));
}

static gl_digest sha256(gl_span bytes) {
    gl_hash *hash = gl_hash_new();
    gl_digest digest = gl_hash_once(hash, bytes.text, bytes.length);
    gl_hash_free(hash);
    return digest;
}

static const gl_entry *must_find(const gl_zip *zip, const char *inner) {
    const gl_entry *entry = gl_zip_find(zip, gl_span_of(inner));
    assert_non_null(entry);
    return entry;
}

static void content_is(const gl_zip *zip, const char *inner, gl_span right) {
    gl_buf content = GL_BUF_EMPTY;
    glassine_error error;
    must(gl_zip_read(zip, must_find(zip, inner), SIZE_MAX, &content, &error), &error);
    assert_true(gl_span_equal(gl_buf_span(&content), right));
    gl_buf_free(&content);
}

static void add(gl_writer *writer, const char *inner, gl_span content) {
    glassine_error error;
    must(gl_writer_add(writer, gl_span_of(inner), content, false, NULL, &error), &error);
}

static void stored_and_deflated(void **state) {
    (void)state;
    const char *path = path_in("methods");
    random_source luck = {2};
    gl_buf big = GL_BUF_EMPTY;
    noise(&luck, 3 << 20, &big);
    open_edition edition = begin_edition(path, 1);
    glassine_error error;
    gl_digest digest, right = sha256(gl_buf_span(&big));
    char inner[128];
    must(gl_writer_add(edition.writer, GL_SPAN("a"), GL_SPAN("aaaaaaaaaaaaaaaaaaaaaa"), false, &digest,
                       &error),
         &error);
    gl_digest a = sha256(GL_SPAN("aaaaaaaaaaaaaaaaaaaaaa"));
    assert_true(gl_digest_equal(&digest, &a));
    must(gl_writer_add(edition.writer, GL_SPAN("b"), GL_SPAN("bbbbbbbbbbbbbbbbbbbbbb"), true, NULL, &error),
         &error);
    must(gl_writer_add(edition.writer, GL_SPAN("c"), GL_SPAN(""), false, NULL, &error), &error);
    must(gl_writer_add(edition.writer, GL_SPAN("d"), GL_SPAN(""), true, NULL, &error), &error);
    must(add_scan(edition.writer, gl_buf_span(&big), "tif", inner, &error), &error);
    finish_edition(&edition);
    gl_zip *zip = open_zip(path);
    assert_int_equal(must_find(zip, "a")->method, 8);
    assert_true(must_find(zip, "a")->packed < 22);
    assert_int_equal(must_find(zip, "b")->method, 0);
    assert_int_equal(must_find(zip, "c")->method, 8);
    assert_int_equal(must_find(zip, inner)->method, 0);
    content_is(zip, "a", GL_SPAN("aaaaaaaaaaaaaaaaaaaaaa"));
    content_is(zip, "c", GL_SPAN(""));
    content_is(zip, "d", GL_SPAN(""));
    content_is(zip, inner, gl_buf_span(&big));
    must(gl_zip_stream(zip, must_find(zip, inner), NULL, NULL, &digest, &error), &error);
    assert_true(gl_digest_equal(&digest, &right));
    assert_int_equal(must_find(zip, "a")->date, 0x5b79); /* 2025-11-25 */
    assert_int_equal(must_find(zip, "a")->time, 9 << 11 | 1 << 5);
    close_zip(zip);
    gl_buf_free(&big);
}

static void same_scan_once(void **state) {
    (void)state;
    const char *path = path_in("twice");
    char one[128], two[128], three[128];
    glassine_error error;
    open_edition edition = begin_edition(path, 1);
    must(add_scan(edition.writer, GL_SPAN("scan one"), "png", one, &error), &error);
    must(add_scan(edition.writer, GL_SPAN("scan one"), "png", two, &error), &error);
    must(add_scan(edition.writer, GL_SPAN("scan two"), "png", three, &error), &error);
    uint64_t end = finish_edition(&edition);
    assert_string_equal(one, two);
    gl_buf bytes = file_bytes(path);
    assert_int_equal(bytes.length, end);
    gl_buf_free(&bytes);
    edition = begin_edition(path, 2);
    must(add_scan(edition.writer, GL_SPAN("scan one"), "png", two, &error), &error);
    add(edition.writer, "slips/2", GL_SPAN("more"));
    finish_edition(&edition);
    gl_zip *zip = open_zip(path);
    assert_int_equal(gl_zip_count(zip), 3);
    content_is(zip, one, GL_SPAN("scan one"));
    content_is(zip, three, GL_SPAN("scan two"));
    must(gl_zip_walk(zip, NULL, NULL, &error), &error);
    close_zip(zip);
}

static void scan_that_changes(void **state) {
    (void)state;
    const char *path = path_in("changing"), *source = path_in("source");
    write_file(source, "0123456789", 10);
    open_edition edition = begin_edition(path, 1);
    glassine_error error;
    gl_digest digest, other = sha256(GL_SPAN("another"));
    int fd = open_for_reading(source);
    add(edition.writer, "first", GL_SPAN("first"));
    for (uint64_t size = 9; size <= 11; size += 2)
        refused_by(gl_writer_add_scan(edition.writer, fd, source, size, "png", NULL, &digest, &error), &error,
                   "");
    refused_by(gl_writer_add_scan(edition.writer, fd, source, 10, "png", &other, &digest, &error), &error,
               "");
    refused_by(gl_writer_add_scan(edition.writer, fd, source, 10, "PNG", NULL, &digest, &error), &error,
               "C065");
    refused_by(gl_writer_add_scan(edition.writer, fd, source, 10, "", NULL, &digest, &error), &error, "C065");
    refused_by(gl_writer_add_scan(edition.writer, fd, source, 10, "toolongname", NULL, &digest, &error),
               &error, "C065");
    gl_file_close(fd);
    add(edition.writer, "last", GL_SPAN("last"));
    finish_edition(&edition);
    gl_zip *zip = open_zip(path);
    assert_int_equal(gl_zip_count(zip), 2);
    content_is(zip, "last", GL_SPAN("last"));
    close_zip(zip);
}

/* Content with an end record of ours is written so that its raw bytes hold none, in whatever way that goes.
 */
static void end_record_inside(void **state) {
    (void)state;
    const char *path = path_in("inside");
    random_source luck = {4};
    gl_buf text = GL_BUF_EMPTY, hard = GL_BUF_EMPTY;
    for (int i = 0; i < 50; i++)
        put_mark(&text);
    /* Noise does not deflate, so zlib leaves it, and the mark in it, as it is. */
    noise(&luck, 40000, &hard);
    put_mark(&hard);
    noise(&luck, 40000, &hard);
    open_edition edition = begin_edition(path, 1);
    glassine_error error;
    char inner[128], refused[128];
    must(gl_writer_add(edition.writer, GL_SPAN("stored"), gl_buf_span(&text), true, NULL, &error), &error);
    must(add_scan(edition.writer, gl_buf_span(&text), "bin", inner, &error), &error);
    refused_by(add_scan(edition.writer, gl_buf_span(&hard), "bin", refused, &error), &error, "C072");
    refused_by(gl_writer_add(edition.writer, GL_SPAN("hard"), gl_buf_span(&hard), false, NULL, &error),
               &error, "C072");
    add(edition.writer, "last", GL_SPAN("last"));
    finish_edition(&edition);
    gl_zip *zip = open_zip(path);
    assert_int_equal(gl_zip_count(zip), 3);
    assert_int_equal(must_find(zip, "stored")->method, 8);
    assert_int_equal(must_find(zip, inner)->method, 8);
    content_is(zip, "stored", gl_buf_span(&text));
    content_is(zip, inner, gl_buf_span(&text));
    must(gl_zip_walk(zip, NULL, NULL, &error), &error);
    close_zip(zip);
    gl_buf_free(&text);
    gl_buf_free(&hard);
}

static void refusals(void **state) {
    (void)state;
    const char *path = path_in("refusals");
    glassine_error error;
    gl_writer *writer;
    uint64_t end;
    int fd = open_for_writing(path, true);
    refused_by(gl_writer_new(fd, path, NULL, GL_SPAN("Other"), 1, AT, &writer, &error), &error, "C061");
    refused_by(gl_writer_new(fd, path, NULL, BASE, 0, AT, &writer, &error), &error, "C027");
    must(gl_writer_new(fd, path, NULL, BASE, 7, AT, &writer, &error), &error);
    refused_by(gl_writer_add(writer, GL_SPAN("../a"), GL_SPAN(""), false, NULL, &error), &error, "C062");
    refused_by(gl_writer_finish(writer, &end, &error), &error, "C052");
    add(writer, "a", GL_SPAN("a"));
    refused_by(gl_writer_add(writer, GL_SPAN("a"), GL_SPAN("b"), false, NULL, &error), &error, "C064");
    must(gl_writer_finish(writer, &end, &error), &error);
    refused_by(gl_writer_finish(writer, &end, &error), &error, "");
    refused_by(gl_writer_add(writer, GL_SPAN("b"), GL_SPAN("b"), false, NULL, &error), &error, "");
    gl_writer_free(writer);
    gl_zip *zip;
    must(gl_zip_open(fd, path, NULL, &zip, &error), &error);
    assert_int_equal(gl_zip_footer(zip)->edition, 7);
    refused_by(gl_writer_new(fd, path, zip, BASE, 7, AT, &writer, &error), &error, "C027");
    refused_by(gl_writer_new(fd, path, zip, BASE, 9, AT, &writer, &error), &error, "C027");
    /* Somebody else wrote to the file after it was opened. */
    must(gl_writer_new(fd, path, zip, BASE, 8, AT, &writer, &error), &error);
    assert_int_equal(gl_file_write_at(fd, "x", 1, end), 0);
    refused_by(gl_writer_add(writer, GL_SPAN("b"), GL_SPAN("b"), false, NULL, &error), &error, "");
    gl_writer_free(writer);
    gl_zip_close(zip);
    gl_file_close(fd);
}

/* A writer that is given up leaves no trace; one that never wrote does not touch the file. */
static void given_up(void **state) {
    (void)state;
    const char *path = path_in("given-up");
    open_edition edition = begin_edition(path, 1);
    add(edition.writer, "a", GL_SPAN("a"));
    finish_edition(&edition);
    gl_buf before = file_bytes(path);
    for (int adds = 0; adds < 2; adds++) {
        edition = begin_edition(path, 2);
        if (adds)
            add(edition.writer, "b", GL_SPAN("b"));
        close_edition(&edition);
        gl_buf after = file_bytes(path);
        assert_true(gl_span_equal(gl_buf_span(&before), gl_buf_span(&after)));
        gl_buf_free(&after);
    }
    gl_buf_free(&before);
}

static void append_bytes(const char *path, gl_span bytes) {
    uint64_t size;
    int fd = open_for_writing(path, false);
    assert_int_equal(gl_file_size(fd, &size), 0);
    assert_int_equal(gl_file_write_at(fd, bytes.text, bytes.length, size), 0);
    gl_file_close(fd);
}

static void tails(void **state) {
    (void)state;
    const char *path = path_in("tailed"), *kept = path_in("tailed.tail-2"),
               *second = path_in("tailed.tail-2-2");
    open_edition edition = begin_edition(path, 1);
    add(edition.writer, "a", GL_SPAN("a"));
    finish_edition(&edition);
    gl_span tail = GL_SPAN("something that somebody appended, PK\005\006 and all");
    append_bytes(path, tail);
    gl_buf before = file_bytes(path);

    edition = begin_edition(path, 2);
    assert_int_equal(gl_zip_tail(edition.zip), tail.length);
    assert_false(gl_zip_tail_is_ours(edition.zip));
    add(edition.writer, "b", GL_SPAN("b"));
    gl_buf copy = file_bytes(kept);
    assert_true(gl_span_equal(gl_buf_span(&copy), tail));
    close_edition(&edition); /* given up: the tail is where it was, and its copy gone */
    gl_buf after = file_bytes(path);
    assert_true(gl_span_equal(gl_buf_span(&before), gl_buf_span(&after)));
    assert_int_not_equal(access(kept, F_OK), 0);

    write_file(kept, "an older one", 12); /* is not overwritten */
    edition = begin_edition(path, 2);
    add(edition.writer, "b", GL_SPAN("b"));
    finish_edition(&edition);
    gl_buf_free(&copy);
    copy = file_bytes(second);
    assert_true(gl_span_equal(gl_buf_span(&copy), tail));
    gl_zip *zip = open_zip(path);
    assert_int_equal(gl_zip_tail(zip), 0);
    assert_int_equal(gl_zip_footer(zip)->edition, 2);
    content_is(zip, "b", GL_SPAN("b"));
    close_zip(zip);
    gl_buf_free(&before);
    gl_buf_free(&after);
    gl_buf_free(&copy);
}

/* Behind a damaged edition nothing is appended. */
static void tail_of_ours(void **state) {
    (void)state;
    const char *path = path_in("ours");
    open_edition edition = begin_edition(path, 1);
    add(edition.writer, "a", GL_SPAN("a"));
    uint64_t first = finish_edition(&edition);
    edition = begin_edition(path, 2);
    add(edition.writer, "b", GL_SPAN("b"));
    finish_edition(&edition);
    int fd = open_for_writing(path, false);
    assert_int_equal(gl_file_write_at(fd, "#", 1, first + 5), 0);
    glassine_error error;
    gl_zip *zip;
    gl_writer *writer;
    must(gl_zip_open(fd, path, NULL, &zip, &error), &error);
    assert_int_equal(gl_zip_footer(zip)->edition, 1);
    assert_true(gl_zip_tail_is_ours(zip));
    assert_non_null(gl_zip_tail_fault(zip));
    assert_string_equal(gl_zip_tail_fault(zip)->rule, "C054");
    refused_by(gl_writer_new(fd, path, zip, BASE, 2, AT, &writer, &error), &error, "C013");
    gl_zip_close(zip);
    gl_file_close(fd);
}

static void raw_copies(void **state) {
    (void)state;
    const char *from = path_in("from"), *to = path_in("to");
    char inner[128];
    glassine_error error;
    open_edition edition = begin_edition(from, 1);
    add(edition.writer, "slips/1", GL_SPAN("some text, some text, some text"));
    must(add_scan(edition.writer, GL_SPAN("picture"), "png", inner, &error), &error);
    finish_edition(&edition);
    gl_zip *source = open_zip(from);
    int fd = open_for_writing(to, true);
    must(gl_writer_new(fd, to, NULL, GL_SPAN("glassine-elsewhere"), 5, 0, &edition.writer, &error), &error);
    edition.zip = NULL;
    edition.fd = fd;
    for (size_t i = 0; i < gl_zip_count(source); i++)
        must(gl_writer_add_raw(edition.writer, source, gl_zip_at(source, i), &error), &error);
    finish_edition(&edition);
    close_zip(source);
    gl_zip *zip = open_zip(to);
    assert_true(gl_span_is(gl_zip_base(zip), "glassine-elsewhere"));
    content_is(zip, "slips/1", GL_SPAN("some text, some text, some text"));
    content_is(zip, inner, GL_SPAN("picture"));
    assert_int_equal(must_find(zip, "slips/1")->date, 0x0021); /* clamped to 1980-01-01 */
    must(gl_zip_walk(zip, NULL, NULL, &error), &error);
    close_zip(zip);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stored_and_deflated),
        cmocka_unit_test(same_scan_once),
        cmocka_unit_test(scan_that_changes),
        cmocka_unit_test(end_record_inside),
        cmocka_unit_test(refusals),
        cmocka_unit_test(given_up),
        cmocka_unit_test(tails),
        cmocka_unit_test(tail_of_ours),
        cmocka_unit_test(raw_copies),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
