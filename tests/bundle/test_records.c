/* Records over a set of slips: authored ones, reaches, setting aside, order, history. */
#include "made.h"

static void authored_records_speak_for_their_author(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char id[80];
    made_id("claim", 1, id);
    glassine_record *own = made_say(bundle, KEEPER, id, GLASSINE_SHARED, "{\"positions\":\"4\"}");
    glassine_record *strange =
        made_say(bundle, OTHER, id, GLASSINE_SHARED, "{\"positions\":\"5\",\"withdrawn\":true}");
    assert_ptr_not_equal(own, strange);
    assert_string_equal(glassine_record_text(bundle, own, "positions").text, "4");
    assert_null(glassine_record_get(bundle, own, "withdrawn", NULL).text);
    assert_string_equal(glassine_record_text(bundle, strange, "positions").text, "5");
    assert_string_equal(glassine_record_key(bundle, strange).text,
                        "claim/00000000-0000-4000-8000-000000000001/00000000-0000-4000-8000-000000000002");
    glassine_record *found;
    glassine_error error;
    assert_int_equal(glassine_bundle_find(bundle, "claim", id, &found, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "R033");
    assert_int_equal(
        glassine_bundle_find(bundle, "claim", glassine_record_key(bundle, own).text, &found, &error), 0);
    assert_ptr_equal(found, own);
    made_free(bundle);
}

static void reaches_never_contest_each_other(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char id[80];
    made_id("item", 1, id);
    glassine_record *item =
        made_say(bundle, KEEPER, id, GLASSINE_SHARED, "{\"label\":\"A\",\"note\":\"seen by all\"}");
    made_say(bundle, KEEPER, id, GLASSINE_PRIVATE, "{\"note\":\"for myself\"}");
    made_say(bundle, KEEPER, id, GLASSINE_TELLING, "{\"note\":\"it tells\"}");
    bool contested = true;
    glassine_value value = glassine_record_get(bundle, item, "note", &contested);
    assert_false(contested);
    assert_true(gl_span_is(value, "\"seen by all\""));
    const glassine_field *fields;
    size_t count;
    assert_int_equal(glassine_record_fields(bundle, item, &fields, &count, NULL), 0);
    assert_int_equal(count, 4);
    made_free(bundle);
}

static void only_the_keeper_sets_aside(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char id[80];
    made_id("item", 1, id);
    glassine_record *item = made_say(bundle, KEEPER, id, GLASSINE_SHARED, "{\"label\":\"A\"}");
    made_say(bundle, OTHER, id, GLASSINE_SHARED, "{\"set_aside\":true}");
    assert_false(glassine_record_set_aside(bundle, item));
    made_say(bundle, KEEPER, id, GLASSINE_SHARED, "{\"set_aside\":true}");
    assert_true(glassine_record_set_aside(bundle, item));
    made_say(bundle, OTHER, id, GLASSINE_SHARED, "{\"set_aside\":false}");
    assert_true(glassine_record_set_aside(bundle, item));
    glassine_cursor *cursor;
    assert_int_equal(glassine_cursor_new(bundle, "item", false, &cursor, NULL), 0);
    assert_null(glassine_cursor_next(cursor));
    glassine_cursor_free(cursor);
    made_say(bundle, KEEPER, id, GLASSINE_SHARED, "{\"set_aside\":false}");
    assert_false(glassine_record_set_aside(bundle, item));
    made_free(bundle);
}

static void the_keeper_may_set_a_strangers_claim_aside(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char id[80];
    made_id("claim", 1, id);
    glassine_record *claim = made_say(bundle, OTHER, id, GLASSINE_SHARED, "{\"positions\":\"5\"}");
    made_say(bundle, KEEPER, id, GLASSINE_SHARED, "{\"set_aside\":true}");
    assert_true(glassine_record_set_aside(bundle, claim));
    assert_string_equal(glassine_record_text(bundle, claim, "positions").text, "5");
    made_free(bundle);
}

static void a_cursor_counts_as_people_do(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    static const char *const labels[] = {"K-10", "K-2", "K-1", "L-1", "K-2b"};
    static const char *const sorted[] = {"K-1", "K-2", "K-2b", "K-10", "L-1"};
    for (unsigned i = 0; i < 5; i++) {
        char id[80], set[80];
        snprintf(set, sizeof set, "{\"label\":\"%s\"}", labels[i]);
        made_say(bundle, KEEPER, made_id("item", 50 - i, id), GLASSINE_SHARED, set);
    }
    char id[80];
    made_say(bundle, KEEPER, made_id("zebra", 1, id), GLASSINE_SHARED, "{}");
    made_say(bundle, KEEPER, made_id("aardvark", 1, id), GLASSINE_SHARED, "{}");
    glassine_cursor *cursor;
    assert_int_equal(glassine_cursor_new(bundle, NULL, false, &cursor, NULL), 0);
    for (unsigned i = 0; i < 5; i++)
        assert_string_equal(glassine_record_label(bundle, glassine_cursor_next(cursor)).text, sorted[i]);
    assert_true(gl_span_is(glassine_record_type(bundle, glassine_cursor_next(cursor)), "aardvark"));
    assert_true(gl_span_is(glassine_record_type(bundle, glassine_cursor_next(cursor)), "zebra"));
    assert_null(glassine_cursor_next(cursor));
    glassine_cursor_free(cursor);
    made_free(bundle);
}

/* A stamp that refers to an item that refers to nothing; an item's label that is a stamp: labels end. */
static void a_label_that_leads_round_in_a_circle_ends(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char one[80], two[80], set[160];
    made_id("stamp", 1, one);
    made_id("stamp", 2, two);
    snprintf(set, sizeof set, "{\"item\":\"%s\"}", two);
    glassine_record *first = made_say(bundle, KEEPER, one, GLASSINE_SHARED, set);
    snprintf(set, sizeof set, "{\"item\":\"%s\"}", one);
    made_say(bundle, KEEPER, two, GLASSINE_SHARED, set);
    assert_true(glassine_record_label(bundle, first).length > 0);
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(authored_records_speak_for_their_author),
        cmocka_unit_test(reaches_never_contest_each_other),
        cmocka_unit_test(only_the_keeper_sets_aside),
        cmocka_unit_test(the_keeper_may_set_a_strangers_claim_aside),
        cmocka_unit_test(a_cursor_counts_as_people_do),
        cmocka_unit_test(a_label_that_leads_round_in_a_circle_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
