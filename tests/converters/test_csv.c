/* to-csv: cells by the rules of spec/csv.md, read back by a reader of the test's own; sheets as RFC 4180 has
 * them; files all or none. */
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"
#include "cell.h"
#include "converters.h"
#include "made.h"
#include "units.h"

/* ------------------------------------------------------------------------------------------------- cells */

static glassine_bundle *one_field(const char *record, const char *name, const char *value, gl_buf *set) {
    glassine_bundle *bundle = made_bundle();
    gl_buf_printf(set, "{\"%s\":%s}", name, value);
    made_say(bundle, KEEPER, record, GLASSINE_SHARED, set->text);
    return bundle;
}

static gl_buf cell_of(glassine_bundle *bundle, const char *record, const char *name) {
    const glassine_field *fields;
    size_t count;
    glassine_record *found = glassine_bundle_record(bundle, gl_span_of(record), GL_NO_SPAN);
    assert_int_equal(glassine_record_fields(bundle, found, &fields, &count, NULL), 0);
    gl_buf cell = GL_BUF_EMPTY;
    for (size_t i = 0; i < count; i++) {
        if (!gl_span_is(fields[i].name, name))
            continue;
        conv_output out = {0};
        cell_field(&out, bundle, &fields[i]);
        assert_int_equal(out.failed, 0);
        gl_buf_add(&cell, conv_span(&out));
        conv_free(&out);
    }
    gl_buf_add_text(&cell, "");
    return cell;
}

/* Text that spreadsheet programs would run or turn into something else, and text that is safe. */
static void marks(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bool marked;
    } cases[] = {
        {"H-014", false},
        {"Kingfisher", false},
        {"1860", false},
        {"0", false},
        {"123456789012345", false},
        {"row 3-10", false},
        {"R6/3", false},
        {"7R1E", true},
        {"1E5", true},
        {"007", true},
        {"1234567890123456", true},
        {"7-8", true},
        {"3/4", true},
        {"1860-03-14", true},
        {"1860~", true},
        {"10:30", true},
        {"5%", true},
        {"=1+1", true},
        {"+1", true},
        {"-1", true},
        {"@SUM(A1)", true},
        {"\n=1+1", true},
        {" =1+1", true},
        {"TRUE", true},
        {"false", true},
        {"True colours", false},
        {"Mar 5", true},
        {"March", false},
        {"may-61", true},
        {"Sept 5", true},
        {"Mars 5", false},
        {"Marked 5", false},
        {"Dec. 1860", true},
        {"`x", true},
        {"'x", true},
        {"\"x\"", true},
        {"(5)", true},
        {"#N/A", true},
        {"\xc3\x89"
         "cu",
         false},
        {"\xe9\xb3\xa5", false},
        {"\xef\xbc\x9d"
         "1",
         true},
        {"\xe2\x88\x92"
         "1",
         true},
        {"\xc2\xa0=1", true},
        {"\xc2\xa3"
         "5",
         true},
        {"\xc3\x97", true},
        {"json:1", false},
        {"contested: a", false},
        {"1,5", true},
        {"1.5", true},
        {"0x1F", true},
        {"\xf0\x9f\x90\xa6", false},
        {"|cmd", true},
        {"\xe2\x80\xaa=1", true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        conv_output out = {0};
        cell_text(&out, gl_span_of(cases[i].text));
        if ((out.text[0] == '`') != cases[i].marked || strcmp(out.text + cases[i].marked, cases[i].text) != 0)
            fail_msg("%s became %s", cases[i].text, out.text);
        conv_free(&out);
    }
}

static void values(void **state) {
    (void)state;
    static const struct {
        const char *record, *field, *value, *cell;
    } cases[] = {
        {ITEM, "label", "\"H-014\"", "H-014"},
        {ITEM, "label", "\"\"", "`"},
        {ITEM, "label", "12", "`json:12"}, /* text that is none */
        {ITEM, "set_aside", "true", "yes"},
        {ITEM, "set_aside", "false", "no"},
        {ITEM, "set_aside", "\"yes\"", "`json:\"yes\""},
        {STAMP, "row", "12", "12"},
        {STAMP, "row", "\"12\"", "`json:\"12\""},
        {STAMP, "row", "-5", "-5"},
        {STAMP, "row", "9007199254740991", "`9007199254740991"},
        {STAMP, "row", "-900719925474099", "`-900719925474099"},
        {STAMP, "varieties", "[\"re-entry\",\"recut\"]", "re-entry; recut"},
        {STAMP, "varieties", "[\"a;b\",\"c\\\\d\"]", "a\\;b; c\\\\d"},
        {STAMP, "varieties", "[\"7\",\"8\"]", "`7; 8"},
        {STAMP, "varieties", "[]", "`json:[]"},
        {STAMP, "varieties", "[\"\"]", "`json:[\"\"]"},
        {STAMP, "varieties", "[\" a\"]", "`json:[\" a\"]"},
        {STAMP, "varieties", "[1]", "`json:[1]"},
        {"observation/" UUID("0401"), "region", "[10,20,300,200]", "`10; 20; 300; 200"},
        {"observation/" UUID("0401"), "region", "[\"10\"]", "`json:[\"10\"]"},
        {ITEM, "own_x", "\"text\"", "text"},
        {ITEM, "own_x", "7", "`json:7"},
        {ITEM, "own_x", "true", "`json:true"},
        {ITEM, "own_x", "[\"a\"]", "`json:[\"a\"]"},
        {ITEM, "own_x", "{\"a\":1}", "`json:{\"a\":1}"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        gl_buf set = GL_BUF_EMPTY;
        glassine_bundle *bundle = one_field(cases[i].record, cases[i].field, cases[i].value, &set);
        gl_buf cell = cell_of(bundle, cases[i].record, cases[i].field);
        if (strcmp(cell.text, cases[i].cell) != 0)
            fail_msg("%s: %s, not %s", cases[i].value, cell.text, cases[i].cell);
        gl_buf_free(&cell);
        gl_buf_free(&set);
        made_free(bundle);
    }
}

static void contested_cells(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    gl_digest first = made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"A\"}");
    made_follow(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"a|b\"}", NULL, &first);
    made_follow(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"7-8\",\"note\":\"x\"}", NULL, &first);
    made_follow(bundle, OTHER, ITEM, GLASSINE_SHARED, "{\"label\":\"7-8\",\"note\":\"y\"}", NULL, &first);
    made_follow(bundle, OTHER, ITEM, GLASSINE_SHARED, "{}", "[\"label\"]", &first);
    gl_buf cell = cell_of(bundle, ITEM, "label");
    assert_string_equal(cell.text, "`contested: (cleared) | `7-8 | a\\|b");
    gl_buf_free(&cell);
    made_free(bundle);
}

/* -------------------------------------------- a reader by the page alone, and values of every sort through
 * it */

static void add_json_text(gl_buf *out, const char *text) {
    gl_json_add_string(out, gl_span_of(text));
}

static gl_buf value_of_cell(const char *cell, glassine_kind kind) {
    gl_buf out = GL_BUF_EMPTY, element = GL_BUF_EMPTY;
    if (strncmp(cell, "`json:", 6) == 0) {
        gl_buf_add_text(&out, cell + 6);
        return out;
    }
    cell += cell[0] == '`';
    if (kind == GLASSINE_INTEGER) {
        gl_buf_add_text(&out, cell);
    } else if (kind == GLASSINE_TRUTH) {
        gl_buf_add_text(&out, strcmp(cell, "yes") == 0 ? "true" : "false");
    } else if (kind == GLASSINE_TEXTS || kind == GLASSINE_REGION) {
        gl_buf_add_char(&out, '[');
        for (const char *at = cell;; at++) {
            if (*at && *at != ';') {
                at += *at == '\\';
                gl_buf_add_char(&element, *at);
                continue;
            }
            if (out.length > 1)
                gl_buf_add_char(&out, ',');
            if (kind == GLASSINE_REGION)
                gl_buf_add(&out, gl_buf_span(&element));
            else
                gl_json_add_string(&out, gl_buf_span(&element));
            gl_buf_clear(&element);
            if (!*at)
                break;
            at++; /* the space */
        }
        gl_buf_add_char(&out, ']');
    } else {
        add_json_text(&out, cell);
    }
    gl_buf_free(&element);
    return out;
}

static uint64_t random_state;

static unsigned below(unsigned limit) { /* xorshift64 */
    random_state ^= random_state << 13;
    random_state ^= random_state >> 7;
    random_state ^= random_state << 17;
    return (unsigned)(random_state % limit);
}

static void add_random_text(gl_buf *out) {
    static const char *const bits[] = {
        "a", "`", "'",  "=",     ";",           "; ",           " ",   "\\",   "|", "\"", ",",
        "7", "-", "\n", "json:", "contested: ", "\xe9\xb3\xa5", "Mar", "true", "E", "/",  "\xef\xbb\xbf"};
    gl_buf text = GL_BUF_EMPTY;
    for (unsigned n = below(7); n > 0; n--)
        gl_buf_add_text(&text, bits[below(sizeof bits / sizeof *bits)]);
    gl_json_add_string(out, gl_buf_span(&text));
    gl_buf_free(&text);
}

static void add_random_scalar(gl_buf *out) {
    unsigned kind = below(4);
    if (kind == 0)
        gl_buf_printf(out, "%lld", (long long)below(100000) * (below(2) ? 90071992547 : -1));
    else if (kind == 1)
        gl_buf_add_text(out, below(2) ? "true" : "false");
    else
        add_random_text(out);
}

static void add_random_value(gl_buf *out) {
    unsigned kind = below(4);
    if (kind < 2) {
        add_random_scalar(out);
        return;
    }
    gl_buf_add_text(out, kind == 2 ? "[" : "{\"a\":");
    for (unsigned n = kind == 2 ? below(4) : 1, i = 0; i < n; i++) {
        if (i)
            gl_buf_add_char(out, ',');
        add_random_scalar(out);
    }
    gl_buf_add_char(out, kind == 2 ? ']' : '}');
}

static void every_value_comes_back(void **state) {
    (void)state;
    static const struct {
        const char *record, *field;
        glassine_kind kind;
    } fields[] = {{ITEM, "label", GLASSINE_TEXT},       {ITEM, "own_x", GLASSINE_TEXT},
                  {ITEM, "set_aside", GLASSINE_TRUTH},  {STAMP, "row", GLASSINE_INTEGER},
                  {STAMP, "varieties", GLASSINE_TEXTS}, {"marking/" UUID("0501"), "region", GLASSINE_REGION}};
    random_state = 1861;
    for (unsigned i = 0; i < 20000; i++) {
        unsigned which = i % (sizeof fields / sizeof *fields);
        gl_buf value = GL_BUF_EMPTY, set = GL_BUF_EMPTY;
        add_random_value(&value);
        glassine_bundle *bundle = one_field(fields[which].record, fields[which].field, value.text, &set);
        gl_buf cell = cell_of(bundle, fields[which].record, fields[which].field);
        gl_buf back = value_of_cell(cell.text, fields[which].kind);
        if (strcmp(back.text, value.text) != 0)
            fail_msg("%s: the cell %s came back as %s", value.text, cell.text, back.text);
        assert_null(strchr("=+@\t\r", cell.text[0] ? cell.text[0] : 'x'));
        gl_buf_free(&value);
        gl_buf_free(&set);
        gl_buf_free(&cell);
        gl_buf_free(&back);
        made_free(bundle);
    }
}

/* ------------------------------------------------------------------------------------------------ sheets */

static char folder[64];

static int new_folder(void **state) {
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/glassine-csv-XXXXXX");
    return mkdtemp(folder) ? 0 : -1;
}

static const char *in_folder(const char *name) {
    static char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    return path;
}

static size_t files_in(const char *path) {
    size_t count = 0;
    DIR *stream = opendir(path);
    assert_non_null(stream);
    while (readdir(stream))
        count++;
    closedir(stream);
    return count - 2; /* . and .. */
}

static void empty_folder(const char *path) {
    DIR *stream = opendir(path);
    char name[512];
    if (!stream)
        return;
    for (struct dirent *entry; (entry = readdir(stream));) {
        snprintf(name, sizeof name, "%s/%s", path, entry->d_name);
        unlink(name);
    }
    closedir(stream);
    rmdir(path);
}

static int old_folder(void **state) {
    (void)state;
    empty_folder(in_folder("sheets"));
    empty_folder(folder);
    return 0;
}

static gl_buf content(const char *path) {
    gl_buf out = GL_BUF_EMPTY;
    char bytes[4096];
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    for (size_t got; (got = fread(bytes, 1, sizeof bytes, file)) > 0;)
        gl_buf_add_bytes(&out, bytes, got);
    fclose(file);
    gl_buf_add_text(&out, "");
    return out;
}

/* RFC 4180's grammar, and nothing laxer: the cell at (row, column) of a sheet; row 0 is the header. */
typedef struct cells {
    char *cell[64][64];
    size_t rows, columns;
} cells;

static const char *read_cell(const char *at, gl_buf *out) {
    if (*at != '"') {
        size_t length = strcspn(at, ",\r\n\"");
        gl_buf_add_bytes(out, at, length);
        return at + length;
    }
    for (at++; *at != '"' || at[1] == '"'; at++) {
        assert_true(*at);
        at += *at == '"';
        gl_buf_add_char(out, *at);
    }
    return at + 1;
}

static cells read_sheet(const char *name, bool bom) {
    cells sheet = {0};
    gl_buf text = content(in_folder(name));
    const char *at = text.text;
    assert_int_equal(strncmp(at, "\xef\xbb\xbf", 3) == 0, bom);
    at += bom ? 3 : 0;
    while (*at) {
        size_t column = 0;
        for (;; at++) {
            gl_buf cell = GL_BUF_EMPTY;
            gl_buf_add_text(&cell, "");
            at = read_cell(at, &cell);
            sheet.cell[sheet.rows][column++] = cell.text;
            if (*at != ',')
                break;
        }
        assert_int_equal(strncmp(at, "\r\n", 2), 0);
        at += 2;
        assert_true(!sheet.rows || column == sheet.columns);
        sheet.columns = column;
        sheet.rows++;
    }
    gl_buf_free(&text);
    return sheet;
}

static void free_sheet(cells *sheet) {
    for (size_t i = 0; i < sheet->rows; i++) {
        for (size_t k = 0; k < sheet->columns; k++)
            free(sheet->cell[i][k]);
    }
}

static size_t column_of(const cells *sheet, const char *header) {
    for (size_t k = 0; k < sheet->columns; k++) {
        if (strcmp(sheet->cell[0][k], header) == 0)
            return k;
    }
    return SIZE_MAX;
}

static const char *cell_at(const cells *sheet, size_t row, const char *header) {
    size_t column = column_of(sheet, header);
    assert_true(row < sheet->rows && column < sheet->columns);
    return sheet->cell[row][column];
}

static void write_sheets(glassine_bundle *bundle, glassine_csv_options options) {
    glassine_error error = {0};
    glassine_report *report = glassine_report_new("to-csv");
    if (glassine_to_csv(bundle, folder, &options, report, &error))
        fail_msg("%s: %s", error.place, error.message);
    assert_false(glassine_report_failed(report));
    assert_int_equal(glassine_report_findings(report, GLASSINE_WARNING) > 0, options.with_private);
    glassine_report_free(report);
}

static glassine_bundle *collection(void) {
    glassine_bundle *bundle = made_bundle();
    made_say(bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}");
    made_say(bundle, OTHER, OTHER, GLASSINE_SHARED, "{\"name\":\"Ansel Teal\"}");
    gl_digest first =
        made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"pair\",\"label\":\"H-014\"}");
    made_follow(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"strip\"}", NULL, &first);
    made_follow(bundle, OTHER, ITEM, GLASSINE_SHARED, "{\"kind\":\"block\"}", NULL, &first);
    made_say(bundle, KEEPER, ITEM, GLASSINE_TELLING, "{\"note\":\"says \\\"plate 1\\\",\\nand more\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_PRIVATE, "{\"label\":\"mine\",\"storage\":\"=HYPERLINK(1)\"}");
    made_say(bundle, KEEPER, STAMP, GLASSINE_SHARED,
             "{\"item\":\"" ITEM "\",\"own_version\":\"v\",\"version\":\"w\"}");
    made_say(bundle, KEEPER, CLAIM, GLASSINE_SHARED,
             "{\"made\":\"1860~\",\"positions\":\"R1/4\",\"stamp\":\"" STAMP "\"}");
    made_say(bundle, OTHER, CLAIM, GLASSINE_SHARED,
             "{\"basis\":[\"" STAMP "\",\"" ITEM "\"],\"stamp\":\"" STAMP "\"}");
    made_say(bundle, KEEPER, "valuation/" UUID("0a01"), GLASSINE_PRIVATE, "{\"item\":\"" ITEM "\"}");
    made_say(bundle, KEEPER, "teapot/" UUID("0901"), GLASSINE_SHARED, "{\"handle\":\"left\"}");
    return bundle;
}

static void sheets_of_a_collection(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    write_sheets(bundle, (glassine_csv_options){0});
    assert_int_equal(files_in(folder), 7); /* contributor, item, stamp, claim, teapot; read-me, metadata */
    cells items = read_sheet("item.csv", true);
    assert_int_equal(items.rows, 2);
    assert_string_equal(items.cell[0][0], "id");
    assert_string_equal(items.cell[0][items.columns - 1], "version");
    assert_string_equal(items.cell[0][items.columns - 2], "contested");
    assert_string_equal(cell_at(&items, 1, "id"), ITEM);
    assert_string_equal(cell_at(&items, 1, "label"), "H-014");
    assert_string_equal(cell_at(&items, 1, "note"), "says \"plate 1\",\nand more");
    assert_string_equal(cell_at(&items, 1, "kind"), "`contested: block | strip");
    assert_string_equal(cell_at(&items, 1, "contested"), "kind");
    assert_string_equal(cell_at(&items, 1, "destination"), "");
    assert_int_equal(column_of(&items, "storage"), SIZE_MAX);
    assert_int_equal(column_of(&items, "label@private"), SIZE_MAX);
    assert_int_equal(column_of(&items, "contains_private"), SIZE_MAX);
    const char *version = cell_at(&items, 1, "version");
    assert_int_equal(strlen(version), 7 + 64 + 1 + 64 + 1 + 8 + 64); /* shared:a+b telling:c */
    assert_null(strstr(version, "private"));
    free_sheet(&items);

    cells claims = read_sheet("claim.csv", true);
    assert_int_equal(claims.rows, 3);
    assert_string_equal(claims.cell[0][1], "author");
    assert_string_equal(claims.cell[0][2], "author_label");
    for (size_t row = 1; row < 3; row++) {
        bool keeper = strcmp(cell_at(&claims, row, "author"), KEEPER) == 0;
        assert_string_equal(cell_at(&claims, row, "author_label"), keeper ? "Margery Lark" : "Ansel Teal");
        assert_string_equal(cell_at(&claims, row, "stamp"), STAMP);
        assert_string_equal(cell_at(&claims, row, "stamp_label"), "H-014");
        assert_string_equal(cell_at(&claims, row, "made"), keeper ? "`1860~" : "");
        assert_string_equal(cell_at(&claims, row, "basis"), keeper ? "" : STAMP "; " ITEM);
        assert_string_equal(cell_at(&claims, row, "basis_label"), keeper ? "" : "H-014; H-014");
    }
    free_sheet(&claims);

    cells stamps = read_sheet("stamp.csv", true);
    assert_string_equal(cell_at(&stamps, 1, "version@shared"), "w");
    assert_string_equal(cell_at(&stamps, 1, "own_version"), "v");
    free_sheet(&stamps);
    cells teapots = read_sheet("teapot.csv", true);
    assert_string_equal(cell_at(&teapots, 1, "handle"), "left");
    assert_int_equal(teapots.columns, 4);
    free_sheet(&teapots);
    made_free(bundle);
}

static void private_fields_are_said_to_be_there(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    write_sheets(bundle, (glassine_csv_options){.with_private = true, .without_bom = true});
    cells items = read_sheet("item.csv", false);
    assert_string_equal(items.cell[0][1], "contains_private");
    assert_string_equal(items.cell[1][1], "yes");
    assert_string_equal(cell_at(&items, 1, "storage"), "`=HYPERLINK(1)");
    assert_string_equal(cell_at(&items, 1, "label"), "H-014");
    assert_string_equal(cell_at(&items, 1, "label@private"), "mine");
    assert_non_null(strstr(cell_at(&items, 1, "version"), " private:"));
    free_sheet(&items);
    cells stamps = read_sheet("stamp.csv", false);
    assert_string_equal(stamps.cell[1][1], "no");
    free_sheet(&stamps);
    cells valuations = read_sheet("valuation.csv", false);
    assert_int_equal(valuations.rows, 2);
    free_sheet(&valuations);
    gl_buf read_me = content(in_folder("read-me.txt"));
    assert_non_null(strstr(read_me.text, "PRIVATE"));
    gl_buf_free(&read_me);
    made_free(bundle);
}

/* One type's every field has a column, and no name of the table could be taken for a column of ours. */
static void every_field_has_a_column(void **state) {
    (void)state;
    static const char *const own[] = {"id",           "contains_private", "author",
                                      "author_label", "contested",        "version"};
    for (size_t t = 0; t < glassine_type_count(); t++) {
        const glassine_type_info *type = glassine_type_at(t);
        char record[80];
        snprintf(record, sizeof record, "%s/" UUID("0701"), type->name);
        glassine_bundle *bundle = made_bundle();
        made_say(bundle, KEEPER, record, GLASSINE_SHARED, "{}");
        write_sheets(bundle, (glassine_csv_options){.with_private = true});
        snprintf(record, sizeof record, "%s.csv", type->name);
        cells sheet = read_sheet(record, true);
        size_t labels = 0;
        for (size_t i = 0; i < type->field_count; i++) {
            const char *name = type->fields[i].name;
            assert_true(column_of(&sheet, name) != SIZE_MAX);
            labels += type->fields[i].kind == GLASSINE_REF || type->fields[i].kind == GLASSINE_REFS;
            labels += units_differ(&type->fields[i]);
            assert_false(strlen(name) > 6 && strcmp(name + strlen(name) - 6, "_label") == 0);
            for (size_t k = 0; k < sizeof own / sizeof *own; k++)
                assert_string_not_equal(name, own[k]);
        }
        assert_int_equal(sheet.columns, 4 + 2 * (size_t)type->authored + type->field_count + labels);
        free_sheet(&sheet);
        made_free(bundle);
        old_folder(NULL);
        new_folder(NULL);
    }
}

static void set_aside_records(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"A\"}");
    made_say(bundle, KEEPER, "item/" UUID("0102"), GLASSINE_SHARED, "{\"label\":\"B\",\"set_aside\":true}");
    write_sheets(bundle, (glassine_csv_options){0});
    cells items = read_sheet("item.csv", true);
    assert_int_equal(items.rows, 2);
    free_sheet(&items);
    old_folder(NULL);
    new_folder(NULL);
    write_sheets(bundle, (glassine_csv_options){.with_aside = true});
    items = read_sheet("item.csv", true);
    assert_int_equal(items.rows, 3);
    assert_string_equal(cell_at(&items, 2, "set_aside"), "yes");
    free_sheet(&items);
    made_free(bundle);
}

static void metadata_lists_the_columns(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    write_sheets(bundle, (glassine_csv_options){.with_private = true});
    json_error_t error;
    json_t *metadata = json_load_file(in_folder("csv-metadata.json"), JSON_REJECT_DUPLICATES, &error), *table;
    if (!metadata)
        fail_msg("%s", error.text);
    size_t i;
    json_array_foreach(json_object_get(metadata, "tables"), i, table) {
        cells sheet = read_sheet(json_string_value(json_object_get(table, "url")), true);
        json_t *columns = json_object_get(json_object_get(table, "tableSchema"), "columns");
        assert_int_equal(json_array_size(columns), sheet.columns);
        for (size_t k = 0; k < sheet.columns; k++) {
            json_t *column = json_array_get(columns, k);
            assert_string_equal(json_string_value(json_object_get(column, "titles")), sheet.cell[0][k]);
            assert_null(strchr(json_string_value(json_object_get(column, "name")), '@'));
        }
        free_sheet(&sheet);
    }
    assert_int_equal(i, 6);
    json_decref(metadata);
    made_free(bundle);
}

/* ------------------------------------------------------------------------------------------ all or none */

static void refuse_to_replace(void **state) {
    (void)state;
    static const char *const names[] = {"claim.csv", "read-me.txt", "csv-metadata.json"};
    glassine_bundle *bundle = collection();
    for (size_t i = 0; i < 3; i++) {
        FILE *file = fopen(in_folder(names[i]), "w");
        assert_non_null(file);
        fputs("mine", file);
        fclose(file);
        glassine_error error = {0};
        assert_int_equal(glassine_to_csv(bundle, folder, NULL, NULL, &error), GLASSINE_REFUSED);
        assert_non_null(strstr(error.place, names[i]));
        assert_int_equal(files_in(folder), 1);
        gl_buf text = content(in_folder(names[i]));
        assert_string_equal(text.text, "mine");
        gl_buf_free(&text);
        unlink(in_folder(names[i]));
    }
    FILE *file = fopen(in_folder("other.csv"), "w"); /* is in nobody's way */
    fclose(file);
    assert_int_equal(glassine_to_csv(bundle, folder, NULL, NULL, NULL), GLASSINE_OK);
    assert_int_equal(files_in(folder), 8);
    made_free(bundle);
}

static void make_the_folder(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    glassine_error error = {0};
    char sheets[256];
    snprintf(sheets, sizeof sheets, "%s", in_folder("sheets"));
    assert_int_equal(glassine_to_csv(bundle, sheets, NULL, NULL, &error), GLASSINE_OK);
    assert_int_equal(files_in(sheets), 7);
    assert_int_equal(glassine_to_csv(bundle, in_folder("none/sheets"), NULL, NULL, &error), GLASSINE_SYSTEM);
    assert_non_null(strstr(error.place, "none/sheets"));
    snprintf(sheets, sizeof sheets, "%s", in_folder("sheets/item.csv"));
    assert_int_equal(glassine_to_csv(bundle, sheets, NULL, NULL, &error), GLASSINE_REFUSED);
    made_free(bundle);
}

/* A bundle that has more fields than a sheet has columns: refused, and neither file nor folder is left. */
static void too_many_columns(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    for (unsigned i = 0; i < 17; i++) {
        gl_buf set = GL_BUF_EMPTY;
        gl_buf_add_char(&set, '{');
        for (unsigned k = 0; k < 1000; k++)
            gl_buf_printf(&set, "%s\"own_%02u_%03u\":1", k ? "," : "", i, k);
        gl_buf_add_char(&set, '}');
        char record[80];
        snprintf(record, sizeof record, "item/00000000-0000-4000-8000-%012x", 0x100 + i);
        made_say(bundle, KEEPER, record, GLASSINE_SHARED, set.text);
        gl_buf_free(&set);
    }
    glassine_error error = {0};
    char sheets[256];
    snprintf(sheets, sizeof sheets, "%s", in_folder("sheets"));
    assert_int_equal(glassine_to_csv(bundle, sheets, NULL, NULL, &error), GLASSINE_REFUSED);
    assert_int_equal(access(sheets, F_OK), -1);
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks),
        cmocka_unit_test(values),
        cmocka_unit_test(contested_cells),
        cmocka_unit_test(every_value_comes_back),
        cmocka_unit_test_setup_teardown(sheets_of_a_collection, new_folder, old_folder),
        cmocka_unit_test_setup_teardown(private_fields_are_said_to_be_there, new_folder, old_folder),
        cmocka_unit_test_setup_teardown(every_field_has_a_column, new_folder, old_folder),
        cmocka_unit_test_setup_teardown(set_aside_records, new_folder, old_folder),
        cmocka_unit_test_setup_teardown(metadata_lists_the_columns, new_folder, old_folder),
        cmocka_unit_test_setup_teardown(refuse_to_replace, new_folder, old_folder),
        cmocka_unit_test_setup_teardown(make_the_folder, new_folder, old_folder),
        cmocka_unit_test_setup_teardown(too_many_columns, new_folder, old_folder),
    };
    return cmocka_run_group_tests_name("converters/csv", tests, NULL, NULL);
}
