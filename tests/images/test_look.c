/* What pictures say of themselves: kinds, sizes, resolutions, places. Independent programs are asked the same
 * in tests/interop/images.py. */
#include "images/pictures.h"
#include "markdown.h"

#include "base/file.h"

static void test_resolution(void **state) {
    /* Exact values by hand: dots * 100 / per, or dots * 254 / per, to the nearest. */
    static const struct {
        uint64_t dots, per;
        bool centimetres;
        uint32_t expected;
    } cases[] = {
        {300, 1, false, 30000},
        {12001, 10, false, 120010},
        {1, 3, false, 33},
        {1, 200, false, 1}, /* a half goes up */
        {1, 201, false, 0},
        {118, 1, true, 29972},      /* JFIF, dots per centimetre */
        {47244, 100, true, 120000}, /* PNG, pixels per metre: 119999.76 */
        {11811, 100, true, 30000},  /* 29999.94 */
        {2835, 100, true, 7201},    /* 7200.9: what is written, not what may have been meant */
        {0, 1, false, 0},
        {72, 0, false, 0},
        {100000, 1, false, 10000000},
        {100001, 1, false, 0}, /* beyond what the field of a scan takes */
        {UINT32_MAX, 1, true, 0},
        {UINT64_MAX, UINT64_MAX, true, 0},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++)
        assert_int_equal(gl_resolution(cases[i].dots, cases[i].per, cases[i].centimetres), cases[i].expected);
}

static void test_tiff(void **state) {
    (void)state;
    for (int i = 0; i < 4; i++) {
        gl_buf file = GL_BUF_EMPTY;
        build_tiff(&file, i & 1, i & 2);
        gl_image image = look_at(gl_buf_span(&file));
        assert_null(image.trouble);
        assert_string_equal(image.media, "image/tiff");
        assert_string_equal(image.extension, "tif");
        assert_int_equal(image.width, 30);
        assert_int_equal(image.height, 20);
        assert_int_equal(image.dpi_x, 120000);
        assert_int_equal(image.dpi_y, 60000);
        assert_int_equal(image.orientation, 6);
        assert_true(image.place && image.maker_serial && image.person);
        gl_buf_free(&file);
    }
}

static void test_jpeg_density(void **state) {
    static const struct {
        int unit; /* -1: no JFIF segment */
        bool exif;
        uint32_t expected;
    } cases[] = {
        {1, false, 15000}, {2, false, 38100}, {0, false, 0},
        {-1, false, 0},    {-1, true, 76200}, /* EXIF, 300 per centimetre */
        {0, true, 76200},                     /* JFIF gives a ratio only */
        {1, true, 15000},                     /* JFIF first */
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases) * 2; i++) {
        gl_buf file = GL_BUF_EMPTY;
        bool exif_first = i >= UNIT_COUNT(cases);
        size_t c = i % UNIT_COUNT(cases);
        begin_jpeg(&file);
        if (cases[c].exif && exif_first)
            put_exif_segment(&file, true);
        if (cases[c].unit >= 0)
            put_jfif(&file, (uint8_t)cases[c].unit, 150, 150);
        if (cases[c].exif && !exif_first)
            put_exif_segment(&file, true);
        end_jpeg(&file);
        gl_image image = look_at(gl_buf_span(&file));
        assert_null(image.trouble);
        assert_string_equal(image.media, "image/jpeg");
        assert_int_equal(image.width, 640);
        assert_int_equal(image.height, 480);
        assert_int_equal(image.dpi_x, cases[c].expected);
        assert_int_equal(image.dpi_y, cases[c].expected);
        assert_int_equal(image.orientation, cases[c].exif ? 3 : 0);
        assert_int_equal(image.place, cases[c].exif);
        assert_int_equal(image.person, cases[c].exif);
        gl_buf_free(&file);
    }
}

static gl_image look_at_jpeg(const char *xmp, int iptc, int exif) {
    gl_buf file = GL_BUF_EMPTY;
    begin_jpeg(&file);
    if (xmp)
        put_xmp_segment(&file, xmp);
    if (iptc)
        put_iptc_segment(&file, (uint8_t)iptc, "Sorrel Bay");
    if (exif)
        put_exif_segment(&file, exif > 1);
    end_jpeg(&file);
    gl_image image = look_at(gl_buf_span(&file));
    assert_null(image.trouble);
    gl_buf_free(&file);
    return image;
}

static void test_jpeg_private(void **state) {
    static const struct {
        const char *xmp;
        int iptc, exif; /* exif 1: a GPS directory without a place, 2: with one */
        bool place, serial, person;
    } cases[] = {
        {NULL, 0, 0, false, false, false},
        {NULL, 0, 1, false, false, true},
        {NULL, 0, 2, true, false, true},
        {NULL, 90, 0, true, false, false},   /* city */
        {NULL, 101, 0, true, false, false},  /* country */
        {NULL, 80, 0, false, false, true},   /* by-line */
        {NULL, 120, 0, false, false, false}, /* caption */
        {"<exif:GPSLatitude>51,30N</exif:GPSLatitude>", 0, 0, true, false, false},
        {"<rdf:Description photoshop:City=\"Sorrel Bay\"/>", 0, 0, true, false, false},
        {"<dc:creator><rdf:Seq/></dc:creator>", 0, 0, false, false, true},
        {"<aux:SerialNumber>1</aux:SerialNumber>", 0, 0, false, true, false},
        {"<xmp:CreatorTool>a scanner</xmp:CreatorTool><dc:title>City, State</dc:title>", 0, 0, false, false,
         false},
        {"<photoshop:CityHall/>:", 0, 0, false, false, false},
        {"trailing :City", 0, 0, true, false, false},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        gl_image image = look_at_jpeg(cases[i].xmp, cases[i].iptc, cases[i].exif);
        assert_int_equal(image.place, cases[i].place);
        assert_int_equal(image.maker_serial, cases[i].serial);
        assert_int_equal(image.person, cases[i].person);
    }
}

static void test_jpeg_trouble(void **state) {
    (void)state;
    gl_buf file = GL_BUF_EMPTY;
    begin_jpeg(&file);
    gl_buf_add_bytes(&file, "\xFF\xFF", 2); /* fill bytes: T.81 B.1.1.2 */
    end_jpeg(&file);
    size_t whole = file.length;
    gl_buf_add_text(&file, "what some cameras write behind the end");
    assert_null(look_at(gl_buf_span(&file)).trouble);
    file.length = whole;
    file.text[whole - 1] = 0;
    assert_string_equal(look_at(gl_buf_span(&file)).trouble, "truncated: no end of the picture");
    assert_string_equal(look_at((gl_span){"\xFF\xD8\xFF\xD9", 4}).trouble, "no picture in it");
    assert_string_equal(look_at((gl_span){"\xFF\xD8\xFF\xE0\0\1", 6}).trouble, "a segment of no length");
    assert_string_equal(look_at((gl_span){"\xFF\xD8\xFF\xE0\0\2x", 7}).trouble, "truncated");
    assert_string_equal(look_at((gl_span){"\xFF\xD8\xFF\xE0\0\2xy", 8}).trouble,
                        "bytes between its segments that are none");
    gl_buf_free(&file);
}

static void test_png_density(void **state) {
    (void)state;
    gl_buf file = GL_BUF_EMPTY;
    begin_png(&file);
    put_density(&file, 47244, 11811, 1);
    put_exif_chunk(&file, true);
    end_png(&file);
    gl_image image = look_at(gl_buf_span(&file));
    assert_null(image.trouble);
    assert_string_equal(image.media, "image/png");
    assert_int_equal(image.width, 256);
    assert_int_equal(image.height, 128);
    assert_int_equal(image.dpi_x, 120000);
    assert_int_equal(image.dpi_y, 30000);
    assert_int_equal(image.orientation, 3);
    assert_true(image.place && image.person);
    gl_buf_clear(&file);
    begin_png(&file);
    put_density(&file, 1, 1, 0); /* a ratio only */
    end_png(&file);
    image = look_at(gl_buf_span(&file));
    assert_int_equal(image.dpi_x, 0);
    assert_false(image.place || image.person || image.maker_serial);
    gl_buf_free(&file);
}

/* "\nexif\n  LENGTH\nhex digits in lines", as some programs keep EXIF in a text chunk. */
static void build_profile(gl_buf *text) {
    gl_buf exif = GL_BUF_EMPTY;
    gl_buf_add_bytes(&exif, "Exif\0\0", 6);
    build_exif(&exif, true);
    gl_buf_printf(text, "\nexif\n  %8zu", exif.length);
    for (size_t i = 0; i < exif.length; i++)
        gl_buf_printf(text, "%s%02x", i % 36 ? "" : "\n", (unsigned char)exif.text[i]);
    gl_buf_add_text(text, "\n");
    gl_buf_free(&exif);
}

static void test_png_text(void **state) {
    (void)state;
    gl_buf profile = GL_BUF_EMPTY;
    build_profile(&profile);
    const struct {
        const char *type, *keyword;
        gl_span text;
        bool place, person;
    } cases[] = {
        {"tEXt", "Author", GL_SPAN("A. Keeper"), false, true},
        {"tEXt", "Comment", GL_SPAN("from Sorrel Bay"), false, false},
        {"tEXt", "exif:GPSLatitude", GL_SPAN("51"), true, false},
        {"tEXt", "Raw profile type exif", gl_buf_span(&profile), true, true},
        {"zTXt", "Raw profile type exif", gl_buf_span(&profile), true, true},
        {"zTXt", "Comment", GL_SPAN("nothing"), false, false},
        {"iTXt", "XML:com.adobe.xmp", GL_SPAN("<exif:GPSLongitude/>"), true, false},
        {"iTXt", "XML:com.adobe.xmp", GL_SPAN("<dc:format/>"), false, false},
    };
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        gl_buf file = GL_BUF_EMPTY, data = GL_BUF_EMPTY;
        begin_png(&file);
        gl_buf_add_bytes(&data, cases[i].keyword, strlen(cases[i].keyword) + 1);
        gl_buf_add(&data, cases[i].text);
        if (cases[i].type[0] == 't')
            put_chunk(&file, "tEXt", gl_buf_span(&data));
        else
            put_packed_text(&file, cases[i].type[0] == 'i', cases[i].keyword, cases[i].text);
        end_png(&file);
        gl_image image = look_at(gl_buf_span(&file));
        assert_null(image.trouble);
        assert_int_equal(image.place, cases[i].place);
        assert_int_equal(image.person, cases[i].person);
        gl_buf_free(&file);
        gl_buf_free(&data);
    }
    gl_buf_free(&profile);
}

static void test_png_trouble(void **state) {
    static const struct {
        size_t at; /* byte that is changed */
        const char *trouble;
    } cases[] = {
        {16, "bad CRC in chunk IHDR"},
        {8 + 25 + 10, "bad CRC in chunk IDAT"},
        {8 + 25 + 8 + 500 + 3, "bad CRC in chunk IDAT"}, /* the sum itself */
        {12, "does not begin with chunk IHDR"},
        {8 + 25, "a chunk longer than chunks may be"},
        {8 + 25 + 512 + 8, "bad CRC in chunk IEND"},
    };
    (void)state;
    gl_buf file = GL_BUF_EMPTY;
    begin_png(&file);
    end_png(&file);
    assert_null(look_at(gl_buf_span(&file)).trouble);
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        file.text[cases[i].at] = (char)(file.text[cases[i].at] ^ 0x80);
        assert_string_equal(look_at(gl_buf_span(&file)).trouble, cases[i].trouble);
        file.text[cases[i].at] = (char)(file.text[cases[i].at] ^ 0x80);
    }
    gl_buf_free(&file);
}

static void test_kinds(void **state) {
    static const struct {
        gl_span head;
        const char *media, *extension;
        uint32_t width;
    } cases[] = {
        {GL_SPAN("GIF89a\x2C\1\x08\0..."), "image/gif", "gif", 300},
        {GL_SPAN("GIF89a"), "image/gif", "gif", 0},
        {GL_SPAN("%PDF-1.7\n"), "application/pdf", "pdf", 0},
        {GL_SPAN("RIFF\x10\0\0\0WEBPVP8 "), "image/webp", "webp", 0},
        {GL_SPAN("\0\0\0\x0CjP  \r\n\x87\n"), "image/jp2", "jp2", 0},
        {GL_SPAN("\0\0\0\x18"
                 "ftypheic\0\0\0\0"),
         "image/heic", "heic", 0},
        {GL_SPAN("Dear Sir, I return the stamps"), "application/octet-stream", "bin", 0},
        {GL_SPAN("\xFF\xD8"), "application/octet-stream", "bin", 0},
        {GL_SPAN(""), "application/octet-stream", "bin", 0},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        gl_image image = look_at(cases[i].head);
        assert_string_equal(image.media, cases[i].media);
        assert_string_equal(image.extension, cases[i].extension);
        assert_int_equal(image.width, cases[i].width);
        assert_string_equal(gl_image_extension(gl_span_of(cases[i].media)), cases[i].extension);
        assert_string_equal(gl_image_media(gl_span_of(cases[i].extension)), cases[i].media);
    }
    assert_string_equal(gl_image_extension(GL_SPAN("text/plain")), "bin");
    assert_string_equal(gl_image_media(GL_SPAN("exe")), "application/octet-stream");
}

/* spec/images.md gives the same media types and extensions. */
static void test_spec(void **state) {
    (void)state;
    gl_buf spec = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(SOURCE_ROOT "/spec/images.md", (size_t)1 << 20, &spec), 0);
    gl_span rows = markdown_rows(gl_buf_span(&spec), "| media type | extension | first bytes |");
    assert_true(rows.length > 0);
    while (rows.length > 0) {
        gl_span cells[MARKDOWN_CELLS];
        char expected[64];
        assert_int_equal(markdown_cells(markdown_line(&rows), cells), 3);
        gl_span media = gl_span_part(cells[0], 1, cells[0].length - 2);
        snprintf(expected, sizeof expected, "`%s`", gl_image_extension(media));
        markdown_expect(cells[1], expected);
        assert_true(gl_span_is(media, gl_image_media(gl_span_part(cells[1], 1, cells[1].length - 2))));
    }
    gl_buf_free(&spec);
}

static int serve_real_files(void **state) {
    (void)state;
    gl_calls_use(NULL);
    return 0;
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_resolution),
        cmocka_unit_test(test_tiff),
        cmocka_unit_test(test_jpeg_density),
        cmocka_unit_test(test_jpeg_private),
        cmocka_unit_test(test_jpeg_trouble),
        cmocka_unit_test(test_png_density),
        cmocka_unit_test(test_png_text),
        cmocka_unit_test(test_png_trouble),
        cmocka_unit_test(test_kinds),
        cmocka_unit_test_setup_teardown(test_spec, serve_real_files, serve_files),
    };
    return cmocka_run_group_tests(tests, serve_files, stop_serving);
}
