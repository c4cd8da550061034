/* Maps of foreign sheets: numbers, dates and instructions, case by case; maps that cannot be used; drafts
 * that can. Whole sheets are in testvectors/sheets/. */
#include "csv_get.h"
#include "encoding.h"
#include "map.h"
#include "random_bundle.h"
#include "sheet_folder.h"

static void numbers(void **state) {
    (void)state;
    static const struct {
        const char *cell;
        char decimal;
        const char *plain; /* NULL: none */
    } cases[] = {
        {"12", 0, "12"},
        {"-12", 0, "-12"},
        {"12,5", ',', "12.5"},
        {"12.5", '.', "12.5"},
        {"1.234,5", ',', "1234.5"},
        {"1,234.5", '.', "1234.5"},
        {"1.234.567", ',', "1234567"},
        {"1'234", '.', "1234"},
        {"1 234,50", ',', "1234.50"},
        {"1\xc2\xa0"
         "234",
         0, "1234"},
        {"1\xe2\x80\xaf"
         "234",
         ',', "1234"},
        {"1.23,4", ',', NULL},
        {"1.2345", ',', NULL},
        {"1234.567", ',', NULL},
        {"12,5", 0, NULL},
        {"12.5", 0, NULL},
        {"12,", ',', NULL},
        {",5", ',', NULL},
        {"", ',', NULL},
        {"-", ',', NULL},
        {"1,2,3", ',', NULL},
        {"1 2", ',', NULL},
        {"12a", ',', NULL},
        {"1  234", ',', NULL},
        {"1,234,567.89", '.', "1234567.89"},
        {"0,5", ',', "0.5"},
        {"007", 0, "007"},
        {"1.234,5.6", ',', NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        conv_output out = {0};
        bool good = map_number(gl_span_of(cases[i].cell), cases[i].decimal, &out);
        if (good != (cases[i].plain != NULL) || (good && strcmp(out.text, cases[i].plain) != 0))
            fail_msg("%s by %c: %s", cases[i].cell, cases[i].decimal ? cases[i].decimal : '-',
                     out.text ? out.text : "");
        conv_free(&out);
    }
}

static void triples(void **state) {
    (void)state;
    static const struct {
        const char *cell;
        unsigned parts[3]; /* all 0: none */
    } cases[] = {
        {"3.4.61", {3, 4, 61}},
        {"03/04/1861", {3, 4, 1861}},
        {"1861-3-4", {1861, 3, 4}},
        {"3. 4. 1861", {3, 4, 1861}},
        {"3/4-61", {0}},
        {"3.4", {0}},
        {"3.4.", {0}},
        {"3.4.186", {0}},
        {"3.4.18610", {0}},
        {"14 Mar 1860", {0}},
        {"1861", {0}},
        {"", {0}},
        {"3.4.61x", {0}},
        {"1861/1862", {0}},
        {"3..61", {0}},
        {"100.4.1861", {0}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        unsigned parts[3], digits[3];
        bool good = map_triple(gl_span_of(cases[i].cell), parts, digits);
        if (good != (cases[i].parts[0] != 0) || (good && memcmp(parts, cases[i].parts, sizeof parts) != 0))
            fail_msg("%s", cases[i].cell);
    }
}

#define HEAD "column,header,goes_to,as\n"

static void maps_that_cannot_be_used(void **state) {
    (void)state;
    static const struct {
        const char *map, *place, *reason;
    } cases[] = {
        {"a,b\n1,2\n", "map.csv", "it is no map"},
        {"", "map.csv", "it is no map"},
        {HEAD "0,No.,item.label,\n", "line 2, column 1", "about no column"},
        {HEAD "x,No.,item.label,\n", "line 2, column 1", "about no column"},
        {HEAD "1,No.,label,\n", "line 2, column 3", "neither a field nor -"},
        {HEAD "1,No.,thing.label,\n", "line 2, column 3", "no such type"},
        {HEAD "1,No.,item.lable,\n", "line 2, column 3", "no such field"},
        {HEAD "sheet,colour,blue,\n", "line 2, column 2", "no such setting"},
        {HEAD "sheet,header rows,3,\n", "line 2, column 3", "takes no such value"},
        {HEAD "sheet,delimiter,both,\n", "line 2, column 3", "takes no such value"},
        {HEAD "1,No.,item.label,\n2,A,item.acquired,date year day month\n", "line 3, column 4",
         "an order of dates is"},
        {HEAD "2,A,item.acquired,years 1850\n", "line 2, column 4", "years from 1850"},
        {HEAD "2,A,item.cost_minor,money euro\n", "line 2, column 4", "ISO 4217"},
        {HEAD "2,A,item.cost_minor,decimal ;\n", "line 2, column 4", "decimal comma"},
        {HEAD "2,A,stamp.paper_um,unit mile\n", "line 2, column 4", "unit mm"},
        {HEAD "2,A,item.note,split /\n", "line 2, column 4", "split slash 2"},
        {HEAD "2,A,stamp.varieties,list\n", "line 2, column 4", "list comma"},
        {HEAD "2,A,item.acquired,date day month year; date year day month\n", "line 2, column 4",
         "an order of dates is"},
        {HEAD "2,A,stamp.paper_um,unit mm; unit mile\n", "line 2, column 4", "unit mm"},
        {HEAD "2,A,item.note,split slash 1; split slash 2; split /\n", "line 2, column 4", "split slash 2"},
        {HEAD "2,A,stamp.varieties,list comma; list slash; list\n", "line 2, column 4", "list comma"},
        {HEAD "2,A,item.note,as it is\n", "line 2, column 4", "none of: date"},
        {HEAD "2,A,,\n", "map.csv", "leaves 1 question open"},
        {HEAD "2,A,item.acquired,date ?\n3,B,?,\n", "map.csv", "leaves 2 questions open"},
        {HEAD "1,A,item.kind,\n2,B,item.kind,\n", "line 3", "two columns go to one field"},
        {HEAD "every row,USD,item.currency,\n2,A,item.cost_minor,money EUR\n", "line 3",
         "and again by another line"},
        {HEAD "2,A,item.cost_minor,money EUR\n3,B,item.currency,\n", "line 3", "and again by another line"},
        {HEAD "1,\"A,item.label,\n", "line 2, column 2", "never closed"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        glassine_error error = {0};
        map it;
        write_file("map.csv", gl_span_of(cases[i].map));
        glassine_status status = map_read(in_folder("map.csv"), &it, NULL, &error);
        if (status != GLASSINE_REFUSED || !strstr(error.place, cases[i].place) ||
            !strstr(error.message, cases[i].reason))
            fail_msg("%s: %d %s: %s", cases[i].map, (int)status, error.place, error.message);
        map_free(&it);
    }
}

static void a_map_is_understood(void **state) {
    (void)state;
    map it;
    write_file("map.csv",
               GL_SPAN("\xef\xbb\xbf"
                       "as;goes_to;header;column;mine\n;windows-1252;encoding;sheet;\n;tab;delimiter;sheet;\n"
                       ";2;header rows;sheet;\n;-;`Left;3;x\n"
                       "\"date month day year; years from 1901 ; 14.3.61=1861-03-14\";item.acquired;When;2;\n"
                       "\"split ' / ' 1\";item.own_shelf;;1;\n"));
    assert_int_equal(map_read(in_folder("map.csv"), &it, NULL, NULL),
                     GLASSINE_REFUSED); /* a separator is one word */
    map_free(&it);
    replace_in("map.csv", "split ' / ' 1", "split slash 1");
    assert_int_equal(map_read(in_folder("map.csv"), &it, NULL, NULL), 0);
    assert_string_equal(it.encoding, "windows-1252");
    assert_int_equal(it.delimiter, '\t');
    assert_int_equal(it.header_rows, 2);
    assert_int_equal(it.stamps, 1);
    assert_int_equal(it.count, 3);
    assert_true(it.columns[0].left_out);
    assert_string_equal(it.columns[0].header, "Left");
    assert_int_equal(it.columns[1].order, MAP_MONTH_DAY_YEAR);
    assert_int_equal(it.columns[1].years_from, 1901);
    assert_string_equal(it.columns[1].meanings[0].value, "1861-03-14");
    assert_null(it.columns[2].info);
    map_free(&it);
}

/* Whatever the sheet: a draft is a map that can be read, once its questions are answered. */
static void drafts_can_be_read(void **state) {
    (void)state;
    random_bundle luck = {.luck = 1861};
    for (unsigned i = 0; i < 300; i++) {
        gl_buf text = GL_BUF_EMPTY;
        for (unsigned row = 1 + draw(&luck, 5); row > 0; row--) {
            for (unsigned column = 1 + draw(&luck, 6); column > 0; column--) {
                gl_buf json = GL_BUF_EMPTY;
                draw_hostile(&luck, &json);
                gl_buf_add_char(&text, '"');
                for (size_t k = 1; k + 1 < json.length; k++)
                    if (json.text[k] != '"' && json.text[k] != '\\')
                        gl_buf_add_char(&text, json.text[k]);
                gl_buf_add_text(&text, column > 1 ? "\"," : "\"\n");
                gl_buf_free(&json);
            }
        }
        write_file("sheet.csv", gl_buf_span(&text));
        gl_buf_free(&text);
        unlink(in_folder("map.csv"));
        glassine_error error = {0};
        if (glassine_sheet_map_draft(in_folder("sheet.csv"), in_folder("map.csv"), NULL, &error))
            fail_msg("%s: %s", error.place, error.message);
        map it;
        glassine_status status = map_read(in_folder("map.csv"), &it, NULL, &error);
        if (status && !strstr(error.message, "question"))
            fail_msg("%s: %s", error.place, error.message);
        map_free(&it);
    }
}

/* ---------------------------------------------------------------------------------------------- encodings */

static void encodings(void **state) {
    (void)state;
    static const struct {
        const char *bytes;
        size_t length;
        const char *encoding, *text; /* text NULL: refused */
    } cases[] = {
        {"", 0, "UTF-8", ""},
        {"abc", 3, "UTF-8", "abc"},
        {"\xef\xbb\xbf"
         "abc",
         6, "UTF-8", "abc"},
        {"caf\xc3\xa9", 5, "UTF-8", "caf\xc3\xa9"},
        {"caf\xe9", 4, "Windows-1252", "caf\xc3\xa9"},
        {"\x80 5", 3, "Windows-1252", "\xe2\x82\xac 5"},
        {"a\x81", 2, "Windows-1252", NULL}, /* is no character there */
        {"\xff\xfe"
         "a\0\xe9\0",
         6, "UTF-16LE", "a\xc3\xa9"},
        {"\xfe\xff\0a", 4, "UTF-16BE", "a"},
        {"a\0b\0c\0d\0", 8, "UTF-16LE", "abcd"},
        {"\0a\0b\0c\0d", 8, "UTF-16BE", "abcd"},
        {"\xff\xfe"
         "a",
         3, "UTF-16LE", NULL}, /* half a character */
        {"\xff\xfe\0\0a\0\0\0", 8, "UTF-32LE", "a"},
        {"abcdefghij\0klmnop", 17, "UTF-8", "abcdefghij"}, /* NUL is left for the parser to refuse */
        {"\xed\xa0\x80", 3, "Windows-1252", "\xc3\xad\xc2\xa0\xe2\x82\xac"}, /* half a pair is no UTF-8 */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        conv_output out = {0};
        glassine_span bytes = {cases[i].bytes, cases[i].length};
        const char *found = encoding_find(bytes);
        if (strcmp(found, cases[i].encoding) != 0)
            fail_msg("case %zu is taken for %s", i, found);
        glassine_status status = encoding_decode(bytes, found, "sheet", &out, NULL);
        if ((status == GLASSINE_OK) != (cases[i].text != NULL) ||
            (!status && strcmp(out.text ? out.text : "", cases[i].text) != 0))
            fail_msg("case %zu became %s", i, out.text ? out.text : "nothing");
        conv_free(&out);
    }
    assert_int_equal(encoding_decode(GL_SPAN("a"), "no-such-encoding", "sheet", &(conv_output){0}, NULL),
                     GLASSINE_REFUSED);
}

static void delimiters(void **state) {
    (void)state;
    static const struct {
        const char *text;
        char delimiter;
    } cases[] = {
        {"a,b\n1,2\n", ','},
        {"a;b\n1,5;2,5\n", ';'},
        {"a\tb, c\n1\t2, 3\n", '\t'},
        {"a|b\n1|2\n", '|'},
        {"one\ntwo\n", ','},
        {"\"a;b\";c\n\"d\ne;f\";g\n", ';'},
        {"a;b;c\nx, y;1;2\nz, w;3;4\n", ';'},
        {"", ','},
        {"version;id\n", ';'},
        {"\"id\"\t\"version\"\n", '\t'},
        {"id,version\na;b;c;d\na;b;c;d\n", ','},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        if (csv_find_delimiter(gl_span_of(cases[i].text)) != cases[i].delimiter)
            fail_msg("%s", cases[i].text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers),      cmocka_unit_test(triples),     IN_FOLDER(maps_that_cannot_be_used),
        IN_FOLDER(a_map_is_understood), IN_FOLDER(drafts_can_be_read), cmocka_unit_test(encodings),
        cmocka_unit_test(delimiters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
