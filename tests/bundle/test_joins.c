/* Which records are one by the keeper's joins, and which joins are not applied. */
#include "bundle/made.h"

#include "bundle/joins.h"

#define PLATE(number) "plate/00000000-0000-4000-8000-00000000000" #number
#define STAMP(number) "stamp/00000000-0000-4000-8000-00000000000" #number
#define JOIN(number) "join/00000000-0000-4000-8000-00000000010" #number
#define LAYOUT(rows, columns) "{\"columns\":" #columns ",\"label\":\"1\",\"rows\":" #rows "}"

static void say(glassine_bundle *bundle, const char *by, const char *id, const char *set) {
    assert_non_null(made_say(bundle, by, id, GLASSINE_SHARED, set));
}

static glassine_bundle *with_plates(void) {
    glassine_bundle *bundle = made_bundle();
    say(bundle, KEEPER, PLATE(1), LAYOUT(12, 10));
    say(bundle, OTHER, PLATE(2), LAYOUT(12, 10));
    say(bundle, OTHER, PLATE(3), LAYOUT(12, 10));
    say(bundle, OTHER, PLATE(4), LAYOUT(10, 12));
    return bundle;
}

static void join(glassine_bundle *bundle, const char *by, const char *id, const char *one,
                 const char *other) {
    char set[200];
    snprintf(set, sizeof set, "{\"records\":[\"%s\",\"%s\"]}", one, other);
    say(bundle, by, id, set);
}

static void stands_for(glassine_bundle *bundle, const char *id, const char *wanted) {
    const gl_joins *joins;
    assert_int_equal(gl_bundle_joins(bundle, &joins, NULL), GLASSINE_OK);
    gl_span found = gl_joins_of(joins, gl_span_of(id));
    assert_true(gl_span_is(found, wanted));
}

static size_t members_of(glassine_bundle *bundle, const char *id) {
    const gl_joins *joins;
    const gl_span *members;
    assert_int_equal(gl_bundle_joins(bundle, &joins, NULL), GLASSINE_OK);
    size_t count = gl_joins_members(joins, gl_span_of(id), &members);
    for (size_t i = 1; i < count; i++)
        assert_true(gl_span_compare(members[i - 1], members[i]) < 0);
    return count;
}

/* The rule that the only fault breaks; "" where there is none. */
static const char *fault_of(glassine_bundle *bundle, const char *id) {
    const gl_joins *joins;
    const gl_join_fault *faults;
    assert_int_equal(gl_bundle_joins(bundle, &joins, NULL), GLASSINE_OK);
    size_t count = gl_joins_faults(joins, &faults);
    assert_true(count <= 1);
    if (count)
        assert_true(gl_span_is(glassine_record_id(bundle, faults[0].join), id));
    return count ? faults[0].rule : "";
}

static void unjoined_records_stand_for_themselves(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    stands_for(bundle, PLATE(2), PLATE(2));
    stands_for(bundle, "plate/of no bundle", "plate/of no bundle");
    assert_int_equal(members_of(bundle, PLATE(2)), 0);
    made_free(bundle);
}

static void a_join_counts_by_the_keeper_alone(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    join(bundle, OTHER, JOIN(1), PLATE(1), PLATE(2));
    stands_for(bundle, PLATE(2), PLATE(2));
    join(bundle, KEEPER, JOIN(2), PLATE(3), PLATE(2));
    stands_for(bundle, PLATE(3), PLATE(2));
    stands_for(bundle, PLATE(1), PLATE(1));
    assert_int_equal(members_of(bundle, PLATE(3)), 2);
    made_free(bundle);
}

static void joins_chain_and_come_apart(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    join(bundle, KEEPER, JOIN(1), PLATE(3), PLATE(2));
    join(bundle, KEEPER, JOIN(2), PLATE(2), PLATE(1));
    stands_for(bundle, PLATE(3), PLATE(1));
    assert_int_equal(members_of(bundle, PLATE(2)), 3);
    say(bundle, KEEPER, JOIN(2), "{\"withdrawn\":true}");
    stands_for(bundle, PLATE(1), PLATE(1));
    stands_for(bundle, PLATE(3), PLATE(2));
    say(bundle, KEEPER, JOIN(1), "{\"set_aside\":true}");
    stands_for(bundle, PLATE(3), PLATE(3));
    made_free(bundle);
}

/* Two plates are one with a third that is not here (yet), so they are one. */
static void a_missing_record_links_and_never_stands(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    join(bundle, KEEPER, JOIN(1), PLATE(0), PLATE(2));
    join(bundle, KEEPER, JOIN(2), PLATE(0), PLATE(3));
    stands_for(bundle, PLATE(3), PLATE(2));
    stands_for(bundle, PLATE(0), PLATE(2));
    assert_string_equal(fault_of(bundle, ""), "");
    made_free(bundle);
}

static void what_is_set_aside_does_not_stand_for_others(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    join(bundle, KEEPER, JOIN(1), PLATE(1), PLATE(2));
    say(bundle, KEEPER, PLATE(1), "{\"set_aside\":true}");
    stands_for(bundle, PLATE(1), PLATE(2));
    made_free(bundle);
}

static void records_of_two_types_are_not_one(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    join(bundle, KEEPER, JOIN(1), PLATE(1), STAMP(1));
    stands_for(bundle, STAMP(1), STAMP(1));
    assert_string_equal(fault_of(bundle, JOIN(1)), "R044");
    made_free(bundle);
}

static void plates_of_different_layouts_are_not_one(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    join(bundle, KEEPER, JOIN(1), PLATE(1), PLATE(4));
    stands_for(bundle, PLATE(4), PLATE(4));
    assert_string_equal(fault_of(bundle, JOIN(1)), "R045");
    say(bundle, KEEPER, PLATE(4), LAYOUT(12, 10));
    stands_for(bundle, PLATE(4), PLATE(1));
    assert_string_equal(fault_of(bundle, ""), "");
    made_free(bundle);
}

/* One plate with 12 rows, one with 10, and one that says no rows, which may be either but not both. */
static void of_two_joins_that_contradict_the_earlier_holds(void **state) {
    (void)state;
    for (int backwards = 0; backwards < 2; backwards++) {
        glassine_bundle *bundle = with_plates();
        say(bundle, OTHER, PLATE(5), "{\"label\":\"1\"}");
        join(bundle, KEEPER, backwards ? JOIN(2) : JOIN(1), backwards ? PLATE(5) : PLATE(1),
             backwards ? PLATE(4) : PLATE(5));
        join(bundle, KEEPER, backwards ? JOIN(1) : JOIN(2), backwards ? PLATE(1) : PLATE(5),
             backwards ? PLATE(5) : PLATE(4));
        stands_for(bundle, PLATE(5), PLATE(1));
        stands_for(bundle, PLATE(4), PLATE(4));
        assert_string_equal(fault_of(bundle, JOIN(2)), "R045");
        made_free(bundle);
    }
}

/* A plate of which two people say different layouts contradicts nothing until that is settled. */
static void an_unsettled_layout_contradicts_nothing(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    gl_slip_parts parts = {.at = GL_SPAN("2026-05-01T10:00:00Z"),
                           .by = GL_SPAN(OTHER),
                           .record = GL_SPAN(PLATE(2)),
                           .set = GL_SPAN(LAYOUT(9, 9))};
    gl_buf line = GL_BUF_EMPTY;
    uint32_t slip;
    bool added;
    say(bundle, KEEPER, PLATE(1), LAYOUT(12, 10));
    say(bundle, KEEPER, PLATE(2), LAYOUT(10, 12));
    gl_slip_write(&parts, &line);
    assert_int_equal(gl_store_add(bundle->store, gl_buf_span(&line), 1, NULL, &slip, &added, NULL), 0);
    assert_int_equal(gl_bundle_index(bundle, NULL), 0);
    join(bundle, KEEPER, JOIN(1), PLATE(1), PLATE(2));
    stands_for(bundle, PLATE(2), PLATE(1));
    made_free(bundle);
    gl_buf_free(&line);
}

static void a_contested_join_does_not_bind(void **state) {
    (void)state;
    glassine_bundle *bundle = with_plates();
    join(bundle, KEEPER, JOIN(1), PLATE(1), PLATE(2));
    gl_slip_parts parts = {.at = GL_SPAN("2026-05-02T10:00:00Z"),
                           .by = GL_SPAN(KEEPER),
                           .record = GL_SPAN(JOIN(1)),
                           .set = GL_SPAN("{\"records\":[\"" PLATE(2) "\",\"" PLATE(3) "\"]}")};
    gl_buf line = GL_BUF_EMPTY;
    uint32_t slip;
    bool added;
    gl_slip_write(&parts, &line);
    assert_int_equal(gl_store_add(bundle->store, gl_buf_span(&line), 1, NULL, &slip, &added, NULL), 0);
    assert_int_equal(gl_bundle_index(bundle, NULL), 0);
    stands_for(bundle, PLATE(2), PLATE(2));
    made_free(bundle);
    gl_buf_free(&line);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unjoined_records_stand_for_themselves),
        cmocka_unit_test(a_join_counts_by_the_keeper_alone),
        cmocka_unit_test(joins_chain_and_come_apart),
        cmocka_unit_test(a_missing_record_links_and_never_stands),
        cmocka_unit_test(what_is_set_aside_does_not_stand_for_others),
        cmocka_unit_test(records_of_two_types_are_not_one),
        cmocka_unit_test(plates_of_different_layouts_are_not_one),
        cmocka_unit_test(of_two_joins_that_contradict_the_earlier_holds),
        cmocka_unit_test(an_unsettled_layout_contradicts_nothing),
        cmocka_unit_test(a_contested_join_does_not_bind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
