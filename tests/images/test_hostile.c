/* Pictures that are torn, mutated or made to cost much: looking at them ends, within bounds, with something
 * said. */
#include "images/pictures.h"

enum { JPEG, PNG, TIFF_LITTLE, TIFF_BIG, SAMPLES };

/* A picture of each kind with everything in it that is looked at. */
static void build(gl_buf *out, int kind) {
    switch (kind) {
    case JPEG:
        begin_jpeg(out);
        put_jfif(out, 1, 300, 300);
        put_exif_segment(out, true);
        put_xmp_segment(out, "<photoshop:City/> \xFF\xD9 the end of a preview inside");
        put_iptc_segment(out, 90, "Sorrel Bay");
        end_jpeg(out);
        break;
    case PNG:
        begin_png(out);
        put_density(out, 11811, 11811, 1);
        put_exif_chunk(out, true);
        put_packed_text(out, false, "Raw profile type iptc",
                        GL_SPAN("\niptc\n 12\n3842494d0404000000000007\n1c025a0002\n"));
        put_packed_text(out, true, "XML:com.adobe.xmp", GL_SPAN("<dc:creator/>"));
        end_png(out);
        break;
    default:
        build_tiff(out, kind == TIFF_LITTLE, kind == TIFF_BIG);
    }
}

/* Each proper beginning that is still known for what it is has its trouble named. */
static void test_every_cut(void **state) {
    static const size_t known_from[SAMPLES] = {3, 8, 4, 4};
    (void)state;
    for (int kind = 0; kind < SAMPLES; kind++) {
        gl_buf file = GL_BUF_EMPTY;
        build(&file, kind);
        assert_null(look_at(gl_buf_span(&file)).trouble);
        for (size_t length = 0; length < file.length; length++) {
            gl_image image = look_at((gl_span){file.text, length});
            if (length >= known_from[kind])
                assert_non_null(image.trouble);
            else
                assert_string_equal(image.extension, "bin");
        }
        gl_buf_free(&file);
    }
}

static void mutate(unit_random *random, gl_buf *file) {
    for (size_t i = unit_below(random, 8) + 1; i > 0; i--) {
        size_t at = unit_below(random, file->length);
        switch (unit_below(random, 4)) {
        case 0:
            file->text[at] = (char)unit_next(random);
            break;
        case 1:
            file->text[at] = (char)(file->text[at] ^ 1 << unit_below(random, 8));
            break;
        case 2: /* numbers at their bounds */
            memset(file->text + at, unit_below(random, 2) ? 0xFF : 0,
                   file->length - at < 4 ? file->length - at : 4);
            break;
        default: /* something copied over something else */
            memmove(file->text + at, file->text + unit_below(random, at + 1),
                    file->length - at < 16 ? file->length - at : 16);
        }
    }
}

static void test_mutations(void **state) {
    (void)state;
    unit_random random = {20260101};
    for (int kind = 0; kind < SAMPLES; kind++) {
        gl_buf file = GL_BUF_EMPTY, changed = GL_BUF_EMPTY;
        build(&file, kind);
        for (int i = 0; i < 3000; i++) {
            gl_buf_clear(&changed);
            gl_buf_add(&changed, gl_buf_span(&file));
            mutate(&random, &changed);
            look_at(gl_buf_span(&changed));
        }
        gl_buf_free(&file);
        gl_buf_free(&changed);
    }
}

/* Directories that lead to each other, for ever. */
static void test_loop(void **state) {
    (void)state;
    gl_buf file = GL_BUF_EMPTY;
    layout as = begin_tiff(&file, true, false);
    const entry page[] = {{256, SHORT, NULL, 3, 0}, {257, SHORT, NULL, 2, 0}};
    put_directory(&file, &as, page, 2, 8 + 2 + 24 + 4); /* the second one */
    put_directory(&file, &as, page, 2, 8);
    end_tiff(&file, &as, 8);
    gl_image image = look_at(gl_buf_span(&file));
    assert_string_equal(image.trouble, "directories that lead back to each other");
    assert_int_equal(image.width, 3);
    gl_buf_free(&file);
}

/* Thousands of tags that all name the same long text: the work is bounded by the file's size. */
static void test_costly(void **state) {
    enum { TAGS = 60000, TEXT = 100000 };
    (void)state;
    gl_buf file = GL_BUF_EMPTY;
    layout as = begin_tiff(&file, true, false);
    put_bytes(&file, TAGS, 2, true);
    for (int i = 0; i < TAGS; i++) {
        put_bytes(&file, 700, 2, true);
        put_bytes(&file, 1, 2, true);
        put_bytes(&file, TEXT, 4, true);
        put_bytes(&file, 8 + 2 + TAGS * 12 + 4, 4, true);
    }
    put_bytes(&file, 0, 4, true);
    for (int i = 0; i < TEXT; i++)
        gl_buf_add_char(&file, ':');
    end_tiff(&file, &as, 8);
    gl_image image = look_at(gl_buf_span(&file));
    assert_string_equal(image.trouble, "more structure than a picture has; not all of it was looked at");
    gl_buf_free(&file);
}

/* A text that unpacks to far more than is looked at. */
static void test_swelling_text(void **state) {
    enum { SIZE = 8 << 20 };
    (void)state;
    gl_buf file = GL_BUF_EMPTY;
    char *spaces = malloc(SIZE);
    assert_non_null(spaces);
    memset(spaces, ' ', SIZE);
    begin_png(&file);
    for (int i = 0; i < 100; i++)
        put_packed_text(&file, true, "XML:com.adobe.xmp", (gl_span){spaces, SIZE / 8});
    put_packed_text(&file, true, "XML:com.adobe.xmp", (gl_span){spaces, SIZE});
    end_png(&file);
    assert_string_equal(look_at(gl_buf_span(&file)).trouble,
                        "more structure than a picture has; not all of it was looked at");
    gl_buf_free(&file);
    free(spaces);
}

/* Every read that fails is told as the system's failure; a file that became shorter is a torn one. */
static void test_failing_reads(void **state) {
    (void)state;
    for (int kind = 0; kind < SAMPLES; kind++) {
        gl_buf file = GL_BUF_EMPTY;
        build(&file, kind);
        look_at(gl_buf_span(&file));
        unsigned calls = served.calls;
        assert_true(calls > 0);
        for (unsigned i = 1; i <= calls; i++) {
            gl_image image;
            glassine_error error = {0};
            served.content = gl_buf_span(&file);
            served.calls = 0;
            served.fail_at = i;
            assert_int_equal(gl_image_look(3, "picture", &image, &error), GLASSINE_SYSTEM);
            assert_string_equal(error.place, "picture");
        }
        gl_image image;
        glassine_error error = {0};
        served.fail_at = 0;
        served.content.length = 100;
        assert_int_equal(gl_image_look(3, "picture", &image, &error), GLASSINE_OK);
        gl_buf_free(&file);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_cut),     cmocka_unit_test(test_mutations),
        cmocka_unit_test(test_loop),          cmocka_unit_test(test_costly),
        cmocka_unit_test(test_swelling_text), cmocka_unit_test(test_failing_reads),
    };
    return cmocka_run_group_tests(tests, serve_files, stop_serving);
}
