/* from-csv after to-csv: nothing changed makes no slip; what was changed makes exactly the slips that it
 * says, and they follow exactly what the row was made from. */
#include "csv_get.h"
#include "csv_put.h"
#include "random_bundle.h"
#include "rounds.h"
#include "sheet_folder.h"

#define BUNDLES ROUNDS_OF(500)
#define EDITS_MOST 6

static bool is_sheet(const char *name) {
    size_t length = strlen(name);
    return length > 4 && strcmp(name + length - 4, ".csv") == 0;
}

typedef struct sheets {
    const char *paths[64];
    size_t count;
} sheets;

static int by_name(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static sheets find_sheets(void) {
    sheets found = {.count = 0};
    DIR *entries = opendir(folder);
    assert_non_null(entries);
    for (struct dirent *entry; (entry = readdir(entries)) != NULL;)
        if (is_sheet(entry->d_name)) {
            assert_true(found.count < 64);
            found.paths[found.count++] = strdup(in_folder(entry->d_name));
        }
    closedir(entries);
    qsort(found.paths, found.count, sizeof found.paths[0], by_name);
    return found;
}

static void free_sheets(sheets *found) {
    while (found->count)
        free((char *)found->paths[--found->count]);
}

/* ------------------------------------------------------------------------------------------- both ways */

static void show_findings(glassine_report *report) {
    gl_buf text = GL_BUF_EMPTY;
    glassine_report_findings_text(report, (glassine_text_style){.width = 200}, into_buf, &text);
    print_message("%s\n", text.text ? text.text : "");
    gl_buf_free(&text);
}

/* What is taken lies in the draft afterwards. */
static glassine_draft *take_all(glassine_bundle *bundle, glassine_sheets_options options,
                                glassine_status wanted) {
    glassine_draft *draft;
    glassine_error error = {0};
    sheets found = find_sheets();
    assert_int_equal(glassine_draft_new(bundle, KEEPER, NULL, &draft, &error), 0);
    glassine_report *report = glassine_report_new("from-csv");
    glassine_status status =
        glassine_from_csv(bundle, draft, found.paths, found.count, &options, report, &error);
    if (status != wanted) {
        show_findings(report);
        fail_msg("%s: %s", error.place, error.message);
    }
    assert_false(glassine_report_failed(report));
    glassine_report_free(report);
    free_sheets(&found);
    return draft;
}

static glassine_csv_options options_of(uint64_t seed) {
    return (glassine_csv_options){.with_private = seed % 2, .without_bom = seed % 3 == 0};
}

static void nothing_changed_makes_no_slip(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= BUNDLES; seed++) {
        random_bundle *it = draw_bundle(seed);
        uint64_t slips = glassine_bundle_slips(it->bundle);
        write_sheets(it->bundle, options_of(seed));
        glassine_draft *draft = take_all(it->bundle, (glassine_sheets_options){0}, GLASSINE_OK);
        if (glassine_draft_slips(draft))
            fail_msg("bundle %llu: %zu slips, first %s", (unsigned long long)seed,
                     glassine_draft_slips(draft),
                     glassine_bundle_slip(it->bundle, (uint32_t)slips).line.text);
        glassine_draft_free(draft);
        free_bundle(it);
    }
}

/* -------------------------------------------------------------------------------------------- the edits */

/* What somebody typed into a cell, and what it should amount to. */
typedef struct edit {
    char record[80], author[80], field[40];
    glassine_reach reach;
    char value[400]; /* canonical JSON; "": cleared */
    char after[1200];
} edit;

static edit edits[EDITS_MOST * 64];
static size_t edit_count;

static bool
is_apart(const char *field) { /* rules over several fields or records are not what this is about */
    static const char *const names[] = {
        "row",       "column",      "rows",       "columns", "panes_across", "panes_down",     "order",
        "state",     "first_state", "last_state", "kind",    "captions",     "corner_letters", "pane_names",
        "numbering", "portion",     "down",       "across",  "relation",     "region",         "key"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(field, names[i]) == 0)
            return true;
    return false;
}

/* A new value for the field: what is typed, and what it is. False: none for such a field. */
static bool draw_typed(random_bundle *it, const glassine_field_info *info, char *typed, size_t typed_size,
                       char *value, size_t value_size) {
    static const char *const dates[] = {"1862-07", "14 Mar 1871", "about 1866"};
    static const char *const edtf[] = {"1862-07", "1871-03-14", "1866~"};
    unsigned n = draw(it, 3);
    switch (info->kind) {
    case GLASSINE_TEXT:
        snprintf(typed, typed_size, "%s %u, \"typed\"; it", n ? "7-8" : "=fresh", draw(it, 1000000));
        snprintf(value, value_size, "\"%.*s \\\"typed\\\"; it\"", (int)strcspn(typed, ",") + 1, typed);
        return true;
    case GLASSINE_INTEGER:
        snprintf(typed, typed_size, "%lld",
                 (long long)(info->least + (info->most > info->least ? (int64_t)n : 0)));
        snprintf(value, value_size, "%s", typed);
        return true;
    case GLASSINE_DATE:
        snprintf(typed, typed_size, "%s", dates[n]);
        snprintf(value, value_size, "\"%s\"", edtf[n]);
        return true;
    case GLASSINE_CHOICE:
        snprintf(typed, typed_size, "%s", info->choices[0]);
        snprintf(value, value_size, "\"%s\"", info->choices[0]);
        return true;
    case GLASSINE_TRUTH:
        snprintf(typed, typed_size, "%s", n ? "yes" : "no");
        snprintf(value, value_size, "%s", n ? "true" : "false");
        return true;
    case GLASSINE_HEX:
        snprintf(typed, typed_size, "%064x", draw(it, 1 << 30));
        snprintf(value, value_size, "\"%s\"", typed);
        return true;
    case GLASSINE_TEXTS:
        snprintf(typed, typed_size, "one\\; two; a,b; %u", draw(it, 1000000));
        snprintf(value, value_size, "[\"one; two\",\"a,b\",\"%s\"]", strrchr(typed, ' ') + 1);
        return true;
    case GLASSINE_CHOICES:
        snprintf(typed, typed_size, "right; left");
        snprintf(value, value_size, "[\"left\",\"right\"]");
        return true;
    default:
        return false;
    }
}

static size_t header_column(const grid *sheet, const char *name) {
    for (size_t i = 0; i < sheet->rows[0].count; i++)
        if (gl_span_is(grid_at(sheet, &sheet->rows[0], i), name))
            return i;
    return SIZE_MAX;
}

static const char *cell_text_at(const grid *sheet, const grid_row *row, size_t column) {
    static char texts[4][2000];
    static unsigned next;
    char *text = texts[next++ % 4];
    gl_span cell = column == SIZE_MAX ? GL_SPAN("") : grid_at(sheet, row, column);
    snprintf(text, sizeof texts[0], "%.*s", GL_SPAN_ARGS(cell));
    return text;
}

/* The digests of one reach in a version cell, as a slip's `after` has them. */
static void after_of(const char *version, glassine_reach reach, char *out, size_t size) {
    char start[20];
    snprintf(start, sizeof start, "%s:", glassine_reach_name(reach));
    const char *at = strstr(version, start);
    size_t length = (size_t)snprintf(out, size, "[");
    for (at = at ? at + strlen(start) : ""; *at && *at != ' '; at += at[64] == '+' ? 65 : 64)
        length += (size_t)snprintf(out + length, size - length, "%s\"%.64s\"", length > 1 ? "," : "", at);
    snprintf(out + length, size - length, "]");
}

/* Changes a cell, where it is one that may be changed, and says what is expected of it. */
static bool edit_cell(random_bundle *it, grid *sheet, const grid_row *row, size_t column) {
    const char *header = cell_text_at(sheet, &sheet->rows[0], column);
    const char *id = cell_text_at(sheet, row, header_column(sheet, "id"));
    const glassine_type_info *type = gl_type_of_id(gl_span_of(id));
    const glassine_field_info *info = type ? glassine_type_field(type, header) : NULL;
    size_t authors = header_column(sheet, "author");
    if (!info || is_apart(header) || strcmp(type->name, "event") == 0 || strcmp(type->name, "join") == 0)
        return false;
    if (authors != SIZE_MAX && strcmp(cell_text_at(sheet, row, authors), KEEPER) != 0)
        return false;
    edit *one = &edits[edit_count];
    *one = (edit){.reach = info->reach};
    static char typed[64][200];
    static unsigned next;
    char *cell = typed[next++ % 64];
    bool clears = draw(it, 5) == 0 && !info->required && grid_at(sheet, row, column).length;
    if (clears)
        cell[0] = '\0';
    else if (!draw_typed(it, info, cell, sizeof typed[0], one->value, sizeof one->value))
        return false;
    if (info->kind == GLASSINE_REF && clears)
        return false;
    gl_span before = grid_at(sheet, row, column);
    before = before.length && before.text[0] == '`' ? gl_span_part(before, 1, before.length) : before;
    bool same_choices = info->kind == GLASSINE_CHOICES && gl_span_is(before, "left; right");
    if (gl_span_is(before, cell) || same_choices ||
        (one->value[0] == '"' && strlen(cell) < 20 && before.length == strlen(one->value) - 2 &&
         memcmp(before.text, one->value + 1, before.length) == 0))
        return false;
    snprintf(one->record, sizeof one->record, "%s", id);
    snprintf(one->field, sizeof one->field, "%s", info->name);
    after_of(cell_text_at(sheet, row, header_column(sheet, "version")), one->reach, one->after,
             sizeof one->after);
    sheet->cells[row->first + column] = (grid_cell){.text = cell, .length = (uint32_t)strlen(cell)};
    edit_count++;
    return true;
}

static void write_grid(const grid *sheet, const char *path) {
    conv_output out = {0};
    for (size_t i = 0; i < sheet->row_count; i++) {
        for (size_t k = 0; k < sheet->rows[i].count; k++)
            csv_put_cell(&out, grid_at(sheet, &sheet->rows[i], k), k == 0);
        csv_end_row(&out);
    }
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(out.text, 1, out.length, file), out.length);
    fclose(file);
    conv_free(&out);
}

/* Some cells of some sheets; rows in another order. */
static void edit_sheets(random_bundle *it) {
    sheets found = find_sheets();
    edit_count = 0;
    for (size_t i = 0; i < found.count; i++) {
        grid sheet;
        glassine_error error;
        assert_int_equal(csv_get(found.paths[i], NULL, &sheet, &error), 0);
        bool *done = calloc(sheet.cell_count, sizeof *done);
        for (unsigned n = draw(it, EDITS_MOST); n > 0 && sheet.row_count > 1; n--) {
            const grid_row *row = &sheet.rows[1 + draw(it, (uint32_t)sheet.row_count - 1)];
            size_t column = draw(it, sheet.rows[0].count);
            if (!done[row->first + column])
                done[row->first + column] = edit_cell(it, &sheet, row, column);
        }
        if (sheet.row_count > 2 && draw(it, 2)) {
            grid_row other = sheet.rows[1];
            sheet.rows[1] = sheet.rows[2];
            sheet.rows[2] = other;
        }
        write_grid(&sheet, found.paths[i]);
        free(done);
        grid_free(&sheet);
    }
    free_sheets(&found);
}

static int by_field_name(const void *a, const void *b) {
    return strcmp(((const edit *)a)->field, ((const edit *)b)->field);
}

/* The slip that the edits of one record and reach should make, without its time: taken out of the list. */
static void expected_slip(const char *record, glassine_reach reach, gl_buf *out) {
    gl_buf set = GL_BUF_EMPTY, clear = GL_BUF_EMPTY;
    const char *after = "[]";
    for (size_t i = 0; i < edit_count; i++) {
        edit *one = &edits[i];
        if (strcmp(one->record, record) != 0 || one->reach != reach)
            continue;
        after = one->after;
        if (one->value[0])
            gl_buf_printf(&set, "%s\"%s\":%s", set.length ? "," : "", one->field, one->value);
        else
            gl_buf_printf(&clear, "%s\"%s\"", clear.length ? "," : "", one->field);
    }
    gl_buf_printf(out, "%s %d %s {%s} [%s]", record, (int)reach, after, set.length ? set.text : "",
                  clear.length ? clear.text : "");
    gl_buf_free(&set);
    gl_buf_free(&clear);
}

static bool is_listed(const edit *list, size_t count, const edit *one) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(list[i].record, one->record) == 0 && list[i].reach == one->reach)
            return true;
    return false;
}

static void compare_slips(random_bundle *it, glassine_draft *draft, uint64_t seed) {
    uint64_t first = glassine_bundle_slips(it->bundle) - glassine_draft_slips(draft);
    size_t wanted = 0;
    qsort(edits, edit_count, sizeof *edits, by_field_name);
    for (size_t i = 0; i < edit_count; i++)
        wanted += !is_listed(edits, i, &edits[i]);
    if (glassine_draft_slips(draft) != wanted)
        fail_msg("bundle %llu: %zu slips, not %zu", (unsigned long long)seed, glassine_draft_slips(draft),
                 wanted);
    for (size_t i = 0; i < wanted; i++) {
        glassine_slip slip = glassine_bundle_slip(it->bundle, (uint32_t)(first + i));
        gl_buf expected = GL_BUF_EMPTY, made = GL_BUF_EMPTY;
        char record[80];
        snprintf(record, sizeof record, "%.*s", GL_SPAN_ARGS(slip.record));
        expected_slip(record, slip.reach, &expected);
        gl_span clear = slip.clear.text ? slip.clear : GL_SPAN("[]");
        gl_buf_printf(&made, "%s %d %.*s %.*s %.*s", record, (int)slip.reach, GL_SPAN_ARGS(slip.after),
                      GL_SPAN_ARGS(slip.set), GL_SPAN_ARGS(clear));
        if (strcmp(expected.text, made.text) != 0)
            fail_msg("bundle %llu:\n%s\nshould be\n%s", (unsigned long long)seed, made.text, expected.text);
        gl_buf_free(&expected);
        gl_buf_free(&made);
    }
}

static void changes_make_exactly_their_slips(void **state) {
    (void)state;
    size_t all = 0;
    for (uint64_t seed = 1; seed <= BUNDLES; seed++) {
        random_bundle *it = draw_bundle(seed + 10000);
        write_sheets(it->bundle, options_of(seed));
        edit_sheets(it);
        all += edit_count;
        glassine_draft *draft = take_all(it->bundle, (glassine_sheets_options){0}, GLASSINE_OK);
        compare_slips(it, draft, seed);
        glassine_draft_free(draft);
        free_bundle(it);
    }
    assert_true(all > BUNDLES);
}

/* The same, where the bundle went on in the meantime: the slips follow what the sheet was made from all the
 * same. */
static void the_bundle_may_have_moved_on(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= BUNDLES; seed++) {
        random_bundle *it = draw_bundle(seed + 20000);
        write_sheets(it->bundle, (glassine_csv_options){.with_private = true});
        edit_sheets(it);
        for (size_t i = 0; i < it->count; i++)
            if (draw(it, 2))
                draw_slip(it, it->ids[i], OTHER);
        glassine_draft *draft = take_all(it->bundle, (glassine_sheets_options){0}, GLASSINE_OK);
        compare_slips(it, draft, seed);
        glassine_draft_free(draft);
        free_bundle(it);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        IN_FOLDER(nothing_changed_makes_no_slip),
        IN_FOLDER(changes_make_exactly_their_slips),
        IN_FOLDER(the_bundle_may_have_moved_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
