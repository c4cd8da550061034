/* NFC against the Unicode Consortium's NormalizationTest.txt, as Debian's package unicode-data installs it.
 */
#include "unit.h"

#include <archive.h>
#include <stdio.h>
#include <stdlib.h>
#include <utf8proc.h>

#include "base/text.h"

static const char *const places[] = {"/usr/share/unicode/NormalizationTest.txt",
                                     "/usr/share/unicode/NormalizationTest.txt.bz2"};

static bool read_test_file(gl_buf *out) {
    for (size_t i = 0; i < UNIT_COUNT(places); i++) {
        struct archive *reader = archive_read_new();
        struct archive_entry *entry;
        archive_read_support_filter_bzip2(reader);
        archive_read_support_format_raw(reader);
        if (archive_read_open_filename(reader, places[i], 65536) == ARCHIVE_OK &&
            archive_read_next_header(reader, &entry) == ARCHIVE_OK) {
            char piece[65536];
            la_ssize_t got;
            while ((got = archive_read_data(reader, piece, sizeof piece)) > 0)
                gl_buf_add_bytes(out, piece, (size_t)got);
        }
        archive_read_free(reader);
        if (out->length)
            return true;
    }
    return false;
}

/* "1E0A 0323;…": code points up to the semicolon, as UTF-8. Returns what follows it. */
static const char *take_column(const char *at, gl_buf *out) {
    gl_buf_clear(out);
    while (*at && *at != ';') {
        char *end;
        gl_utf8_add(out, (uint32_t)strtoul(at, &end, 16));
        at = end;
        while (*at == ' ')
            at++;
    }
    return *at ? at + 1 : at;
}

static void check_nfc(const gl_buf *text, const gl_buf *nfc) {
    gl_buf out = GL_BUF_EMPTY;
    gl_text_add_nfc(&out, gl_buf_span(text));
    assert_true(gl_span_equal(gl_buf_span(&out), gl_buf_span(nfc)));
    assert_int_equal(gl_text_is_nfc(gl_buf_span(text)), gl_span_equal(gl_buf_span(text), gl_buf_span(nfc)));
    gl_buf_free(&out);
}

/* The file's own words on conformance: c2 == NFC(c1) == NFC(c2) == NFC(c3), c4 == NFC(c4) == NFC(c5). */
static bool check_line(const char *line, bool single[0x110000]) {
    gl_buf c[5] = {GL_BUF_EMPTY, GL_BUF_EMPTY, GL_BUF_EMPTY, GL_BUF_EMPTY, GL_BUF_EMPTY};
    char *end;
    unsigned long first = strtoul(line, &end, 16);
    if (end == line || first > 0x10FFFF)
        return false;
    if (*end == ';')
        single[first] = true;
    for (size_t i = 0; i < 5; i++)
        line = take_column(line, &c[i]);
    for (size_t i = 0; i < 5; i++)
        check_nfc(&c[i], i < 3 ? &c[1] : &c[3]);
    for (size_t i = 0; i < 5; i++)
        gl_buf_free(&c[i]);
    return true;
}

static void nfc_is_as_the_unicode_test_file_has_it(void **state) {
    (void)state;
    static bool single[0x110000];
    gl_buf file = GL_BUF_EMPTY;
    if (!read_test_file(&file)) {
        print_message("skipped: %s is not installed (Debian: unicode-data)\n", places[0]);
        skip();
    }
    size_t lines = 0;
    bool part_1 = false, past = false;
    for (char *line = file.text, *next; line && *line; line = next) {
        next = strchr(line, '\n');
        if (next)
            *next++ = '\0';
        if (line[0] == '@') {
            past = past || part_1;
            part_1 = strncmp(line, "@Part1", 6) == 0;
        } else {
            static bool ignored[0x110000];
            lines += check_line(line, part_1 ? single : ignored);
        }
    }
    assert_true(lines > 18000);
    /* "For every code point X that is not listed in part 1: X == NFC(X)", as far as Unicode knew it then. */
    gl_buf one = GL_BUF_EMPTY;
    for (uint32_t code = 0; code <= 0x10FFFF && past; code++) {
        if (single[code] || (code >= 0xD800 && code <= 0xDFFF) ||
            utf8proc_category((utf8proc_int32_t)code) == UTF8PROC_CATEGORY_CN)
            continue;
        gl_buf_clear(&one);
        gl_utf8_add(&one, code);
        check_nfc(&one, &one);
    }
    gl_buf_free(&one);
    gl_buf_free(&file);
}

static void check_folded(gl_span a, gl_span b) {
    gl_buf left = GL_BUF_EMPTY, right = GL_BUF_EMPTY;
    gl_text_add_folded(&left, a);
    gl_text_add_folded(&right, b);
    assert_true(gl_span_equal(gl_buf_span(&left), gl_buf_span(&right)));
    gl_buf_free(&left);
    gl_buf_free(&right);
}

/* CaseFolding.txt, status C and F. */
static void names_are_compared_without_their_case(void **state) {
    (void)state;
    check_folded(GL_SPAN("Kingfisher"), GL_SPAN("KINGFISHER"));
    check_folded(GL_SPAN("stra\xc3\x9f"
                         "e"),
                 GL_SPAN("STRASSE"));
    check_folded(GL_SPAN("\xc3\x89"), GL_SPAN("e\xcc\x81")); /* É and e with a combining acute accent */
    check_folded(GL_SPAN("\xcf\x83"), GL_SPAN("\xcf\x82"));  /* both small sigmas */
    check_folded(GL_NO_SPAN, GL_SPAN(""));
}

static void a_nul_byte_is_a_character_like_others(void **state) {
    (void)state;
    gl_buf out = GL_BUF_EMPTY;
    gl_text_add_nfc(&out, GL_SPAN("a\0e\xcc\x81"));
    assert_true(gl_span_equal(gl_buf_span(&out), GL_SPAN("a\0\xc3\xa9")));
    gl_buf_free(&out);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nfc_is_as_the_unicode_test_file_has_it),
        cmocka_unit_test(names_are_compared_without_their_case),
        cmocka_unit_test(a_nul_byte_is_a_character_like_others),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
