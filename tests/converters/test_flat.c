/* The flat table: what of an item it shows, to whom. */
#include "csv_get.h"
#include "random_bundle.h"
#include "sheet_folder.h"

#define KF "design/" UUID("0001")
#define PLATE "plate/" UUID("0002")
#define ITEM2 "item/" UUID("0102")
#define STAMP2 "stamp/" UUID("0202")

static glassine_bundle *collection(void) {
    glassine_bundle *bundle = made_bundle();
    const struct {
        const char *by, *id;
        glassine_reach reach;
        const char *set;
    } slips[] = {
        {KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}"},
        {OTHER, OTHER, GLASSINE_SHARED, "{\"name\":\"Ansel Teal\"}"},
        {KEEPER, KF, GLASSINE_SHARED, "{\"label\":\"KF\"}"},
        {KEEPER, PLATE, GLASSINE_SHARED,
         "{\"columns\":10,\"design\":\"" KF "\",\"label\":\"1\",\"rows\":12}"},
        {KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"pair\",\"label\":\"H-014\"}"},
        {KEEPER, ITEM, GLASSINE_TELLING, "{\"note\":\"=1+1\"}"},
        {KEEPER, ITEM, GLASSINE_PRIVATE,
         "{\"cost_minor\":1250,\"currency\":\"EUR\",\"storage\":\"album 3\"}"},
        {KEEPER, ITEM2, GLASSINE_SHARED, "{\"label\":\"007\"}"},
        {KEEPER, STAMP, GLASSINE_SHARED,
         "{\"colour\":\"green\",\"design\":\"" KF "\",\"item\":\"" ITEM "\"}"},
        {KEEPER, STAMP2, GLASSINE_SHARED,
         "{\"colour\":\"green\",\"design\":\"" KF "\",\"item\":\"" ITEM "\"}"},
        {OTHER, CLAIM, GLASSINE_SHARED,
         "{\"confidence\":\"certain\",\"plates\":[\"" PLATE "\"],\"positions\":\"R1/4\",\"stamp\":\"" STAMP
         "\"}"},
        {KEEPER, "conclusion/" UUID("0401"), GLASSINE_SHARED,
         "{\"plates\":[\"" PLATE "\"],\"positions\":\"4\",\"stamp\":\"" STAMP "\"}"},
        {KEEPER, "marking/" UUID("0501"), GLASSINE_SHARED,
         "{\"item\":\"" ITEM "\",\"on\":\"1861-03-14\",\"town\":\"Port Sorrel\"}"},
        {KEEPER, "valuation/" UUID("0601"), GLASSINE_PRIVATE,
         "{\"amount_minor\":6000,\"as_of\":\"2024\",\"currency\":\"EUR\",\"item\":\"" ITEM
         "\",\"kind\":\"insured\"}"},
    };
    for (size_t i = 0; i < sizeof slips / sizeof *slips; i++)
        made_say(bundle, slips[i].by, slips[i].id, slips[i].reach, slips[i].set);
    return bundle;
}

/* The cell of an item, by its label as the sheet has it. */
static glassine_span cell_of(const grid *sheet, const char *label, const char *header) {
    for (size_t i = 1; i < sheet->row_count; i++) {
        if (!gl_span_is(grid_at(sheet, &sheet->rows[i], 0), label))
            continue;
        for (size_t k = 0; k < sheet->rows[0].count; k++)
            if (gl_span_is(grid_at(sheet, &sheet->rows[0], k), header))
                return grid_at(sheet, &sheet->rows[i], k);
    }
    return GL_NO_SPAN;
}

static grid written(glassine_bundle *bundle, bool with_private) {
    grid sheet = {0};
    glassine_error error = {0};
    write_sheets(bundle, (glassine_csv_options){.flat = true, .with_private = with_private});
    if (csv_get(in_folder("items.csv"), NULL, &sheet, &error))
        fail_msg("%s: %s", error.place, error.message);
    return sheet;
}

static void expect(const grid *sheet, const char *label, const char *header, const char *text) {
    glassine_span cell = cell_of(sheet, label, header);
    if (!cell.text || !gl_span_is(cell, text))
        fail_msg("%s of %s: %.*s, not %s", header, label, (int)cell.length, cell.text ? cell.text : "", text);
}

static void an_item_in_a_row(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    grid sheet = written(bundle, true);
    expect(&sheet, "H-014", "kind", "pair");
    expect(&sheet, "H-014", "note", "`=1+1");
    expect(&sheet, "H-014", "stamps", "2");
    expect(&sheet, "H-014", "design", "KF");
    expect(&sheet, "H-014", "colour", "green"); /* both say so */
    expect(&sheet, "H-014", "standing", "H-014.1: placed; H-014.2: unplaced");
    expect(&sheet, "H-014", "best_claim", "H-014.1: plate 1: R1/4, certain (Ansel Teal)");
    expect(&sheet, "H-014", "conclusion", "H-014.1: plate 1: 4 (Margery Lark)");
    expect(&sheet, "H-014", "postmarks", "Port Sorrel, 1861-03-14");
    expect(&sheet, "H-014", "storage", "album 3");
    expect(&sheet, "H-014", "cost", "EUR 12.50");
    expect(&sheet, "H-014", "values", "insured EUR 60.00 2024");
    expect(&sheet, "H-014", "contains_private", "yes");
    expect(&sheet, "H-014", "id", ITEM);
    expect(&sheet, "`007", "contains_private", "no");
    expect(&sheet, "`007", "stamps", "0");
    grid_free(&sheet);
    made_free(bundle);
}

static void private_columns_are_asked_for(void **state) {
    (void)state;
    static const char *const headers[] = {"contains_private", "storage", "acquired",
                                          "source",           "cost",    "values"};
    glassine_bundle *bundle = collection();
    grid sheet = written(bundle, false);
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++)
        assert_null(cell_of(&sheet, "H-014", headers[i]).text);
    expect(&sheet, "H-014", "standing", "H-014.1: placed; H-014.2: unplaced");
    grid_free(&sheet);
    made_free(bundle);
}

/* A private claim would show in the standing. */
static void what_rests_on_private_claims_is_left_out(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    made_say(bundle, KEEPER, "claim/" UUID("0302"), GLASSINE_PRIVATE,
             "{\"plates\":[\"" PLATE "\"],\"positions\":\"7\",\"stamp\":\"" STAMP2 "\"}");
    grid sheet = written(bundle, false);
    expect(&sheet, "H-014", "standing", "");
    expect(&sheet, "H-014", "places", "");
    expect(&sheet, "H-014", "best_claim", "");
    grid_free(&sheet);
    sheet = written(bundle, true);
    expect(&sheet, "H-014", "standing", "H-014.1: placed; H-014.2: placed");
    grid_free(&sheet);
    made_free(bundle);
}

static void what_is_contested_says_so(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    made_say(bundle, OTHER, STAMP, GLASSINE_SHARED, "{\"colour\":\"blue\"}");
    made_say(bundle, OTHER, ITEM, GLASSINE_SHARED, "{\"kind\":\"strip\"}");
    grid sheet = written(bundle, true);
    expect(&sheet, "H-014", "kind", "contested: pair | strip");
    expect(&sheet, "H-014", "colour", "contested: blue | green; green");
    grid_free(&sheet);
    made_free(bundle);
}

static size_t items_of(glassine_bundle *bundle) {
    glassine_cursor *cursor;
    size_t count = 0;
    assert_int_equal(glassine_cursor_new(bundle, "item", false, &cursor, NULL), 0);
    while (glassine_cursor_next(cursor))
        count++;
    glassine_cursor_free(cursor);
    return count;
}

/* Whatever people said: a row for each item, all of one length, and no cell that a program would run. */
static void whatever_is_said(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= 100; seed++) {
        random_bundle *it = draw_bundle(seed + 70000);
        size_t items = items_of(it->bundle);
        if (items) {
            grid sheet = written(it->bundle, true);
            if (sheet.row_count != items + 1)
                fail_msg("seed %u: %zu rows for %zu items", (unsigned)seed, sheet.row_count, items);
            for (size_t i = 0; i < sheet.row_count; i++)
                assert_int_equal(sheet.rows[i].count, sheet.rows[0].count);
            for (size_t i = 0; i < sheet.cell_count; i++)
                if (sheet.cells[i].length && memchr("=+-@\t\r", sheet.cells[i].text[0], 6))
                    fail_msg("seed %u: %.*s", (unsigned)seed, (int)sheet.cells[i].length,
                             sheet.cells[i].text);
            grid_free(&sheet);
        }
        free_bundle(it);
    }
}

static void it_is_not_taken_in(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    grid sheet = written(bundle, true);
    grid_free(&sheet);
    expect_refused(take(bundle, "items.csv"), "items.csv", "has not the headers id and version");
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        IN_FOLDER(an_item_in_a_row),
        IN_FOLDER(private_columns_are_asked_for),
        IN_FOLDER(what_rests_on_private_claims_is_left_out),
        IN_FOLDER(what_is_contested_says_so),
        IN_FOLDER(whatever_is_said),
        IN_FOLDER(it_is_not_taken_in),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
