/* Workbooks: what was written comes back as it was, cells have the types that programs calculate with, and
 * what somebody else wrote is read in bounds. */
#include <archive.h>
#include <archive_entry.h>

#include "random_bundle.h"
#include "rounds.h"
#include "sheet_folder.h"
#include "xlsx_in.h"

#define BUNDLES ROUNDS_OF(200)

/* --------------------------------------------------------------------------------------------- both ways */

static void write_book(glassine_bundle *bundle, glassine_xlsx_options options) {
    glassine_error error = {0};
    unlink(in_folder("book.xlsx"));
    if (glassine_to_xlsx(bundle, in_folder("book.xlsx"), &options, NULL, &error))
        fail_msg("%s: %s", error.place, error.message);
}

static taken take_book(glassine_bundle *bundle, const char *name) {
    taken it = {.findings = GL_BUF_EMPTY, .result = GL_BUF_EMPTY};
    glassine_report *report = glassine_report_new("from-xlsx");
    assert_int_equal(glassine_draft_new(bundle, KEEPER, NULL, &it.draft, NULL), 0);
    it.status = glassine_from_xlsx(bundle, it.draft, in_folder(name), NULL, report, &it.error);
    read_report(&it, report);
    glassine_report_free(report);
    return it;
}

static void nothing_changed_makes_no_slip(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= BUNDLES; seed++) {
        random_bundle *it = draw_bundle(seed + 30000);
        write_book(it->bundle, (glassine_xlsx_options){.with_private = seed % 2});
        taken back = take_book(it->bundle, "book.xlsx");
        expect_slips(&back, 0);
        drop(&back);
        free_bundle(it);
    }
}

/* ------------------------------------------------------------------------------------------------- cells */

static glassine_bundle *collection(void) {
    glassine_bundle *bundle = made_bundle();
    made_say(bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"007\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_TELLING, "{\"note\":\"=1+1\",\"title\":\"_x0041_ `tick\"}");
    made_say(
        bundle, KEEPER, ITEM, GLASSINE_PRIVATE,
        "{\"acquired\":\"1905-03-14\",\"cost_minor\":1250,\"currency\":\"EUR\",\"storage\":\"album 3\"}");
    made_say(bundle, KEEPER, "item/" UUID("0102"), GLASSINE_SHARED, "{\"label\":\"`tick\"}");
    made_say(bundle, KEEPER, "item/" UUID("0102"), GLASSINE_PRIVATE,
             "{\"acquired\":\"1899-12-31\",\"cost_minor\":7,\"currency\":\"JPY\"}");
    made_say(bundle, KEEPER, STAMP, GLASSINE_SHARED, "{\"gauge_top\":1425,\"item\":\"" ITEM "\"}");
    made_say(bundle, KEEPER, "valuation/" UUID("0a01"), GLASSINE_PRIVATE,
             "{\"amount_minor\":5000,\"as_of\":\"2024\",\"currency\":\"EUR\",\"item\":\"" ITEM
             "\",\"kind\":\"insured\"}");
    made_say(bundle, KEEPER, "valuation/" UUID("0a02"), GLASSINE_PRIVATE,
             "{\"amount_minor\":6050,\"as_of\":\"2025\",\"currency\":\"EUR\",\"item\":\"" ITEM
             "\",\"kind\":\"insured\"}");
    made_say(bundle, KEEPER, "valuation/" UUID("0a03"), GLASSINE_PRIVATE,
             "{\"amount_minor\":9999,\"as_of\":\"2026\",\"currency\":\"EUR\",\"item\":\"" ITEM
             "\",\"kind\":\"catalogue\"}");
    return bundle;
}

static const grid *sheet_of(const xlsx_book *book, const char *name) {
    for (size_t i = 0; i < book->part_count; i++)
        if (strcmp(book->parts[i].name, name) == 0)
            return &book->sheets[i];
    fail_msg("no sheet %s", name);
    return NULL;
}

/* The cell of a column, in the row that begins with `first`. */
static const grid_cell *cell_of(const grid *sheet, const char *first, const char *header) {
    for (size_t i = 1; i < sheet->row_count; i++) {
        const grid_row *row = &sheet->rows[i];
        if (!gl_span_is(grid_at(sheet, row, 0), first))
            continue;
        for (size_t k = 0; k < row->count; k++)
            if (gl_span_is(grid_at(sheet, &sheet->rows[0], k), header))
                return &sheet->cells[row->first + k];
    }
    fail_msg("%s: no %s in the row of %s", sheet->name, header, first);
    return NULL;
}

static void expect_cell(const grid *sheet, const char *first, const char *header, int kind,
                        const char *text) {
    const grid_cell *cell = cell_of(sheet, first, header);
    if (cell->kind != kind || !gl_span_is((gl_span){cell->text, cell->length}, text))
        fail_msg("%s of %s: %.*s (%d)", header, first, (int)cell->length, cell->text, cell->kind);
}

static void cells_have_their_types(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    xlsx_book book;
    write_book(bundle, (glassine_xlsx_options){.with_private = true});
    assert_int_equal(xlsx_get(in_folder("book.xlsx"), &book, NULL), 0);
    const grid *items = sheet_of(&book, "item"), *stamps = sheet_of(&book, "stamp");
    expect_cell(items, ITEM, "label", GRID_TEXT, "007");
    expect_cell(items, ITEM, "note", GRID_TEXT, "=1+1");
    expect_cell(items, ITEM, "title", GRID_TEXT, "_x0041_ `tick");
    expect_cell(items, "item/" UUID("0102"), "label", GRID_TEXT, "``tick");
    expect_cell(items, ITEM, "acquired", GRID_DATE, "1905-03-14");
    expect_cell(items, "item/" UUID("0102"), "acquired", GRID_TEXT, "1899-12-31");
    expect_cell(items, ITEM, "cost_minor", GRID_NUMBER, "1250");
    expect_cell(items, ITEM, "cost_minor_label", GRID_TEXT, "EUR 12.50");
    expect_cell(stamps, STAMP, "gauge_top", GRID_NUMBER, "1425");
    expect_cell(stamps, STAMP, "gauge_top_label", GRID_NUMBER, "14.25");
    const grid *about = sheet_of(&book, "About this bundle");
    assert_true(gl_span_starts(grid_at(about, &about->rows[0], 0), GL_SPAN("PRIVATE")));
    const grid *list = sheet_of(&book, "Insurance list");
    assert_true(gl_span_starts(grid_at(list, &list->rows[0], 0), GL_SPAN("PRIVATE")));
    bool total = false;
    for (size_t i = 0; i < list->row_count; i++)
        total |= gl_span_is(grid_at(list, &list->rows[i], 0), "Total") &&
                 gl_span_is(grid_at(list, &list->rows[i], 6), "60.5") &&
                 gl_span_is(grid_at(list, &list->rows[i], 7), "EUR") &&
                 gl_span_is(grid_at(list, &list->rows[i], 8), "12.5");
    assert_true(total);
    xlsx_free(&book);
    made_free(bundle);
}

static void private_fields_stay_out(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    xlsx_book book;
    write_book(bundle, (glassine_xlsx_options){0});
    assert_int_equal(xlsx_get(in_folder("book.xlsx"), &book, NULL), 0);
    for (size_t i = 0; i < book.part_count; i++) {
        assert_string_not_equal(book.parts[i].name, "Insurance list");
        assert_string_not_equal(book.parts[i].name, "valuation");
        for (size_t k = 0; k < book.sheets[i].cell_count; k++) {
            const grid_cell *cell = &book.sheets[i].cells[k];
            assert_false(gl_span_is((gl_span){cell->text, cell->length}, "album 3"));
            assert_false(gl_span_is((gl_span){cell->text, cell->length}, "1250"));
        }
    }
    xlsx_free(&book);
    made_free(bundle);
}

static void a_long_text_is_left_out_and_alone(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    gl_buf set = GL_BUF_EMPTY;
    gl_buf_add_text(&set, "{\"label\":\"H-1\",\"provenance\":\"");
    for (int i = 0; i < 40000; i++)
        gl_buf_add_char(&set, 'x');
    gl_buf_add_text(&set, "\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, set.text);
    gl_buf_free(&set);
    write_book(bundle, (glassine_xlsx_options){0});
    taken it = take_book(bundle, "book.xlsx");
    expect_slips(&it, 0);
    drop(&it);
    made_free(bundle);
}

static void the_same_bundle_gives_the_same_book(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    write_book(bundle, (glassine_xlsx_options){.with_private = true});
    gl_buf one = file_text(in_folder("book.xlsx"));
    write_book(bundle, (glassine_xlsx_options){.with_private = true});
    gl_buf other = file_text(in_folder("book.xlsx"));
    assert_int_equal(one.length, other.length);
    assert_memory_equal(one.text, other.text, one.length);
    glassine_error error;
    assert_int_equal(glassine_to_xlsx(bundle, in_folder("book.xlsx"), NULL, NULL, &error), GLASSINE_REFUSED);
    assert_int_equal(glassine_to_xlsx(bundle, in_folder("no/book.xlsx"), NULL, NULL, &error),
                     GLASSINE_SYSTEM);
    gl_buf_free(&one);
    gl_buf_free(&other);
    made_free(bundle);
}

/* --------------------------------------------------------------------------------------- numbers and days */

static void numbers(void **state) {
    (void)state;
    static const struct {
        const char *kept, *plain; /* NULL: none */
    } cases[] = {
        {"0", "0"},
        {"7", "7"},
        {"-12", "-12"},
        {"1200", "1200"},
        {"1.2E3", "1200"},
        {"1.2E+3", "1200"},
        {"12.5", "12.5"},
        {"1e-3", "0.001"},
        {"0.30000000000000004", "0.3"},
        {"123456789012345", "123456789012345"},
        {"9.9999999999999995E+22", "100000000000000000000000"},
        {"12.340", "12.34"},
        {"-0.5", "-0.5"},
        {"007", "7"},
        {"1234567890123456", "1234567890123460"},
        {"0.0005", "0.0005"},
        {"100", "100"},
        {"", NULL},
        {"-", NULL},
        {"1.2.3", NULL},
        {"1E", NULL},
        {"1E99999", NULL},
        {"abc", NULL},
        {"1 ", NULL},
        {".", NULL},
        {"1E400", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        conv_output out = {0};
        bool good = xlsx_number(gl_span_of(cases[i].kept), &out);
        if (good != (cases[i].plain != NULL) || (good && strcmp(out.text, cases[i].plain) != 0))
            fail_msg("%s became %s", cases[i].kept, out.text ? out.text : "nothing");
        conv_free(&out);
    }
}

/* Serial numbers of days as ECMA-376 part 1, 18.17.4.1 and 18.17.4.2 give them. */
static void days(void **state) {
    (void)state;
    static const struct {
        const char *kept;
        bool from_1904;
        const char *day;
    } cases[] = {
        {"1", false, "1900-01-01"},
        {"59", false, "1900-02-28"},
        {"60", false, NULL},
        {"61", false, "1900-03-01"},
        {"2958465", false, "9999-12-31"},
        {"2958466", false, NULL},
        {"0", false, NULL},
        {"0", true, "1904-01-01"},
        {"1462", false, "1904-01-01"},
        {"45000", false, "2023-03-15"},
        {"43538", true, "2023-03-15"},
        {"45000.5", false, "2023-03-15 12:00:00"},
        {"-1", false, NULL},
        {"x", false, NULL},
        {"1E3", false, "1902-09-26"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        conv_output out = {0};
        bool good = xlsx_day(gl_span_of(cases[i].kept), cases[i].from_1904, &out);
        if (good != (cases[i].day != NULL) || (good && strcmp(out.text, cases[i].day) != 0))
            fail_msg("%s became %s", cases[i].kept, out.text ? out.text : "nothing");
        conv_free(&out);
    }
}

static void formats_of_dates(void **state) {
    (void)state;
    static const struct {
        unsigned number;
        const char *code;
        bool date;
    } cases[] = {{0, NULL, false},
                 {14, NULL, true},
                 {22, NULL, true},
                 {49, NULL, false},
                 {164, "yyyy-mm-dd", true},
                 {165, "DD.MM.YY", true},
                 {166, "0.00", false},
                 {167, "#,##0 \"days\"", false},
                 {168, "[Red]0", false},
                 {169, "\\d0", false},
                 {170, "[$-407]d. mmmm yyyy", true},
                 {171, "\"", false},
                 {172, "[", false},
                 {173, "0;d", false},
                 {174, "\\", false}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        if (xlsx_is_date_format(cases[i].number, cases[i].code) != cases[i].date)
            fail_msg("%u %s", cases[i].number, cases[i].code ? cases[i].code : "");
}

/* ---------------------------------------------------------------------------------------- other people's */

typedef struct packed {
    const char *name, *text;
} packed;

static void pack(const char *name, const packed *members, size_t count) {
    struct archive *out = archive_write_new();
    archive_write_set_format_zip(out);
    assert_int_equal(archive_write_open_filename(out, in_folder(name)), ARCHIVE_OK);
    for (size_t i = 0; i < count; i++) {
        struct archive_entry *entry = archive_entry_new();
        archive_entry_set_pathname(entry, members[i].name);
        archive_entry_set_size(entry, (la_int64_t)strlen(members[i].text));
        archive_entry_set_filetype(entry, AE_IFREG);
        archive_write_header(out, entry);
        archive_write_data(out, members[i].text, strlen(members[i].text));
        archive_entry_free(entry);
    }
    archive_write_free(out);
}

#define BOOK "<workbook xmlns:r='r'><sheets><sheet name='item' sheetId='1' r:id='rId7'/></sheets></workbook>"
#define RELS "<Relationships><Relationship Id='rId7' Target='worksheets/one.xml'/></Relationships>"

static glassine_status read_sheet(const char *xml, const char *strings, xlsx_book *book,
                                  glassine_error *error) {
    const packed members[] = {{"xl/worksheets/one.xml", xml}, /* members in any order */
                              {"xl/workbook.xml", BOOK},
                              {"xl/_rels/workbook.xml.rels", RELS},
                              {"xl/sharedStrings.xml", strings}};
    pack("other.xlsx", members, 4);
    return xlsx_get(in_folder("other.xlsx"), book, error);
}

static void other_programs_books(void **state) {
    (void)state;
    xlsx_book book;
    static const char sheet[] = "<x:worksheet xmlns:x='x'><x:sheetData><x:row r='2'><x:c r='B2' "
                                "t='s'><x:v>1</x:v></x:c><x:c t='b'><x:v>1</x:v></x:c>"
                                "<x:c r='E2' t='inlineStr'><x:is><x:r><x:t>two "
                                "</x:t></x:r><x:r><x:t>runs</x:t></x:r></x:is></x:c></x:row>"
                                "<x:row><x:c t='str'><x:f>A1</x:f><x:v>a &amp; b</x:v></x:c><x:c "
                                "t='e'><x:v>#N/A</x:v></x:c><x:c/></x:row>"
                                "</x:sheetData></x:worksheet>";
    static const char strings[] =
        "<sst><si><t>zero</t></si><si><r><t>o_x006E_</t></r><r><t xml:space='preserve'>e </t>"
        "</r><rPh><t>no</t></rPh></si></sst>";
    assert_int_equal(read_sheet(sheet, strings, &book, NULL), 0);
    const grid *one = &book.sheets[0];
    assert_int_equal(one->row_count, 2);
    assert_int_equal(one->rows[0].line, 2);
    assert_int_equal(one->rows[1].line, 3);
    static const char *const wanted[] = {"", "one ", "yes", "", "two runs", "a & b", "#N/A", ""};
    assert_int_equal(one->cell_count, 8);
    for (size_t i = 0; i < 8; i++)
        if (!gl_span_is((gl_span){one->cells[i].text, one->cells[i].length}, wanted[i]))
            fail_msg("cell %zu is %.*s", i, (int)one->cells[i].length, one->cells[i].text);
    assert_int_equal(one->cells[6].kind, GRID_WRONG);
    xlsx_free(&book);
}

static void hostile_books(void **state) {
    (void)state;
    static const struct {
        const char *sheet, *strings, *reason;
    } cases[] = {
        {"<!DOCTYPE a [<!ENTITY b 'c'>]><worksheet/>", "<sst/>", "DOCTYPE"},
        {"<worksheet/>", "<!DOCTYPE sst SYSTEM 'file:///etc/hostname'><sst/>", "DOCTYPE"},
        {"<worksheet><sheetData><row r='5'/><row r='4'/></sheetData></worksheet>", "<sst/>",
         "rows of a sheet are out"},
        {"<worksheet><sheetData><row><c r='B1'/><c r='A1'/></row></sheetData></worksheet>", "<sst/>",
         "cells of a sheet are out"},
        {"<worksheet><c r='B1'/></worksheet>", "<sst/>", "out of order"},
        {"<worksheet><sheetData><row><c t='s'><v>0</v></c></row></sheetData></worksheet>", "<sst/>",
         "not there"},
        {"<worksheet><sheetData><row><c t='s'><v>-1</v></c></row></sheetData></worksheet>", "<sst/>",
         "not there"},
        {"<worksheet><sheetData><row><c r='ZZZ1'><v>1</v></c></row></sheetData></worksheet>", "<sst/>",
         "more cells"},
        {"<worksheet><sheetData>", "<sst/>", "well-formed"},
        {"<worksheet>&unknown;</worksheet>", "<sst/>", "well-formed"},
        {"<worksheet/>", "", "well-formed"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        xlsx_book book;
        glassine_error error = {0};
        glassine_status status = read_sheet(cases[i].sheet, cases[i].strings, &book, &error);
        if (status != GLASSINE_REFUSED || !strstr(error.message, cases[i].reason))
            fail_msg("%s: %d %s", cases[i].sheet, (int)status, error.message);
        xlsx_free(&book);
    }
}

/* Any byte may be another: it is read or refused, never anything else (the sanitizers watch). */
static void damaged_books(void **state) {
    (void)state;
    random_bundle luck = {.luck = 1861};
    glassine_bundle *bundle = collection();
    write_book(bundle, (glassine_xlsx_options){.with_private = true});
    gl_buf whole = file_text(in_folder("book.xlsx"));
    for (unsigned i = 0; i < 600; i++) {
        gl_buf copy = GL_BUF_EMPTY;
        gl_buf_add(&copy, gl_buf_span(&whole));
        for (unsigned n = 1 + draw(&luck, 3); n > 0; n--)
            copy.text[draw(&luck, (uint32_t)copy.length)] ^= (char)(1 << draw(&luck, 8));
        if (i % 5 == 0)
            copy.length = draw(&luck, (uint32_t)copy.length);
        write_file("damaged.xlsx", gl_buf_span(&copy));
        gl_buf_free(&copy);
        taken it = take_book(bundle, "damaged.xlsx");
        assert_true(it.status == GLASSINE_OK || it.status == GLASSINE_REFUSED);
        drop(&it);
    }
    gl_buf_free(&whole);
    made_free(bundle);
}

static void an_error_in_a_cell_refuses_its_row(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    static const char sheet[] =
        "<worksheet><sheetData><row><c t='str'><v>id</v></c><c t='str'><v>label</v></c><c t='str'>"
        "<v>version</v></c></row><row><c/><c t='e'><v>#REF!</v></c></row></sheetData></worksheet>";
    const packed members[] = {
        {"xl/workbook.xml", BOOK}, {"xl/_rels/workbook.xml.rels", RELS}, {"xl/worksheets/one.xml", sheet}};
    pack("other.xlsx", members, 3);
    expect_refused(take_book(bundle, "other.xlsx"), "other.xlsx: sheet item: row 2, column 2 (label)",
                   "holds an error");
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        IN_FOLDER(nothing_changed_makes_no_slip),
        IN_FOLDER(cells_have_their_types),
        IN_FOLDER(private_fields_stay_out),
        IN_FOLDER(a_long_text_is_left_out_and_alone),
        IN_FOLDER(the_same_bundle_gives_the_same_book),
        cmocka_unit_test(numbers),
        cmocka_unit_test(days),
        cmocka_unit_test(formats_of_dates),
        IN_FOLDER(other_programs_books),
        IN_FOLDER(hostile_books),
        IN_FOLDER(damaged_books),
        IN_FOLDER(an_error_in_a_cell_refuses_its_row),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
