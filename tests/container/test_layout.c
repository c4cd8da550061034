/* The bytes of the records, against APPNOTE 6.3.10 section 4.3 as written out by hand; and the comment's
 * grammar. */
#include "support.h"

#include "container/layout.h"
#include "container/marker.h"

static void same_bytes(const uint8_t *found, size_t length, const uint8_t *right, size_t right_length) {
    assert_int_equal(length, right_length);
    assert_memory_equal(found, right, length);
}

static const gl_entry small = {
    .name = {"glassine-a/b", 12},
    .header_at = 0x01020304,
    .packed = 0x11,
    .size = 0x22,
    .crc = 0xa1b2c3d4,
    .method = 8,
    .date = 0x5b79, /* 2025-11-25 */
    .time = 0x4800, /* 09:00:00 */
};

static void small_entry(void **state) {
    (void)state;
    static const uint8_t local[] = {'P',  'K',  3,    4,    20,   0,    0,    0,    8,   0,   0x00,
                                    0x48, 0x79, 0x5b, 0xd4, 0xc3, 0xb2, 0xa1, 0x11, 0,   0,   0,
                                    0x22, 0,    0,    0,    12,   0,    0,    0,    'g', 'l', 'a',
                                    's',  's',  'i',  'n',  'e',  '-',  'a',  '/',  'b'};
    static const uint8_t record[] = {'P',  'K',  1,    2,    0x2d, 3,    20,   0,    0,    0,  8,   0,
                                     0x00, 0x48, 0x79, 0x5b, 0xd4, 0xc3, 0xb2, 0xa1, 0x11, 0,  0,   0,
                                     0x22, 0,    0,    0,    12,   0,    0,    0,    0,    0,  0,   0,
                                     0,    0,    0,    0,    0xa4, 0x81, 4,    3,    2,    1,  'g', 'l',
                                     'a',  's',  's',  'i',  'n',  'e',  '-',  'a',  '/',  'b'};
    uint8_t out[GL_RECORD_MAX];
    same_bytes(out, gl_layout_local(&small, out), local, sizeof local);
    same_bytes(out, gl_layout_record(&small, out), record, sizeof record);
    assert_int_equal(gl_layout_local_size(&small), sizeof local);
}

static void utf8_flag(void **state) {
    (void)state;
    uint8_t out[GL_LOCAL_MAX];
    gl_entry entry = small;
    entry.name = (gl_span){"glassine-a/\xc3\xa9", 13};
    gl_layout_local(&entry, out);
    assert_int_equal(gl_get16(out + 6), 0x0800);
}

/* APPNOTE 4.5.3: in the local header both sizes or none; in the directory what does not fit, in the order
 * size, packed size, offset. */
static void zip64_entries(void **state) {
    (void)state;
    static const struct {
        uint64_t size, packed, at;
        size_t local, record; /* bytes of the Zip64 field's values */
    } cases[] = {
        {0xfffffffe, 0xfffffffe, 0xfffffffe, 0, 0},
        {0xffffffff, 1, 0, 16, 8},
        {0xffffffff, 0xffffffff, 0, 16, 16},
        {0x100000000, 0x100000000, 0x100000000, 16, 24},
        {1, 1, 0xffffffff, 0, 8},
        {0x123456789a, 1, 0x1122334455, 16, 16},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        uint8_t out[GL_RECORD_MAX];
        gl_entry entry = small;
        entry.size = cases[i].size;
        entry.packed = cases[i].packed;
        entry.header_at = cases[i].at;
        bool any = cases[i].local || cases[i].record;
        size_t head = 30 + entry.name.length;
        assert_int_equal(gl_layout_local(&entry, out), head + (cases[i].local ? 4 + cases[i].local : 0));
        assert_int_equal(gl_layout_local_size(&entry), head + (cases[i].local ? 4 + cases[i].local : 0));
        assert_int_equal(gl_get16(out + 4), any ? 45 : 20);
        if (cases[i].local) {
            assert_int_equal(gl_get32(out + 18), 0xffffffff);
            assert_int_equal(gl_get32(out + 22), 0xffffffff);
            assert_int_equal(gl_get16(out + head), 1);
            assert_int_equal(gl_get16(out + head + 2), 16);
            assert_int_equal(gl_get64(out + head + 4), entry.size);
            assert_int_equal(gl_get64(out + head + 12), entry.packed);
        }
        head = 46 + entry.name.length;
        assert_int_equal(gl_layout_record(&entry, out), head + (cases[i].record ? 4 + cases[i].record : 0));
        const uint8_t *at = out + head + 4;
        const struct {
            size_t field;
            uint64_t value;
        } fields[] = {{24, entry.size}, {20, entry.packed}, {42, entry.header_at}};
        for (size_t j = 0; j < COUNT(fields); j++) {
            bool fits = fields[j].value < 0xffffffff;
            assert_int_equal(gl_get32(out + fields[j].field), fits ? fields[j].value : 0xffffffff);
            if (!fits) {
                assert_int_equal(gl_get64(at), fields[j].value);
                at += 8;
            }
        }
    }
}

static void end_records(void **state) {
    (void)state;
    static const struct {
        uint64_t entries, size, at;
        bool zip64;
    } cases[] = {
        {1, 58, 100, false},       {65534, 0xfffffffe, 0xfffffffe, false},
        {65535, 58, 100, true},    {1, 0xffffffff, 100, true},
        {1, 58, 0xffffffff, true}, {70000, 9000000, 0x300000000, true},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        gl_footer footer = {.entries = cases[i].entries,
                            .directory_size = cases[i].size,
                            .directory_at = cases[i].at,
                            .edition = 1,
                            .major = 1};
        uint8_t zip64[GL_END64_BOTH], end[GL_END_MAX];
        size_t length = gl_layout_end64(&footer, zip64);
        assert_int_equal(length, cases[i].zip64 ? 76 : 0);
        if (cases[i].zip64) {
            static const uint8_t head[] = {'P',  'K', 6,  6, 44, 0, 0, 0, 0, 0, 0, 0,
                                           0x2d, 3,   45, 0, 0,  0, 0, 0, 0, 0, 0, 0};
            assert_memory_equal(zip64, head, sizeof head);
            assert_int_equal(gl_get64(zip64 + 24), cases[i].entries);
            assert_int_equal(gl_get64(zip64 + 32), cases[i].entries);
            assert_int_equal(gl_get64(zip64 + 40), cases[i].size);
            assert_int_equal(gl_get64(zip64 + 48), cases[i].at);
            static const uint8_t locator[] = {'P', 'K', 6, 7, 0, 0, 0, 0};
            assert_memory_equal(zip64 + 56, locator, sizeof locator);
            assert_int_equal(gl_get64(zip64 + 64), cases[i].at + cases[i].size);
            assert_int_equal(gl_get32(zip64 + 72), 1);
        }
        length = gl_layout_end(&footer, end);
        assert_int_equal(gl_get32(end), 0x06054b50);
        assert_int_equal(gl_get16(end + 8), cases[i].entries < 65535 ? cases[i].entries : 65535);
        assert_int_equal(gl_get32(end + 12), cases[i].size < 0xffffffff ? cases[i].size : 0xffffffff);
        assert_int_equal(gl_get32(end + 16), cases[i].at < 0xffffffff ? cases[i].at : 0xffffffff);
        assert_int_equal(gl_get16(end + 20), length - 22);
    }
}

#define SUM "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff"

static void comments(void **state) {
    (void)state;
    gl_footer footer;
    assert_true(gl_layout_comment(GL_SPAN("glassine 1.2 edition 34 follows 5678 sum " SUM), &footer));
    assert_int_equal(footer.major, 1);
    assert_int_equal(footer.minor, 2);
    assert_int_equal(footer.edition, 34);
    assert_int_equal(footer.start, 5678);
    assert_int_equal(footer.sum.bytes[31], 0xff);
    assert_true(gl_layout_comment(
        GL_SPAN("glassine 1.0 edition 99999999 follows 9223372036854775807 sum " SUM), &footer));
    static const char *const bad[] = {
        "",
        "glassine 1.0 edition 1 follows 0 sum " SUM " ",
        "glassine 1.0 edition 1 follows 0 sum " SUM "0",
        "glassine 1.0 edition 1 follows 0 sum 0",
        "glassine 1.0 edition 01 follows 0 sum " SUM,
        "glassine 1.0 edition 1 follows 00 sum " SUM,
        "glassine 01.0 edition 1 follows 0 sum " SUM,
        "glassine 1 edition 1 follows 0 sum " SUM,
        "glassine 1.0 edition  1 follows 0 sum " SUM,
        "glassine 1.0 edition -1 follows 0 sum " SUM,
        "glassine 1.0 edition 100000000 follows 0 sum " SUM,
        "glassine 1.0 edition 1 follows 9223372036854775808 sum " SUM,
        "glassine 1.0 edition 1 follows 99999999999999999999999 sum " SUM,
        "glassine 4294967296.0 edition 1 follows 0 sum " SUM,
        "Glassine 1.0 edition 1 follows 0 sum " SUM,
        "glassine 1.0 edition 1 follows 0 sum "
        "00112233445566778899AABBCCDDEEFF00112233445566778899aabbccddeeff",
    };
    for (size_t i = 0; i < COUNT(bad); i++)
        if (gl_layout_comment(gl_span_of(bad[i]), &footer))
            fail_msg("taken: %s", bad[i]);
}

/* A footer's comment reads back as it was written. */
static void comment_round_trip(void **state) {
    (void)state;
    random_source luck = {9};
    for (int i = 0; i < 1000; i++) {
        uint8_t end[GL_END_MAX];
        gl_footer found, footer = {.start = draw(&luck) >> (1 + draw_below(&luck, 63)),
                                   .edition = (uint32_t)draw_below(&luck, 99999999) + 1,
                                   .major = 1,
                                   .minor = (uint32_t)(draw(&luck) % 10000)};
        for (size_t j = 0; j < sizeof footer.sum.bytes; j++)
            footer.sum.bytes[j] = (uint8_t)draw(&luck);
        size_t length = gl_layout_end(&footer, end);
        assert_true(gl_layout_comment((gl_span){(char *)end + 22, length - 22}, &found));
        assert_int_equal(found.start, footer.start);
        assert_int_equal(found.edition, footer.edition);
        assert_int_equal(found.minor, footer.minor);
        assert_true(gl_digest_equal(&found.sum, &footer.sum));
    }
}

/* The marker finds an end record wherever the pieces are cut, and nothing else. */
static void marks_across_pieces(void **state) {
    (void)state;
    char bytes[120];
    for (int holds = 0; holds < 2; holds++) {
        memset(bytes, 'P', sizeof bytes);
        memcpy(bytes + 40, "PK\005\006", 4);
        memcpy(bytes + 62, holds ? "glassine " : "glassine-", 9);
        for (size_t first = 0; first <= sizeof bytes; first++) {
            for (size_t second = first; second <= sizeof bytes; second++) {
                gl_marker marker = {.found = false};
                const uint8_t *at = (const uint8_t *)bytes;
                gl_marker_pass(&marker, at, first);
                gl_marker_pass(&marker, at + first, second - first);
                gl_marker_pass(&marker, at + second, sizeof bytes - second);
                assert_int_equal(marker.found, holds);
            }
        }
        gl_marker marker = {.found = false};
        for (size_t i = 0; i < sizeof bytes; i++)
            gl_marker_pass(&marker, (const uint8_t *)bytes + i, 1);
        assert_int_equal(marker.found, holds);
    }
}

/* Wherever it begins in a long piece, at its very end too; a piece is looked through a stretch at a time. */
static void marks_in_long_pieces(void **state) {
    (void)state;
    enum { LONG = 2000, MARK = 22 + 9 };
    uint8_t bytes[LONG], mark[MARK] = "PK\005\006";
    memcpy(mark + 22, "glassine ", 9);
    memset(bytes, 0, sizeof bytes);
    for (size_t at = 0; at + MARK <= LONG; at++) {
        memcpy(bytes + at, mark, MARK);
        gl_marker whole = {.found = false}, cut = {.found = false};
        gl_marker_pass(&whole, bytes, LONG);
        gl_marker_pass(&cut, bytes, at + MARK - 1);
        assert_true(whole.found);
        assert_false(cut.found);
        memset(bytes + at, 0, MARK);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(small_entry),
        cmocka_unit_test(utf8_flag),
        cmocka_unit_test(zip64_entries),
        cmocka_unit_test(end_records),
        cmocka_unit_test(comments),
        cmocka_unit_test(comment_round_trip),
        cmocka_unit_test(marks_across_pieces),
        cmocka_unit_test(marks_in_long_pieces),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
