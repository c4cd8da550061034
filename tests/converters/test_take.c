/* Taking in sheets of ours: what people do to them, row by row. */
#include "sheet_folder.h"

#define ITEM2 "item/" UUID("0102")

static glassine_bundle *collection(void) {
    glassine_bundle *bundle = made_bundle();
    made_say(bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}");
    made_say(bundle, OTHER, OTHER, GLASSINE_SHARED, "{\"name\":\"Ansel Teal\"}");
    gl_digest first = made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED,
                               "{\"kind\":\"pair\",\"label\":\"H-014\",\"rate\":\"penny\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_TELLING, "{\"note\":\"caf\xc3\xa9\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_PRIVATE, "{\"storage\":\"album 3\"}");
    gl_digest other =
        made_say(bundle, KEEPER, ITEM2, GLASSINE_SHARED, "{\"kind\":\"pair\",\"label\":\"H-015\"}");
    made_follow(bundle, KEEPER, ITEM2, GLASSINE_SHARED, "{\"kind\":\"strip\"}", NULL, &other);
    made_follow(bundle, OTHER, ITEM2, GLASSINE_SHARED, "{\"kind\":\"block\"}", NULL, &other);
    made_say(bundle, KEEPER, STAMP, GLASSINE_SHARED, "{\"item\":\"" ITEM "\"}");
    made_say(bundle, OTHER, CLAIM, GLASSINE_SHARED, "{\"remark\":\"theirs\",\"stamp\":\"" STAMP "\"}");
    made_say(bundle, KEEPER, "claim/" UUID("0302"), GLASSINE_SHARED,
             "{\"remark\":\"mine\",\"stamp\":\"" STAMP "\"}");
    (void)first;
    return bundle;
}

static glassine_bundle *written(void) {
    glassine_bundle *bundle = collection();
    write_sheets(bundle, (glassine_csv_options){.with_private = true});
    return bundle;
}

static const char *now(glassine_bundle *bundle, const char *id, const char *field) {
    glassine_record *record = glassine_bundle_record(bundle, gl_span_of(id), GL_NO_SPAN);
    bool contested;
    glassine_value value = glassine_record_get(bundle, record, field, &contested);
    return contested    ? "(contested)"
           : value.text ? glassine_record_text(bundle, record, field).text
                        : "(nothing)";
}

/* ------------------------------------------------------------------------------------------- changing */

static void a_cell_is_changed(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    replace_in("item.csv", "album 3", "album 4");
    replace_in("item.csv", ",penny,", ",,");
    taken it = take(bundle, "item.csv");
    expect_slips(&it, 2); /* one in each reach */
    assert_false(it.attention);
    assert_string_equal(now(bundle, ITEM, "storage"), "album 4");
    assert_string_equal(now(bundle, ITEM, "rate"), "(nothing)");
    assert_string_equal(now(bundle, ITEM, "label"), "H-014");
    drop(&it);
    made_free(bundle);
}

static void a_contested_cell_is_settled(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    replace_in("item.csv", "`contested: block | strip", "strip");
    taken it = take(bundle, "item.csv");
    expect_slips(&it, 1);
    assert_string_equal(now(bundle, ITEM2, "kind"), "strip");
    glassine_slip slip = glassine_bundle_slip(bundle, (uint32_t)glassine_bundle_slips(bundle) - 1);
    assert_int_equal(slip.after.length, 2 * 67 + 1); /* it follows both */
    drop(&it);
    made_free(bundle);
}

static void what_others_said_meanwhile_stays(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    replace_in("item.csv", ",penny,", ",two pence,");
    made_add(
        bundle,
        (made_slip){.by = OTHER, .record = ITEM, .set = "{\"rate\":\"6d\"}", .at = "2026-06-01T10:00:00Z"});
    const char(*latest)[65];
    size_t count;
    glassine_record *item = glassine_bundle_record(bundle, GL_SPAN(ITEM), GL_NO_SPAN);
    assert_int_equal(glassine_record_latest(bundle, item, GLASSINE_SHARED, &latest, &count, NULL), 0);
    assert_int_equal(count, 2);
    taken it = take(bundle, "item.csv");
    expect_slips(&it, 1);
    assert_true(it.attention);
    assert_string_equal(now(bundle, ITEM, "rate"), "(contested)");
    assert_non_null(strstr(it.result.text, "\"field\":\"rate\""));
    drop(&it);
    made_free(bundle);
}

static void a_change_that_was_made_already_is_none(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    replace_in("item.csv", ",pair,", ",Pair,"); /* the same choice, typed otherwise */
    taken it = take(bundle, "item.csv");
    expect_slips(&it, 0);
    drop(&it);
    made_free(bundle);
}

static void programs_save_in_their_own_way(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    gl_buf text = file_text(in_folder("item.csv")), out = GL_BUF_EMPTY;
    gl_buf_add_text(&out, "");
    for (const char *at = text.text + 3; *at; at++) { /* semicolons, Windows-1252, LF, no byte order mark */
        if (*at == '\xc3')
            gl_buf_add_char(&out, (char)(*++at + 0x40));
        else if (*at != '\r')
            gl_buf_add_char(&out, *at == ',' ? ';' : *at);
    }
    write_file("item.csv", gl_buf_span(&out));
    assert_non_null(strstr(out.text, "caf\xe9"));
    taken it = take(bundle, "item.csv");
    expect_slips(&it, 0);
    drop(&it);
    gl_buf_free(&text);
    gl_buf_free(&out);
    made_free(bundle);
}

/* ------------------------------------------------------------------------------------- rows come and go */

static void append_row(const char *name, const char *row) {
    gl_buf text = file_text(in_folder(name));
    gl_buf_add_text(&text, row);
    gl_buf_add_text(&text, "\r\n");
    write_file(name, gl_buf_span(&text));
    gl_buf_free(&text);
}

static void rows_without_an_id_are_new(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    append_row("item.csv", ",,H-016,,single,,,,,,,,box 1");
    append_row("item.csv", ",,,,,,,,,,,,"); /* an empty one */
    taken it = take(bundle, "item.csv");
    expect_slips(&it, 2);
    glassine_record *record;
    assert_int_equal(glassine_bundle_find(bundle, "item", "H-016", &record, NULL), 0);
    assert_string_equal(glassine_record_text(bundle, record, "storage").text, "box 1");
    drop(&it);
    append_row("stamp.csv", ",,,H-014"); /* by the label of the item, where a person would put it */
    it = take(bundle, "stamp.csv");
    expect_slips(&it, 1);
    assert_non_null(
        strstr(glassine_bundle_slip(bundle, (uint32_t)glassine_bundle_slips(bundle) - 1).set.text, ITEM));
    drop(&it);
    made_free(bundle);
}

/* The sheet without the row that begins with `id`. */
static void remove_row(const char *name, const char *id) {
    gl_buf text = file_text(in_folder(name)), out = GL_BUF_EMPTY;
    char *at = strstr(text.text, id);
    assert_non_null(at);
    gl_buf_add_bytes(&out, text.text, (size_t)(at - text.text));
    gl_buf_add_text(&out, strstr(at, "\r\n") + 2);
    write_file(name, gl_buf_span(&out));
    gl_buf_free(&text);
    gl_buf_free(&out);
}

static void a_row_that_is_gone(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    remove_row("item.csv", ITEM2);
    taken it = take(bundle, "item.csv");
    expect_slips(&it, 0);
    assert_non_null(strstr(it.findings.text, "1 record has no row here (H-015)"));
    drop(&it);
    it = take_as(bundle, KEEPER, "item.csv", (glassine_sheets_options){.strike_missing = true});
    expect_slips(&it, 1);
    assert_true(
        glassine_record_set_aside(bundle, glassine_bundle_record(bundle, GL_SPAN(ITEM2), GL_NO_SPAN)));
    drop(&it);
    made_free(bundle);
}

/* ------------------------------------------------------------------------------------- what is not taken */

static void rows_that_cannot_be_taken(void **state) {
    (void)state;
    static const struct {
        const char *sheet, *from, *to, *place, *reason;
    } cases[] = {
        {"item.csv", ",pair,", ",pear,", "item.csv: line 2, column 5 (kind)", "must be one of"},
        {"item.csv", "H-014", "", "line 2, column 3 (label)", "it needs label"},
        {"item.csv", ITEM, "item/" UUID("0999"), "line 2, column 1 (id)", "no record of this id"},
        {"item.csv", ITEM, "", "line 2, column 1 (id)", "a version and no id"},
        {"item.csv", ITEM, ITEM2, "line 3, column 1 (id)", "line 2 is on the same record"},
        {"item.csv", ITEM2, STAMP, "line 3, column 1 (id)", "of another type"},
        {"item.csv", "shared:", "shared:0", "(version)", "does not say what the row was made from"},
        {"item.csv",
         " telling:", " telling:aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa+",
         "(version)", "that this bundle has not"},
        {"item.csv", "album 3", "alb\x01um", "line 2, column 13 (storage)", "control character"},
        {"item.csv", ",contested,", ",label,", "column 20 (label)", "stands twice"},
        {"item.csv", ",rate,", ",postage,", "column 7 (postage)", "there is no such field"},
        {"item.csv", ",rate,", ",rate@secret,", "column 7 (rate@secret)", "no such reach"},
        {"item.csv", ",rate,", ",,", "column 7", "has no header"},
        {"claim.csv", "theirs", "mine now", "(remark)", "speaks for its author alone"},
        {"claim.csv", "claim/" UUID("0302") ",no," KEEPER, ",no," OTHER, "(id)", "a version and no id"},
        {"stamp.csv", ITEM ",", "nonsense,", "(item)", "item"},
        {"item.csv", "\xef\xbb\xbfid,", "\xef\xbb\xbfname,", "item.csv",
         "has not the headers id and version"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        glassine_bundle *bundle = written();
        replace_in(cases[i].sheet, cases[i].from, cases[i].to);
        expect_refused(take(bundle, cases[i].sheet), cases[i].place, cases[i].reason);
        made_free(bundle);
    }
}

static void all_or_what_can_be_taken(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    replace_in("item.csv", ",penny,", ",two pence,");
    append_row("item.csv", ",,H-017,,pear");
    append_row("item.csv", ",,H-018,,single");
    expect_refused(take(bundle, "item.csv"), "line 4, column 5 (kind)", "1 row cannot be taken");
    assert_string_equal(now(bundle, ITEM, "rate"), "penny");
    taken it = take_as(bundle, KEEPER, "item.csv", (glassine_sheets_options){.accept_partial = true});
    expect_slips(&it, 2);
    assert_true(it.attention);
    assert_string_equal(now(bundle, ITEM, "rate"), "two pence");
    drop(&it);
    it = take_as(bundle, KEEPER, "item.csv", (glassine_sheets_options){.preview = true});
    expect_slips(&it, 0);
    assert_non_null(strstr(it.result.text, "\"set\":{\"rate\":\"two pence\"}"));
    assert_non_null(strstr(it.result.text, "\"line\":5"));
    assert_true(it.attention);
    drop(&it);
    made_free(bundle);
}

static void somebody_else_speaks(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    replace_in("claim.csv", "theirs", "mine now");
    taken it = take_as(bundle, OTHER, "claim.csv", (glassine_sheets_options){.why = "looked again"});
    expect_slips(&it, 1);
    glassine_slip slip = glassine_bundle_slip(bundle, (uint32_t)glassine_bundle_slips(bundle) - 1);
    assert_true(gl_span_is(slip.by, OTHER));
    assert_string_equal(slip.why.text, "looked again");
    drop(&it);
    made_free(bundle);
}

/* Cells that are there to be read are left alone, and that is told. */
static void labels_go_nowhere(void **state) {
    (void)state;
    glassine_bundle *bundle = written();
    replace_in("stamp.csv", ",H-014,", ",H-015,");
    taken it = take(bundle, "stamp.csv");
    expect_slips(&it, 0);
    assert_non_null(strstr(it.findings.text, "1 cell of a column that is there to be read differs"));
    drop(&it);
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        IN_FOLDER(a_cell_is_changed),
        IN_FOLDER(a_contested_cell_is_settled),
        IN_FOLDER(what_others_said_meanwhile_stays),
        IN_FOLDER(a_change_that_was_made_already_is_none),
        IN_FOLDER(programs_save_in_their_own_way),
        IN_FOLDER(rows_without_an_id_are_new),
        IN_FOLDER(a_row_that_is_gone),
        IN_FOLDER(rows_that_cannot_be_taken),
        IN_FOLDER(all_or_what_can_be_taken),
        IN_FOLDER(somebody_else_speaks),
        IN_FOLDER(labels_go_nowhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
