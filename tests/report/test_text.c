/* Reports as text: exact pages for small reports, properties for random ones. */
#include <errno.h>
#include <stdlib.h>

#include "base/text.h"
#include "printed.h"

/* -------------------------------------------------------------------------------------------- exact pages */

static void assert_page(const glassine_report *report, unsigned width, const char *wanted) {
    gl_buf out = printed_text(report, width, false);
    assert_string_equal(out.text, wanted);
    gl_buf_free(&out);
}

static void add_row(glassine_node *rows, const char *by, int64_t position, const char *remark) {
    glassine_node *row = glassine_node_object(rows, NULL, NULL);
    glassine_node_string(row, "by", "By", by);
    glassine_node_integer(row, "position", "Position", position);
    glassine_node_string(row, "id", NULL, "JSON only");
    if (remark)
        glassine_node_string(row, "remark", "Remark", remark);
}

static void values_align(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("show");
    glassine_node *result = glassine_report_result(report);
    glassine_node_string(result, "label", "Label", "H-014");
    glassine_node_string(result, "hidden", NULL, "JSON only");
    glassine_node_string(result, "colour", "Colour", "deep blue, the design blurred as on all late copies");
    glassine_node_string(result, "absent", "Absent", NULL);
    glassine_node_truth(result, "joined", "Joined", false);
    glassine_node_real(result, "weight", "Weight", 0.92361, 4);
    glassine_node_string(result, "faults", "Faults", "");
    glassine_node_list(result, "marks", "Marks");
    glassine_node_list(result, "unlabelled", "");
    assert_page(report, 40,
                "Label   H-014\n"
                "Colour  deep blue, the design blurred as\n"
                "        on all late copies\n"
                "Joined  no\n"
                "Weight  0.9236\n"
                "Faults\n"
                "Marks   none\n");
    glassine_report_free(report);
}

static void parts_have_headings_and_gaps(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("show");
    glassine_node *result = glassine_report_result(report);
    glassine_node *stamp = glassine_node_object(result, "stamp", "Stamp H-014.2");
    glassine_node_string(stamp, "letters", "Letters", "TL");
    glassine_node_drawing(stamp, "+--+\n|  |\n\n+--+");
    glassine_node_say(result, "A claim is an opinion, not a certificate.");
    assert_page(report, 30,
                "Stamp H-014.2\n"
                "  Letters  TL\n"
                "  +--+\n"
                "  |  |\n"
                "\n"
                "  +--+\n"
                "\n"
                "A claim is an opinion, not a\n"
                "certificate.\n");
    glassine_report_free(report);
}

static void lists_flow_or_stand_below_each_other(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("locate");
    glassine_node *result = glassine_report_result(report);
    glassine_node *list = glassine_node_list(result, "positions", "Positions");
    for (int64_t i = 4; i < 120; i += 10)
        glassine_node_integer(list, NULL, NULL, i);
    list = glassine_node_list(result, "reasons", "Reasons");
    glassine_node_string(list, NULL, NULL, "the dot met mark M7 at 12 thousandths");
    glassine_node_string(list, NULL, NULL, "no scratch was seen");
    assert_page(report, 40,
                "Positions  4, 14, 24, 34, 44, 54, 64,\n"
                "           74, 84, 94, 104, 114\n"
                "Reasons    the dot met mark M7 at 12\n"
                "             thousandths\n"
                "           no scratch was seen\n");
    glassine_report_free(report);
}

static void tables_fit_the_page(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("show");
    glassine_node *rows = glassine_node_table(glassine_report_result(report), "claims", "Claims");
    add_row(rows, "Margery Lark", 7, "the dot is clear");
    add_row(rows, "Ansel Teal", 117, NULL);
    add_row(rows, "\xe9\xb3\xa5\xe5\xb1\x85", -1, "faint"); /* two characters, four columns */
    assert_page(report, 80,
                "Claims\n"
                "  By            Position  Remark\n"
                "  ────────────────────────────────────────\n"
                "  Margery Lark         7  the dot is clear\n"
                "  Ansel Teal         117\n"
                "  \xe9\xb3\xa5\xe5\xb1\x85                -1  faint\n");
    assert_page(report, 34,
                "Claims\n"
                "  By          Position  Remark\n"
                "  ────────────────────────────────\n"
                "  Margery            7  the dot is\n"
                "  Lark                  clear\n"
                "  Ansel Teal       117\n"
                "  \xe9\xb3\xa5\xe5\xb1\x85              -1  faint\n");
    assert_page(report, 20, /* too narrow for columns */
                "Claims\n"
                "\n"
                "  By        Margery\n"
                "            Lark\n"
                "  Position  7\n"
                "  Remark    the dot\n"
                "            is clear\n"
                "\n"
                "  By        Ansel\n"
                "            Teal\n"
                "  Position  117\n"
                "\n"
                "  By        \xe9\xb3\xa5\xe5\xb1\x85\n"
                "  Position  -1\n"
                "  Remark    faint\n");
    glassine_report_free(report);
}

/* A column that only a later row has stands where that row has it. */
static void columns_of_uneven_rows(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("list");
    glassine_node *rows = glassine_report_result_list(report, NULL, true);
    glassine_node *row = glassine_node_object(rows, NULL, NULL);
    glassine_node_string(row, "a", "A", "1");
    glassine_node_string(row, "c", "C", "3");
    row = glassine_node_object(rows, NULL, NULL);
    glassine_node_string(row, "a", "A", "1");
    glassine_node_string(row, "b", "B", "2");
    glassine_node_string(row, "c", "C", "3");
    assert_page(report, 80, "A  B  C\n───────\n1     3\n1  2  3\n");
    glassine_report_free(report);
}

static void bare_list_without_rows(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("list");
    glassine_report_result_list(report, "Claims", true);
    assert_page(report, 80, "Claims  none\n");
    glassine_report_free(report);
    report = glassine_report_new("list");
    glassine_report_result_list(report, "", true);
    assert_page(report, 80, "none\n");
    glassine_report_free(report);
}

/* "none" stands for itself where it is all that there is to say, and is left out beside anything else. */
static void unlabelled_part_without_content(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("list");
    glassine_node *result = glassine_report_result(report);
    assert_page(report, 80, "");
    glassine_node_object(result, "json_only", NULL);
    assert_page(report, 80, "");
    glassine_node_table(result, "records", "");
    assert_page(report, 80, "none\n");
    glassine_node_string(result, "a", "A", "b");
    assert_page(report, 80, "A  b\n");
    glassine_report_free(report);
}

static void findings_are_one_line_each(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("audit");
    glassine_report_finding(report, GLASSINE_FAULT, "R201", "reply.json: answer 3", "Ask again",
                            "positions \"131\": plate 1 has %d positions", 120);
    glassine_report_finding(report, GLASSINE_WARNING, NULL, "kingfisher.glassine", NULL,
                            "a quarter is left over");
    glassine_report_finding(report, GLASSINE_NOTE, NULL, NULL, NULL, "a line feed\nand \x1b[2J are shown");
    gl_buf out = printed_findings(report, false);
    assert_string_equal(
        out.text,
        "fault: reply.json: answer 3: positions \"131\": plate 1 has 120 positions (R201). Ask again\n"
        "warning: kingfisher.glassine: a quarter is left over\n"
        "note: a line feed\\nand \\u{1b}[2J are shown\n");
    gl_buf_free(&out);
    out = printed_findings(report, true);
    assert_memory_equal(out.text, "\x1b[1;31mfault\x1b[0m: ", 18);
    gl_buf_free(&out);
    glassine_report_free(report);
}

/* ------------------------------------------------------------------------------------- random reports */

static uint64_t random_state;

static unsigned below(unsigned limit) { /* xorshift64; the seed is the test's number */
    random_state ^= random_state << 13;
    random_state ^= random_state >> 7;
    random_state ^= random_state << 17;
    return (unsigned)(random_state % limit);
}

static void add_random_words(gl_buf *buf) {
    static const char *const bits[] = {"a",
                                       "dot",
                                       "kingfisher",
                                       "\xe9\xb3\xa5",
                                       "e\xcc\x81",
                                       "\x1b[1m",
                                       "\n",
                                       "-",
                                       "\xf0\x9f\x90\xa6",
                                       "\xff",
                                       "perforation",
                                       "\t",
                                       "\xe2\x80\xae",
                                       "7R1E"};
    unsigned words = below(12);
    for (unsigned i = 0; i < words; i++) {
        for (unsigned n = below(20) ? below(3) + 1 : 30; n > 0; n--)
            gl_buf_add_text(buf, bits[below(sizeof bits / sizeof *bits)]);
        for (unsigned n = below(8) ? 1 : below(4); n > 0; n--)
            gl_buf_add_char(buf, ' ');
    }
}

static void add_random(glassine_node *parent, unsigned depth, unsigned row_of);

static void add_random_inner(glassine_node *parent, const char *label, unsigned depth) {
    static glassine_node *(*const adders[])(glassine_node *, const char *, const char *) = {
        glassine_node_object, glassine_node_list, glassine_node_table};
    unsigned kind = below(3);
    glassine_node *inner = adders[kind](parent, "k", label);
    for (unsigned n = below(6); n > 0; n--) {
        glassine_node *target = kind == 2 ? glassine_node_object(inner, NULL, NULL) : inner;
        for (unsigned cells = kind == 2 ? below(6) : 1; cells > 0; cells--)
            add_random(target, depth + 1, kind == 2 ? cells : 0);
    }
}

static void add_random(glassine_node *parent, unsigned depth, unsigned row_of) {
    static const char *const labels[] = {"By", "Position", "Remark", "\xe9\xb3\xa5", "Earliest recorded", ""};
    const char *label = labels[row_of ? row_of - 1 : below(6)];
    gl_buf text = GL_BUF_EMPTY;
    add_random_words(&text);
    unsigned kind = below(depth < 3 ? 7 : 5);
    if (kind == 0)
        glassine_node_integer(parent, "k", label, (int64_t)below(100000) - 500);
    else if (kind == 1)
        glassine_node_truth(parent, "k", label, below(2));
    else if (kind == 2 && !row_of)
        glassine_node_say(parent, "%s", text.text ? text.text : "");
    else if (kind < 5)
        glassine_node_text(parent, "k", label, gl_buf_span(&text));
    else
        add_random_inner(parent, label, depth);
    gl_buf_free(&text);
}

static glassine_report *random_report(unsigned seed) {
    random_state = UINT64_C(0x9e3779b97f4a7c15) * (seed + 1);
    glassine_report *report = glassine_report_new("show");
    for (unsigned n = below(8) + 1; n > 0; n--)
        add_random(glassine_report_result(report), 0, 0);
    assert_false(glassine_report_failed(report));
    return report;
}

static void assert_line(gl_span line, size_t width) {
    assert_int_equal(gl_utf8_check(line), line.length);
    for (size_t i = 0; i < line.length; i++)
        assert_true((unsigned char)line.text[i] >= 0x20 && line.text[i] != 0x7f);
    if (line.length)
        assert_true(line.text[line.length - 1] != ' ');
    gl_span word = gl_text_trim(line);
    if (gl_text_width(line) > width && memchr(word.text, ' ', word.length))
        fail_msg("wider than %zu: %.*s", width, GL_SPAN_ARGS(line));
}

static void lines_keep_within_the_page(void **state) {
    (void)state;
    for (unsigned seed = 0; seed < 600; seed++) {
        glassine_report *report = random_report(seed);
        unsigned width = 20 + below(90);
        gl_buf out = printed_text(report, width, false);
        for (gl_span rest = gl_buf_span(&out); rest.length;) {
            const char *feed = memchr(rest.text, '\n', rest.length);
            assert_non_null(feed);
            size_t length = (size_t)(feed - rest.text);
            assert_line(gl_span_part(rest, 0, length), width);
            rest = gl_span_part(rest, length + 1, rest.length);
        }
        gl_buf_free(&out);
        glassine_report_free(report);
    }
}

/* Colour adds its sequences and changes nothing else. */
static void colour_changes_no_letter(void **state) {
    (void)state;
    for (unsigned seed = 0; seed < 100; seed++) {
        glassine_report *report = random_report(seed);
        gl_buf plain = printed_text(report, 60, false), bright = printed_text(report, 60, true);
        size_t length = 0;
        for (size_t at = 0; at < bright.length; at++) {
            if (bright.text[at] == '\x1b')
                at += strcspn(bright.text + at, "m");
            else
                bright.text[length++] = bright.text[at];
        }
        assert_int_equal(length, plain.length);
        assert_memory_equal(bright.text, plain.text, length);
        gl_buf_free(&plain);
        gl_buf_free(&bright);
        glassine_report_free(report);
    }
}

/* Nothing is lost in wrapping: without white space, a value comes out as it went in. */
static void wrapping_loses_nothing(void **state) {
    (void)state;
    for (unsigned seed = 0; seed < 200; seed++) {
        random_state = seed * 7919 + 1;
        gl_buf text = GL_BUF_EMPTY, shown = GL_BUF_EMPTY;
        add_random_words(&text);
        gl_text_add_shown(&shown, gl_buf_span(&text), true);
        glassine_report *report = glassine_report_new("show");
        glassine_node_text(glassine_report_result(report), "k", "", gl_buf_span(&text));
        gl_buf out = printed_text(report, 20 + seed % 50, false);
        const char *a = out.text, *b = gl_buf_span(&shown).text;
        for (;;) {
            a += strspn(a, " \n");
            b += strspn(b, " \n");
            assert_int_equal(*a, *b);
            if (!*a)
                break;
            a++;
            b++;
        }
        gl_buf_free(&text);
        gl_buf_free(&shown);
        gl_buf_free(&out);
        glassine_report_free(report);
    }
}

static int count_lines(void *context, const char *bytes, size_t length) {
    for (size_t i = 0; i < length; i++)
        *(size_t *)context += bytes[i] == '\n';
    return 0;
}

static int refuse(void *context, const char *bytes, size_t length) {
    (void)context, (void)bytes, (void)length;
    return EPIPE;
}

static void large_tables(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("list");
    glassine_node *rows = glassine_report_result_list(report, "", true);
    for (int64_t i = 0; i < 100000; i++)
        add_row(rows, i % 2 ? "Margery Lark" : "Ansel Teal", i % 120 + 1, "the dot is clear");
    size_t lines = 0;
    glassine_text_style style = {0};
    assert_int_equal(glassine_report_text(report, style, count_lines, &lines), 0);
    assert_int_equal(lines, 100002);
    assert_int_equal(glassine_report_text(report, style, refuse, NULL), EPIPE);
    glassine_report_free(report);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_align),
        cmocka_unit_test(parts_have_headings_and_gaps),
        cmocka_unit_test(lists_flow_or_stand_below_each_other),
        cmocka_unit_test(tables_fit_the_page),
        cmocka_unit_test(columns_of_uneven_rows),
        cmocka_unit_test(bare_list_without_rows),
        cmocka_unit_test(unlabelled_part_without_content),
        cmocka_unit_test(findings_are_one_line_each),
        cmocka_unit_test(lines_keep_within_the_page),
        cmocka_unit_test(colour_changes_no_letter),
        cmocka_unit_test(wrapping_loses_nothing),
        cmocka_unit_test(large_tables),
    };
    return cmocka_run_group_tests_name("report/text", tests, NULL, NULL);
}
