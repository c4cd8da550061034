/* The promise that a file only grows: random editions against a model, every prefix, every cut, a bit of
 * every byte. */
#include "support.h"

enum { EDITIONS = 8 };

typedef struct grown_file {
    file_model models[EDITIONS + 1];
    uint64_t ends[EDITIONS + 1]; /* length of the file at edition i */
    uint32_t count;
} grown_file;

static void free_grown(grown_file *grown) {
    for (uint32_t i = 1; i <= grown->count; i++)
        model_free(&grown->models[i]);
}

static void one_change(random_source *luck, gl_writer *writer, file_model *model, size_t most,
                       gl_buf *content) {
    static const char *const names[] = {"read-me.txt",
                                        "data/about.json",
                                        "slips/1.jsonl",
                                        "slips/2.jsonl",
                                        "notes/\xc3\xa9t\xc3\xa9.txt",
                                        "kept by others/a",
                                        "kept by others/b"};
    glassine_error error;
    char inner[128];
    draw_content(luck, most, content);
    if (draw_below(luck, 3) == 0) {
        must(add_scan(writer, gl_buf_span(content), "png", inner, &error), &error);
    } else {
        snprintf(inner, sizeof inner, "%s", names[draw_below(luck, COUNT(names))]);
        bool store = draw_below(luck, 3) == 0;
        glassine_status status =
            gl_writer_add(writer, gl_span_of(inner), gl_buf_span(content), store, NULL, &error);
        if (status) { /* written in this edition already */
            refused_by(status, &error, "C064");
            return;
        }
    }
    model_put(model, inner, gl_buf_span(content));
}

/* Takes something out that an earlier edition wrote. */
static void one_drop(random_source *luck, const open_edition *edition, file_model *model) {
    if (!edition->zip)
        return;
    const gl_entry *entry = gl_zip_at(edition->zip, draw_below(luck, gl_zip_count(edition->zip)));
    gl_span inner = gl_zip_inner(edition->zip, entry);
    char name[128];
    snprintf(name, sizeof name, "%.*s", GL_SPAN_ARGS(inner));
    gl_writer_drop(edition->writer, inner);
    model_drop(model, name);
    assert_false(gl_writer_has(edition->writer, inner));
}

static void grow(random_source *luck, const char *path, uint32_t editions, size_t changes, size_t most,
                 grown_file *grown) {
    gl_buf content = GL_BUF_EMPTY;
    *grown = (grown_file){.count = editions};
    for (uint32_t number = 1; number <= editions; number++) {
        file_model *model = &grown->models[number];
        model_copy(&grown->models[number - 1], model);
        open_edition edition = begin_edition(path, number);
        if (draw_below(luck, 3) == 0)
            one_drop(luck, &edition, model);
        must(gl_writer_add(edition.writer, GL_SPAN("slips/0.jsonl"), GL_SPAN("always\n"), false, NULL, NULL),
             NULL);
        model_put(model, "slips/0.jsonl", GL_SPAN("always\n"));
        for (size_t i = 0; i < changes; i++)
            one_change(luck, edition.writer, model, most, &content);
        grown->ends[number] = finish_edition(&edition);
    }
    gl_buf_free(&content);
}

static bool count_footer(void *context, const gl_footer *footer) {
    const gl_footer **last = context;
    static gl_footer kept;
    if (*last) {
        assert_int_equal((*last)->start, footer->end);
        assert_int_equal((*last)->edition, footer->edition + 1);
    }
    kept = *footer;
    *last = &kept;
    return true;
}

static void random_editions(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= 25; seed++) {
        random_source luck = {seed};
        grown_file grown;
        const char *path = path_in("grown");
        grow(&luck, path, 1 + (uint32_t)draw_below(&luck, EDITIONS), 1 + draw_below(&luck, 5), 3000, &grown);
        gl_buf bytes = file_bytes(path);
        assert_int_equal(bytes.length, grown.ends[grown.count]);
        for (uint32_t number = 1; number <= grown.count; number++) {
            const char *prefix = path_in("prefix");
            write_file(prefix, bytes.text, (size_t)grown.ends[number]);
            gl_zip *zip = open_zip(prefix);
            glassine_error error;
            const gl_footer *last = NULL;
            assert_int_equal(gl_zip_footer(zip)->edition, number);
            assert_int_equal(gl_zip_tail(zip), 0);
            assert_null(gl_zip_tail_fault(zip));
            model_agrees(&grown.models[number], zip);
            must(gl_zip_check_locals(zip, &error), &error);
            must(gl_zip_walk(zip, count_footer, &last, &error), &error);
            assert_int_equal(last->edition, 1);
            assert_int_equal(last->start, 0);
            close_zip(zip);
        }
        gl_buf_free(&bytes);
        free_grown(&grown);
        assert_int_equal(gl_file_remove(path), 0);
    }
}

static void cut_at_every_byte(void **state) {
    (void)state;
    random_source luck = {7};
    grown_file grown;
    const char *path = path_in("whole"), *cut = path_in("cut");
    grow(&luck, path, 4, 3, 200, &grown);
    gl_buf bytes = file_bytes(path);
    uint32_t right = 0;
    for (size_t length = 0; length <= bytes.length; length++) {
        while (right < grown.count && grown.ends[right + 1] <= length)
            right++;
        write_file(cut, bytes.text, length);
        glassine_error error;
        gl_zip *zip;
        int fd = open_for_reading(cut);
        glassine_status status = gl_zip_open(fd, cut, NULL, &zip, &error);
        assert_int_equal(status, right ? GLASSINE_OK : GLASSINE_REFUSED);
        if (right) {
            assert_int_equal(gl_zip_footer(zip)->edition, right);
            assert_int_equal(gl_zip_tail(zip), length - grown.ends[right]);
            model_agrees(&grown.models[right], zip);
        }
        gl_zip_close(zip);
        gl_file_close(fd);
    }
    gl_buf_free(&bytes);
    free_grown(&grown);
}

static bool version_is_ours(void *context, const gl_footer *footer) {
    bool *ours = context;
    *ours = *ours && footer->major == GLASSINE_FORMAT_MAJOR && footer->minor == GLASSINE_FORMAT_MINOR;
    return true;
}

/* All that the container can check of itself: NULL, or what it was noticed by. The version is checked against
 * the log by those above, so a changed one only has to be seen. */
static const char *noticed(const char *path, const gl_footer *right) {
    glassine_error error;
    gl_zip *zip;
    int fd = open_for_reading(path);
    const char *by = NULL;
    bool ours = true;
    if (gl_zip_open(fd, path, NULL, &zip, &error))
        by = "open";
    else if (gl_zip_tail(zip) || gl_zip_footer(zip)->edition != right->edition)
        by = "another edition";
    else if (gl_zip_check_locals(zip, &error))
        by = "locals";
    else if (gl_zip_walk(zip, version_is_ours, &ours, &error))
        by = "walk";
    else if (!ours)
        by = "version";
    for (size_t i = 0; !by && i < gl_zip_count(zip); i++)
        if (gl_zip_stream(zip, gl_zip_at(zip, i), NULL, NULL, NULL, &error))
            by = "content";
    gl_zip_close(zip);
    gl_file_close(fd);
    return by;
}

static void every_byte_counts(void **state) {
    (void)state;
    random_source luck = {3};
    grown_file grown;
    const char *path = path_in("sound"), *bent = path_in("bent");
    grow(&luck, path, 3, 2, 60, &grown);
    gl_zip *zip = open_zip(path);
    gl_footer right = *gl_zip_footer(zip);
    close_zip(zip);
    assert_null(noticed(path, &right));
    gl_buf bytes = file_bytes(path);
    for (size_t at = 0; at < bytes.length; at++) {
        char bit = (char)(1 << at % 8);
        bytes.text[at] ^= bit;
        write_file(bent, bytes.text, bytes.length);
        bytes.text[at] ^= bit;
        if (!noticed(bent, &right))
            fail_msg("bit %zu of byte %zu goes unseen", at % 8, at);
    }
    gl_buf_free(&bytes);
    free_grown(&grown);
}

/* What an edition leaves is byte for byte the same, whatever machine and hour it is written on. */
static void same_bytes_again(void **state) {
    (void)state;
    grown_file one, two;
    random_source first = {11}, second = {11};
    grow(&first, path_in("one"), 5, 4, 500, &one);
    grow(&second, path_in("two"), 5, 4, 500, &two);
    gl_buf a = file_bytes(path_in("one")), b = file_bytes(path_in("two"));
    assert_true(gl_span_equal(gl_buf_span(&a), gl_buf_span(&b)));
    gl_buf_free(&a);
    gl_buf_free(&b);
    free_grown(&one);
    free_grown(&two);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_editions),
        cmocka_unit_test(cut_at_every_byte),
        cmocka_unit_test(every_byte_counts),
        cmocka_unit_test(same_bytes_again),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
