/* What is whole in a damaged file is found: by headers, by records, by neither; also where the disk fails. */
#include "support.h"

#include <errno.h>

#include "container/salvage.h"

enum { SCANS = 4 };

typedef struct scene {
    const char *path;
    char scans[SCANS][128]; /* inner names */
    gl_buf content[SCANS];
    gl_buf bytes; /* of the file */
    int fd;
} scene;

static void set_scene(scene *it) {
    *it = (scene){.path = path_in("file")};
    unlink(it->path);
    random_source luck = {7};
    for (uint32_t number = 1; number <= SCANS; number++) {
        glassine_error error;
        open_edition edition = begin_edition(it->path, number);
        gl_buf *content = &it->content[number - 1];
        for (int i = 0; i < 3000; i++)
            gl_buf_add_char(content, (char)draw(&luck));
        must(add_scan(edition.writer, gl_buf_span(content), "png", it->scans[number - 1], &error), &error);
        must(gl_writer_add(edition.writer, GL_SPAN("notes.txt"), GL_SPAN("notes"), false, NULL, &error),
             &error);
        finish_edition(&edition);
    }
    it->bytes = file_bytes(it->path);
}

static void clear_scene(scene *it) {
    for (size_t i = 0; i < SCANS; i++)
        gl_buf_free(&it->content[i]);
    gl_buf_free(&it->bytes);
    gl_file_close(it->fd);
}

static gl_salvage *salvage_bytes(scene *it, const void *bytes, size_t length) {
    glassine_error error;
    gl_salvage *salvage;
    write_file(it->path, bytes, length);
    it->fd = open_for_reading(it->path);
    must(gl_salvage_open(it->fd, it->path, GL_NO_SPAN, NULL, &salvage, &error), &error);
    return salvage;
}

static const gl_piece *whole(const gl_salvage *salvage, const char *inner) {
    for (size_t i = 0; i < gl_salvage_count(salvage); i++) {
        const gl_piece *piece = gl_salvage_at(salvage, i);
        if (piece->whole && gl_span_is(piece->inner, inner))
            return piece;
    }
    return NULL;
}

static size_t scans_found(const scene *it, const gl_salvage *salvage) {
    size_t found = 0;
    for (size_t i = 0; i < SCANS; i++)
        found += whole(salvage, it->scans[i]) != NULL;
    return found;
}

static const char *find_bytes(gl_span in, gl_span what) {
    for (size_t i = 0; i + what.length <= in.length; i++)
        if (in.text[i] == what.text[0] && memcmp(in.text + i, what.text, what.length) == 0)
            return in.text + i;
    return NULL;
}

/* Where a scan's local header begins. */
static size_t header_of(const scene *it, size_t scan) {
    const char *data = find_bytes(gl_buf_span(&it->bytes), gl_buf_span(&it->content[scan]));
    assert_non_null(data);
    return (size_t)(data - it->bytes.text) - 30 - BASE.length - 1 - strlen(it->scans[scan]);
}

static void wipe_directories(char *bytes, size_t length) {
    for (size_t i = 0; i + 4 <= length; i++)
        if (memcmp(bytes + i, "PK\001\002", 4) == 0 || memcmp(bytes + i, "PK\005\006", 4) == 0)
            bytes[i] = 0;
}

static void headers_are_enough(void **state) {
    (void)state;
    scene it;
    set_scene(&it);
    wipe_directories(it.bytes.text, it.bytes.length);
    gl_salvage *salvage = salvage_bytes(&it, it.bytes.text, it.bytes.length);
    assert_int_equal(scans_found(&it, salvage), SCANS);
    assert_int_equal(gl_salvage_edition(salvage), 0);
    gl_salvage_close(salvage);
    clear_scene(&it);
}

/* … wherever they have come to lie. */
static void records_are_enough(void **state) {
    (void)state;
    scene it;
    set_scene(&it);
    gl_buf moved = GL_BUF_EMPTY;
    for (int i = 0; i < 1234; i++)
        gl_buf_add_char(&moved, 'x');
    memset(it.bytes.text + header_of(&it, 1), 0, 30);
    memset(it.bytes.text + header_of(&it, 2), 0xff, 60);
    gl_buf_add(&moved, gl_buf_span(&it.bytes));
    gl_salvage *salvage = salvage_bytes(&it, moved.text, moved.length);
    assert_int_equal(scans_found(&it, salvage), SCANS);
    assert_int_equal(gl_salvage_edition(salvage), SCANS);
    gl_salvage_close(salvage);
    gl_buf_free(&moved);
    clear_scene(&it);
}

static void a_scan_without_any_word(void **state) {
    (void)state;
    scene it;
    set_scene(&it);
    memset(it.bytes.text + header_of(&it, 2), 0, 50);
    wipe_directories(it.bytes.text, it.bytes.length);
    gl_salvage *salvage = salvage_bytes(&it, it.bytes.text, it.bytes.length);
    assert_int_equal(scans_found(&it, salvage), SCANS - 1);
    gl_digest digest;
    assert_true(gl_digest_parse((gl_span){it.scans[2] + strlen("data/scans/"), 64}, &digest));
    glassine_error error;
    bool found;
    must(
        gl_salvage_find_scan(salvage, &digest, gl_span_of(it.scans[2]), it.content[2].length, &found, &error),
        &error);
    assert_true(found);
    assert_int_equal(scans_found(&it, salvage), SCANS);
    must(gl_salvage_find_scan(salvage, &digest, gl_span_of(it.scans[2]), 77, &found, &error), &error);
    assert_false(found);
    gl_salvage_close(salvage);
    clear_scene(&it);
}

/* One letter of a name in its header is another: the directories, of which there are more, are believed. */
static void the_more_frequent_name(void **state) {
    (void)state;
    scene it;
    set_scene(&it);
    it.bytes.text[header_of(&it, 0) + 30 + BASE.length + 1 + strlen(it.scans[0]) - 1] = 'x';
    gl_salvage *salvage = salvage_bytes(&it, it.bytes.text, it.bytes.length);
    assert_int_equal(scans_found(&it, salvage), SCANS);
    gl_salvage_close(salvage);
    clear_scene(&it);
}

/* -------------------------------------------------------------------------------------- a failing disk */

static struct {
    uint64_t from, to;
    gl_calls calls;
} bad_sectors;

static ssize_t pread_of_bad_disk(int fd, void *bytes, size_t length, off_t at) {
    if ((uint64_t)at < bad_sectors.to && (uint64_t)at + length > bad_sectors.from) {
        errno = EIO;
        return -1;
    }
    return gl_calls_system()->pread(fd, bytes, length, at);
}

static void sectors_that_cannot_be_read(void **state) {
    (void)state;
    scene it;
    set_scene(&it);
    bad_sectors.from = header_of(&it, 1) + 1000;
    bad_sectors.to = bad_sectors.from + 512;
    bad_sectors.calls = *gl_calls_system();
    bad_sectors.calls.pread = pread_of_bad_disk;
    gl_calls_use(&bad_sectors.calls);
    gl_salvage *salvage = salvage_bytes(&it, it.bytes.text, it.bytes.length);
    assert_null(whole(salvage, it.scans[1]));
    assert_non_null(whole(salvage, it.scans[0]));
    assert_non_null(whole(salvage, it.scans[3]));
    gl_salvage_close(salvage);
    without_syncs();
    clear_scene(&it);
}

/* --------------------------------------------------------------------------------------------- fragments */

static bool gather_text(void *context, gl_buf *text) {
    gl_buf_add(context, gl_buf_span(text));
    gl_buf_free(text);
    return true;
}

static bool holds_line(const gl_buf *text, int number) {
    char line[32];
    snprintf(line, sizeof line, "line number %d\n", number);
    return find_bytes(gl_buf_span(text), gl_span_of(line)) != NULL;
}

/* A damaged stretch of a segment takes what is near it, and not all that follows. */
static void a_segment_is_taken_up_again(void **state) {
    (void)state;
    enum { LINES = 60000 };
    glassine_error error;
    scene it;
    set_scene(&it);
    unlink(it.path);
    gl_buf text = GL_BUF_EMPTY, got = GL_BUF_EMPTY;
    for (int i = 0; i < LINES; i++)
        gl_buf_printf(&text, "line number %d\n", i);
    open_edition edition = begin_edition(it.path, 1);
    must(gl_writer_add(edition.writer, GL_SPAN("slips/1"), gl_buf_span(&text), false, NULL, &error), &error);
    finish_edition(&edition);
    gl_buf bytes = file_bytes(it.path);
    memset(bytes.text + bytes.length / 2, 0, 512);
    gl_salvage *salvage = salvage_bytes(&it, bytes.text, bytes.length);
    must(gl_salvage_fragments(salvage, gather_text, &got, &error), &error);
    size_t lost = 0, last = 0;
    for (int i = 0; i < LINES; i += 100)
        if (!holds_line(&got, i)) {
            lost++;
            last = (size_t)i;
        }
    assert_true(lost > 0);
    assert_true(lost < LINES / 100 / 3);
    assert_true(last < LINES - 100);
    assert_true(holds_line(&got, 0));
    assert_true(holds_line(&got, LINES - 1));
    gl_salvage_close(salvage);
    gl_buf_free(&text);
    gl_buf_free(&got);
    gl_buf_free(&bytes);
    clear_scene(&it);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(headers_are_enough),          cmocka_unit_test(records_are_enough),
        cmocka_unit_test(a_scan_without_any_word),     cmocka_unit_test(the_more_frequent_name),
        cmocka_unit_test(sectors_that_cannot_be_read), cmocka_unit_test(a_segment_is_taken_up_again),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
