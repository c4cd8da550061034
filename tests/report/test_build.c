/* Building reports: what sticks, what counts, and that NULL is harmless. */
#include "printed.h"

static void nothing_is_harmless(void **state) {
    (void)state;
    glassine_report_free(NULL);
    assert_true(glassine_report_failed(NULL));
    assert_false(glassine_report_wants_attention(NULL));
    assert_int_equal(glassine_report_findings(NULL, GLASSINE_NOTE), 0);
    glassine_report_about(NULL, "kingfisher.glassine", 3);
    glassine_report_attention(NULL);
    glassine_report_error(NULL, NULL);
    glassine_report_finding(NULL, GLASSINE_FAULT, NULL, NULL, NULL, "%d", 1);
    assert_null(glassine_report_result(NULL));
    assert_null(glassine_report_result_list(NULL, "Items", true));
    assert_null(glassine_node_object(NULL, "a", "A"));
    assert_null(glassine_node_list(NULL, "a", "A"));
    assert_null(glassine_node_table(NULL, "a", "A"));
    glassine_node_text(NULL, "a", "A", GL_SPAN("text"));
    glassine_node_string(NULL, "a", "A", "text");
    glassine_node_format(NULL, "a", "A", "%s", "text");
    glassine_node_integer(NULL, "a", "A", 1);
    glassine_node_real(NULL, "a", "A", 1, 2);
    glassine_node_truth(NULL, "a", "A", true);
    glassine_node_json(NULL, "a", GL_SPAN("{}"));
    glassine_node_say(NULL, "%s", "text");
    glassine_node_drawing(NULL, "text");
}

static void findings_count_by_weight(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("audit");
    glassine_report_finding(report, GLASSINE_NOTE, NULL, NULL, NULL, "one");
    glassine_report_finding(report, GLASSINE_FAULT, "C010", "a", "b", "two");
    glassine_report_finding(report, GLASSINE_WARNING, NULL, NULL, NULL, "three");
    glassine_report_finding(report, GLASSINE_FAULT, NULL, NULL, NULL, "four");
    assert_int_equal(glassine_report_findings(report, GLASSINE_NOTE), 4);
    assert_int_equal(glassine_report_findings(report, GLASSINE_WARNING), 3);
    assert_int_equal(glassine_report_findings(report, GLASSINE_FAULT), 2);
    assert_false(glassine_report_wants_attention(report));
    glassine_report_attention(report);
    assert_true(glassine_report_wants_attention(report));
    assert_false(glassine_report_failed(report));
    glassine_report_free(report);
}

/* Everything is copied: what the caller does with its own text afterwards changes nothing. */
static void text_is_copied(void **state) {
    (void)state;
    char key[] = "title", label[] = "Title", value[] = "Kingfisher", place[] = "item 3";
    glassine_report *report = glassine_report_new("show");
    glassine_node_string(glassine_report_result(report), key, label, value);
    glassine_report_finding(report, GLASSINE_NOTE, NULL, place, NULL, "%s", value);
    glassine_report_about(report, value, 1);
    memset(key, 'x', 5);
    memset(label, 'x', 5);
    memset(value, 'x', 10);
    memset(place, 'x', 6);
    gl_buf json = printed_json(report), text = printed_text(report, 80, false);
    assert_null(strchr(strstr(json.text, "\"verb\""), 'x'));
    assert_string_equal(text.text, "Title  Kingfisher\n");
    gl_buf_free(&json);
    gl_buf_free(&text);
    glassine_report_free(report);
}

/* Keys and labels that only together are equal to others must not be taken for them. */
static void names_are_told_apart(void **state) {
    (void)state;
    glassine_report *report = glassine_report_new("show");
    glassine_node *result = glassine_report_result(report);
    glassine_node_integer(result, "a", NULL, 1);
    glassine_node_integer(result, NULL, "a", 2);
    glassine_node_integer(result, "a", "", 3);
    glassine_node_integer(result, "", "a", 4);
    glassine_node_integer(result, "ab", "c", 5);
    glassine_node_integer(result, "a", "bc", 6);
    gl_buf json = printed_json(report);
    assert_non_null(strstr(json.text, "{\"a\":1,\"a\":3,\"\":4,\"ab\":5,\"a\":6}"));
    gl_buf_free(&json);
    glassine_report_free(report);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_harmless),
        cmocka_unit_test(findings_count_by_weight),
        cmocka_unit_test(text_is_copied),
        cmocka_unit_test(names_are_told_apart),
    };
    return cmocka_run_group_tests_name("report/build", tests, NULL, NULL);
}
