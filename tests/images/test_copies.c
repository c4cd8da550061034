/* Stripped and reduced copies of pictures that are torn or mutated: both end, within bounds, and what is stripped tells
 * nothing any more. That pixels and colours stay is checked with other people's programs (tests/interop/copies.py). */
#include "images/pictures.h"
#include "images/reduce.h"

enum { JPEG, PNG, TIFF_LITTLE, TIFF_BIG_ENDIAN, TIFF_BIG, SAMPLES };

static void build(gl_buf *out, int kind) {
    switch (kind) {
    case JPEG:
        begin_jpeg(out);
        put_jfif(out, 1, 300, 300);
        put_exif_segment(out, true);
        put_xmp_segment(out, "<photoshop:City/>");
        put_iptc_segment(out, 90, "Sorrel Bay");
        put_segment(out, 0xFE, GL_SPAN("A. Keeper was here"));
        end_jpeg(out);
        gl_buf_add_text(out, "behind the end: Sorrel Bay");
        break;
    case PNG:
        begin_png(out);
        put_density(out, 11811, 11811, 1);
        put_exif_chunk(out, true);
        put_packed_text(out, true, "XML:com.adobe.xmp", GL_SPAN("<dc:creator/>"));
        end_png(out);
        gl_buf_add_text(out, "behind the end: Sorrel Bay");
        break;
    default:
        build_tiff(out, kind == TIFF_LITTLE, kind == TIFF_BIG);
    }
}

static bool tells(const gl_image *image) {
    return image->place || image->person || image->maker_serial;
}

static bool holds(const gl_buf *file, const char *text) {
    for (size_t at = 0; at + strlen(text) <= file->length; at++)
        if (memcmp(file->text + at, text, strlen(text)) == 0)
            return true;
    return false;
}

static void test_tells_nothing_any_more(void **state) {
    (void)state;
    for (int kind = 0; kind < SAMPLES; kind++) {
        gl_buf file = GL_BUF_EMPTY, made = GL_BUF_EMPTY, again = GL_BUF_EMPTY;
        build(&file, kind);
        gl_image before = look_at(gl_buf_span(&file));
        assert_true(tells(&before));
        assert_int_equal(gl_strip(gl_buf_span(&file), &made), GL_STRIP_DONE);
        assert_false(made.failed);
        gl_image after = look_at(gl_buf_span(&made));
        assert_false(tells(&after));
        assert_false(holds(&made, "Sorrel Bay") || holds(&made, "Keeper") || holds(&made, "4711"));
        assert_null(after.trouble);
        assert_int_equal(after.width, before.width);
        assert_int_equal(after.height, before.height);
        assert_int_equal(after.dpi_x, before.dpi_x);
        assert_int_equal(after.dpi_y, before.dpi_y);
        assert_int_equal(after.orientation, before.orientation);
        assert_int_equal(gl_strip(gl_buf_span(&made), &again), GL_STRIP_NOTHING);
        gl_buf_free(&file);
        gl_buf_free(&made);
        gl_buf_free(&again);
    }
}

/* A picture of bytes whose end a sanitizer knows. */
static void try_both(gl_span content) {
    char *copy = malloc(content.length + 1);
    assert_non_null(copy);
    memcpy(copy, content.text, content.length);
    gl_span file = {copy, content.length};
    gl_buf made = GL_BUF_EMPTY;
    gl_image image = look_at(file), after;
    if (gl_strip(file, &made) == GL_STRIP_DONE) {
        assert_true(made.length <= 2 * file.length + 65536 + 4096);
        after = look_at(gl_buf_span(&made));
        assert_false(after.place || after.person);
    }
    gl_reduced reduced;
    if (gl_reduce(file, &image, "picture", 16, &reduced, NULL) == GLASSINE_OK) {
        assert_true(reduced.width <= 16 && reduced.height <= 16);
        free(reduced.bytes);
    }
    gl_buf_free(&made);
    free(copy);
}

static void test_every_cut(void **state) {
    (void)state;
    for (int kind = 0; kind < SAMPLES; kind++) {
        gl_buf file = GL_BUF_EMPTY;
        build(&file, kind);
        for (size_t length = 0; length <= file.length; length++)
            try_both((gl_span){file.text, length});
        gl_buf_free(&file);
    }
}

static void test_mutations(void **state) {
    (void)state;
    unit_random random = {8};
    for (int i = 0; i < 6000; i++) {
        gl_buf file = GL_BUF_EMPTY;
        build(&file, i % SAMPLES);
        for (size_t k = unit_below(&random, 6) + 1; k > 0; k--)
            file.text[unit_below(&random, file.length)] = (char)unit_next(&random);
        try_both(gl_buf_span(&file));
        gl_buf_free(&file);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tells_nothing_any_more),
        cmocka_unit_test(test_every_cut),
        cmocka_unit_test(test_mutations),
    };
    return cmocka_run_group_tests(tests, serve_files, stop_serving);
}
