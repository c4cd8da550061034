/* From the records of a bundle to the computation, and to its reports. */
#include "bundle/made.h"

#include <jansson.h>

#include "plating/from_bundle.h"

#define OF(type, number) type "/00000000-0000-4000-8000-0000000000" number
#define KF OF("design", "10")
#define PLATE OF("plate", "20")
#define TWIN OF("plate", "21")
#define EARLY OF("plate_state", "30")
#define LATE OF("plate_state", "31")
#define ITEM OF("item", "40")
#define STAMP OF("stamp", "50")
#define OTHER_STAMP OF("stamp", "51")

static void say(glassine_bundle *bundle, const char *by, const char *id, const char *set) {
    assert_non_null(made_say(bundle, by, id, GLASSINE_SHARED, set));
}

/* One design, a plate of 12 rows of 10 with two states, two single stamps. */
static glassine_bundle *collection(void) {
    glassine_bundle *bundle = made_bundle();
    say(bundle, KEEPER, KEEPER, "{\"name\":\"Keeper\"}");
    say(bundle, KEEPER, OTHER, "{\"name\":\"Other\"}");
    say(bundle, KEEPER, KF, "{\"height_um\":20000,\"label\":\"KF\",\"width_um\":20000}");
    say(bundle, KEEPER, PLATE,
        "{\"columns\":10,\"design\":\"" KF
        "\",\"label\":\"1\",\"pitch_x_um\":22000,\"pitch_y_um\":22000,\"rows\":12}");
    say(bundle, KEEPER, EARLY,
        "{\"from\":\"1861-03\",\"name\":\"early\",\"order\":1,\"plate\":\"" PLATE "\"}");
    say(bundle, KEEPER, LATE, "{\"from\":\"1862-06\",\"name\":\"late\",\"order\":2,\"plate\":\"" PLATE "\"}");
    say(bundle, KEEPER, ITEM, "{\"label\":\"H-001\"}");
    say(bundle, KEEPER, OF("item", "41"), "{\"label\":\"H-002\"}");
    say(bundle, KEEPER, STAMP, "{\"design\":\"" KF "\",\"item\":\"" ITEM "\"}");
    say(bundle, KEEPER, OTHER_STAMP, "{\"design\":\"" KF "\",\"item\":\"" OF("item", "41") "\"}");
    return bundle;
}

static int append(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

/* The report as a JSON document, read by a library that is not ours. */
static json_t *document(glassine_report *report) {
    gl_buf text = GL_BUF_EMPTY;
    assert_int_equal(glassine_report_json(report, append, &text), 0);
    json_t *root = json_loadb(text.text, text.length, 0, NULL);
    assert_non_null(root);
    gl_buf_free(&text);
    glassine_report_free(report);
    return root;
}

static const char *text_of(const json_t *object, const char *key) {
    return json_string_value(json_object_get(object, key));
}

static json_int_t number_of(const json_t *object, const char *key) {
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_integer(value));
    return json_integer_value(value);
}

static glassine_record *record_of(glassine_bundle *bundle, const char *id) {
    glassine_record *record = glassine_bundle_record(bundle, gl_span_of(id), GL_NO_SPAN);
    assert_non_null(record);
    return record;
}

/* The standing of one stamp, as the report has it; the caller lets `root` go. */
static json_t *standing(glassine_bundle *bundle, const char *stamp, json_t **root) {
    glassine_report *report = glassine_report_new("standing");
    glassine_record *const stamps[] = {record_of(bundle, stamp)};
    assert_int_equal(glassine_standing(bundle, stamps, 1, report, NULL), GLASSINE_OK);
    *root = document(report);
    return json_array_get(json_object_get(*root, "result"), 0);
}

static void check_standing(glassine_bundle *bundle, const char *stamp, const char *word, json_int_t count) {
    json_t *root, *row = standing(bundle, stamp, &root);
    assert_string_equal(text_of(row, "standing"), word);
    assert_int_equal(number_of(row, "count"), count);
    json_decref(root);
}

#define CLAIM(stamp, more) "{" more "\"stamp\":\"" stamp "\"}"
#define AT(positions) "\"plates\":[\"" PLATE "\"],\"positions\":\"" positions "\","

static void claims_by_two_people(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    check_standing(bundle, STAMP, "unplaced", 120);
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    check_standing(bundle, STAMP, "placed", 1);
    say(bundle, OTHER, OF("claim", "61"), CLAIM(STAMP, "\"blind\":true," AT("R1/7")));
    json_t *root, *row = standing(bundle, STAMP, &root);
    assert_string_equal(text_of(row, "standing"), "corroborated");
    assert_int_equal(number_of(row, "independent"), 2);
    assert_int_equal(number_of(row, "independent_blind"), 1);
    const json_t *place = json_array_get(json_object_get(row, "candidates"), 0);
    assert_string_equal(text_of(place, "plate"), PLATE);
    assert_int_equal(number_of(place, "position"), 7);
    json_decref(root);
    made_free(bundle);
}

/* One UUID said on by two people is two claims; a claim replaces only what its own author said under that id.
 */
static void authors_speak_for_themselves(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    say(bundle, OTHER, OF("claim", "60"), CLAIM(STAMP, AT("8")));
    check_standing(bundle, STAMP, "disputed", 0);
    say(bundle, OTHER, OF("claim", "61"),
        CLAIM(STAMP,
              "\"instead_of\":\"" OF("claim", "60") "\",\"plates\":[\"" PLATE "\"],\"positions\":\"7\","));
    check_standing(bundle, STAMP, "corroborated", 1);
    made_free(bundle);
}

static void withdrawn_possible_and_aside_do_not_count(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    say(bundle, OTHER, OF("claim", "61"), CLAIM(STAMP, AT("8")));
    say(bundle, OTHER, OF("claim", "61"), "{\"withdrawn\":true}");
    check_standing(bundle, STAMP, "placed", 1);
    say(bundle, OTHER, OF("claim", "62"), CLAIM(STAMP, "\"confidence\":\"possible\"," AT("9")));
    check_standing(bundle, STAMP, "placed", 1);
    say(bundle, KEEPER, ITEM, "{\"set_aside\":true}");
    glassine_report *report = glassine_report_new("standing");
    glassine_record *const stamps[] = {record_of(bundle, STAMP)};
    glassine_error error;
    assert_int_equal(glassine_standing(bundle, stamps, 1, report, &error), GLASSINE_REFUSED);
    glassine_report_free(report);
    made_free(bundle);
}

/* Thirty people enter "Plate 1"; a join of the keeper's says that these are one. */
static void joined_plates_are_one(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, OTHER, TWIN, "{\"columns\":10,\"design\":\"" KF "\",\"label\":\"1\",\"rows\":12}");
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    say(bundle, OTHER, OF("claim", "61"), CLAIM(STAMP, "\"plates\":[\"" TWIN "\"],\"positions\":\"7\","));
    check_standing(bundle, STAMP, "disputed", 0);
    say(bundle, OTHER, OF("join", "70"), "{\"records\":[\"" PLATE "\",\"" TWIN "\"]}");
    check_standing(bundle, STAMP, "disputed", 0); /* a proposal */
    say(bundle, KEEPER, OF("join", "71"), "{\"records\":[\"" PLATE "\",\"" TWIN "\"]}");
    check_standing(bundle, STAMP, "corroborated", 1);
    check_standing(bundle, OTHER_STAMP, "unplaced", 120);
    made_free(bundle);
}

/* A plate of which people disagree how many rows it has gives no derived figures. */
static void a_contested_layout(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    gl_slip_parts parts = {.at = GL_SPAN("2026-05-01T10:00:00Z"),
                           .by = GL_SPAN(OTHER),
                           .record = GL_SPAN(PLATE),
                           .reach = GLASSINE_SHARED,
                           .set = GL_SPAN("{\"rows\":20}")};
    gl_buf line = GL_BUF_EMPTY;
    gl_slip_write(&parts, &line);
    gl_span copy = gl_arena_copy(bundle->arena, gl_buf_span(&line));
    gl_buf_free(&line);
    uint32_t slip;
    bool added;
    assert_int_equal(gl_store_add(bundle->store, copy, 1, &bundle->limits, &slip, &added, NULL), 0);
    assert_int_equal(gl_bundle_index(bundle, NULL), 0);
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    glassine_report *report = glassine_report_new("standing");
    glassine_record *const stamps[] = {record_of(bundle, STAMP)};
    assert_int_equal(glassine_standing(bundle, stamps, 1, report, NULL), GLASSINE_OK);
    assert_true(glassine_report_findings(report, GLASSINE_WARNING) >= 1);
    json_t *root = document(report);
    const json_t *row = json_array_get(json_object_get(root, "result"), 0);
    assert_string_equal(text_of(row, "standing"), "unplaced");
    assert_int_equal(number_of(row, "count"), 0);
    json_decref(root);
    glassine_chart *chart;
    glassine_error error;
    assert_int_equal(glassine_chart_new(bundle, record_of(bundle, PLATE), NULL, &chart, &error),
                     GLASSINE_REFUSED);
    assert_string_equal(error.rule, "R041");
    made_free(bundle);
}

static void disputes_are_named(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, STAMP, "{\"selvedge\":[\"left\"]}");
    say(bundle, OTHER, OF("claim", "61"), CLAIM(STAMP, AT("7")));
    say(bundle, KEEPER, OF("conclusion", "80"), CLAIM(STAMP, AT("1")));
    json_t *root, *row = standing(bundle, STAMP, &root);
    assert_string_equal(text_of(row, "standing"), "disputed");
    const json_t *group = json_array_get(json_object_get(row, "cannot_all_be_true"), 0);
    assert_int_equal(json_array_size(json_object_get(group, "sides")), 2);
    const json_t *first = json_array_get(json_array_get(json_object_get(group, "sides"), 0), 0);
    const json_t *second = json_array_get(json_array_get(json_object_get(group, "sides"), 1), 0);
    assert_string_equal(text_of(first, "says"), "selvedge at the left");
    assert_string_equal(text_of(second, "record"), OF("claim", "61"));
    assert_string_equal(text_of(second, "says"), "Other says plate 1: 7");
    const json_t *conclusion = json_array_get(json_object_get(row, "conclusions"), 0);
    assert_string_equal(text_of(conclusion, "says"), "plate 1: 1");
    assert_true(json_is_false(json_object_get(conclusion, "agrees")));
    json_decref(root);
    made_free(bundle);
}

/* A claim rests on a match, the match on a claim by somebody else: one voice. */
static void basis_through_a_match(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    say(bundle, OTHER, OF("match", "65"),
        "{\"basis\":[\"" OF("claim", "60") "\"],\"relation\":\"same\",\"stamps\":[\"" STAMP
                                           "\",\"" OTHER_STAMP "\"]}");
    say(bundle, OTHER, OF("claim", "61"), CLAIM(STAMP, "\"basis\":[\"" OF("match", "65") "\"]," AT("7")));
    json_t *root, *row = standing(bundle, STAMP, &root);
    assert_string_equal(text_of(row, "standing"), "placed");
    assert_int_equal(number_of(row, "voices"), 2);
    assert_int_equal(number_of(row, "independent"), 1);
    json_decref(root);
    check_standing(bundle, OTHER_STAMP, "placed", 1);
    made_free(bundle);
}

static void states_and_notation(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7") "\"state\":\"" EARLY "\","));
    json_t *root, *row = standing(bundle, STAMP, &root);
    assert_string_equal(text_of(row, "state"), "placed");
    assert_string_equal(text_of(json_array_get(json_object_get(row, "states"), 0), "state"), EARLY);
    json_decref(root);
    say(bundle, OTHER, OF("claim", "61"), CLAIM(STAMP, AT("7") "\"state\":\"" LATE "\","));
    row = standing(bundle, STAMP, &root);
    assert_string_equal(text_of(row, "standing"), "corroborated");
    assert_string_equal(text_of(row, "state"), "disputed");
    json_decref(root);
    made_free(bundle);
}

/* A mark in the margin: seen at the left, its own position; seen at the right, the neighbour before. */
static void a_margin_mark_that_was_seen(void **state) {
    (void)state;
    const struct {
        const char *x;
        const char *others;
        const char *word;
        json_int_t count, position;
    } cases[] = {{"-50", "", "placed", 1, 7}, {"1052", "", "placed", 1, 6}};
    for (size_t i = 0; i < 2; i++) {
        glassine_bundle *bundle = collection();
        gl_buf seen = GL_BUF_EMPTY;
        say(bundle, KEEPER, OF("mark", "90"),
            "{\"appearance\":\"dot\",\"name\":\"A\",\"plate\":\"" PLATE
            "\",\"positions\":\"7\",\"x\":-50,\"y\":500}");
        gl_buf_printf(&seen,
                      "{\"appearance\":\"dot\",\"mark\":\"" OF("mark", "90") "\",\"stamp\":\"" STAMP
                                                                             "\",\"x\":%s,\"y\":500}",
                      cases[i].x);
        say(bundle, OTHER, OF("observation", "91"), seen.text);
        gl_buf_free(&seen);
        json_t *root, *row = standing(bundle, STAMP, &root);
        assert_string_equal(text_of(row, "standing"), cases[i].word);
        const json_t *place = json_array_get(json_object_get(row, "candidates"), 0);
        assert_int_equal(number_of(place, "position"), cases[i].position);
        json_decref(root);
        say(bundle, KEEPER, OF("observation", "92"),
            "{\"appearance\":\"dot\",\"mark\":\"" OF("mark", "90") "\",\"seen\":\"absent\",\"stamp\":\"" STAMP
                                                                   "\"}");
        check_standing(bundle, STAMP, "unplaced", 120); /* somebody denies it: nothing is imposed */
        made_free(bundle);
    }
}

/* ---- locate ---- */

static json_t *locate(glassine_bundle *bundle, const glassine_locate_options *options, json_t **root) {
    glassine_report *report = glassine_report_new("locate");
    assert_int_equal(glassine_locate(bundle, record_of(bundle, STAMP), options, report, NULL), GLASSINE_OK);
    *root = document(report);
    return json_object_get(*root, "result");
}

/* The worked case of spec/ranking.md, through a bundle. */
static void the_claim_that_says_most(void **state) {
    (void)state;
    static const struct {
        const char *id, *set, *best; /* the best once this is said too */
    } steps[] = {
        {OF("claim", "60"), CLAIM(STAMP, "\"confidence\":\"possible\"," AT("7")), OF("claim", "60")},
        {OF("claim", "61"), CLAIM(STAMP, AT("row 1")), OF("claim", "61")},
        {OF("claim", "62"), CLAIM(STAMP, "\"confidence\":\"probable\"," AT("3-5")), OF("claim", "62")},
        {OF("claim", "63"), CLAIM(STAMP, "\"confidence\":\"probable\"," AT("4-6")), OF("claim", "62")},
        {OF("claim", "64"), CLAIM(STAMP, "\"confidence\":\"certain\"," AT("row 1")), OF("claim", "64")},
        {OF("claim", "65"), CLAIM(STAMP, "\"confidence\":\"certain\"," AT("200")), OF("claim", "64")},
        {OF("claim", "66"), CLAIM(STAMP, "\"confidence\":\"certain\"," AT("4") "\"withdrawn\":true,"),
         OF("claim", "64")},
        {OF("claim", "67"),
         CLAIM(STAMP, "\"confidence\":\"possible\",\"instead_of\":\"" OF("claim", "64") "\","),
         OF("claim", "62")},
    };
    glassine_bundle *bundle = collection();
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        glassine_standings *standings;
        say(bundle, KEEPER, steps[i].id, steps[i].set);
        assert_int_equal(glassine_standings_new(bundle, NULL, &standings, NULL), 0);
        size_t at = glassine_standings_find(standings, record_of(bundle, STAMP)),
               other = glassine_standings_find(standings, record_of(bundle, OTHER_STAMP));
        glassine_record *best = glassine_standings_best_claim(standings, at);
        assert_non_null(best);
        assert_true(gl_span_is(glassine_record_id(bundle, best), steps[i].best));
        assert_null(glassine_standings_best_claim(standings, other));
        assert_null(glassine_standings_conclusion(standings, at, 0));
        glassine_standings_free(standings);
    }
    made_free(bundle);
}

static void the_worked_case(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    say(bundle, KEEPER, KEEPER, "{\"name\":\"Keeper\"}");
    say(bundle, KEEPER, KF, "{\"label\":\"KF\"}");
    say(bundle, KEEPER, PLATE, "{\"columns\":3,\"design\":\"" KF "\",\"label\":\"1\",\"rows\":1}");
    say(bundle, KEEPER, ITEM, "{\"label\":\"H-001\"}");
    say(bundle, KEEPER, STAMP, "{\"design\":\"" KF "\",\"item\":\"" ITEM "\"}");
    say(bundle, KEEPER, OF("mark", "90"),
        "{\"appearance\":\"dot\",\"plate\":\"" PLATE "\",\"positions\":\"1\",\"x\":20,\"y\":500}");
    say(bundle, KEEPER, OF("mark", "91"),
        "{\"appearance\":\"dot\",\"plate\":\"" PLATE "\",\"positions\":\"2\",\"x\":60,\"y\":500}");
    say(bundle, KEEPER, OF("observation", "92"),
        "{\"appearance\":\"dot\",\"stamp\":\"" STAMP "\",\"x\":25,\"y\":500}");
    json_t *root, *places = json_object_get(locate(bundle, NULL, &root), "places");
    const double weights[] = {0.9236, 0.0642, 0.0122};
    assert_int_equal(json_array_size(places), 3);
    for (size_t i = 0; i < 3; i++) {
        const json_t *place = json_array_get(places, i);
        double off = json_real_value(json_object_get(place, "weight")) - weights[i];
        assert_true(off < 5e-5 && off > -5e-5);
        assert_int_equal(number_of(place, "position"), i + 1);
        assert_true(json_is_null(json_object_get(place, "state")));
    }
    const json_t *reason = json_array_get(json_object_get(json_array_get(places, 0), "reasons"), 0);
    assert_string_equal(text_of(reason, "mark"), OF("mark", "90"));
    assert_true(json_is_true(json_object_get(reason, "supports")));
    json_decref(root);
    made_free(bundle);
}

/* It may have been used late, never early; and a year that is not proven rules nothing out. */
static void too_early_for_a_state(void **state) {
    (void)state;
    const struct {
        const char *marking;
        json_int_t states_out;
    } cases[] = {
        {"{\"dated_by\":\"postmark\",\"item\":\"" ITEM "\",\"on\":\"1861-05-01\"}", 1},
        {"{\"dated_by\":\"inferred\",\"item\":\"" ITEM "\",\"on\":\"1861-05-01\"}", 0},
        {"{\"dated_by\":\"postmark\",\"item\":\"" ITEM "\",\"on\":\"1862\"}", 0},
        {"{\"dated_by\":\"postmark\",\"item\":\"" ITEM "\",\"on\":\"1870-01-01\"}", 0},
        {"{\"dated_by\":\"postmark\",\"item\":\"" ITEM "\",\"on\":\"1860-01-01\"}", 2},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        glassine_bundle *bundle = collection();
        say(bundle, KEEPER, OF("marking", "95"), cases[i].marking);
        json_t *root, *result = locate(bundle, NULL, &root);
        assert_int_equal(number_of(result, "states_ruled_out"), cases[i].states_out);
        assert_int_equal(number_of(result, "places_in_all"), 120 * (2 - cases[i].states_out));
        json_decref(root);
        made_free(bundle);
    }
}

static void within_some_positions(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    const glassine_locate_options options = {.within = "row 3", .most = 100};
    json_t *root, *result = locate(bundle, &options, &root);
    assert_int_equal(number_of(result, "places_in_all"), 20);
    assert_int_equal(json_array_size(json_object_get(result, "places")), 20);
    json_decref(root);
    const glassine_locate_options wrong = {.within = "row 13"};
    glassine_report *report = glassine_report_new("locate");
    glassine_error error;
    assert_int_equal(glassine_locate(bundle, record_of(bundle, STAMP), &wrong, report, &error),
                     GLASSINE_REFUSED);
    assert_non_null(strstr(error.message, "plate 1 has 12 rows"));
    glassine_report_free(report);
    made_free(bundle);
}

/* ---- alike, chart, dates ---- */

static void alike_stamps(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("observation", "91"),
        "{\"appearance\":\"dot\",\"stamp\":\"" STAMP "\",\"x\":20,\"y\":500}");
    say(bundle, OTHER, OF("observation", "92"),
        "{\"appearance\":\"dot\",\"item\":\"" OF("item", "41") "\",\"x\":22,\"y\":503}");
    say(bundle, OTHER, OF("claim", "61"), CLAIM(OTHER_STAMP, AT("7")));
    glassine_report *report = glassine_report_new("alike");
    assert_int_equal(glassine_alike(bundle, record_of(bundle, STAMP), NULL, 0, report, NULL), GLASSINE_OK);
    json_t *root = document(report);
    const json_t *result = json_object_get(root, "result");
    const json_t *other = json_array_get(json_object_get(result, "alike"), 0);
    assert_string_equal(text_of(other, "stamp"), OTHER_STAMP);
    assert_string_equal(text_of(other, "standing"), "placed");
    const json_t *mark = json_array_get(json_object_get(result, "marks"), 0);
    assert_int_equal(number_of(mark, "copies"), 2);
    assert_int_equal(number_of(mark, "known_places"), 1);
    assert_true(json_is_true(json_object_get(mark, "constant")));
    json_decref(root);
    made_free(bundle);
}

static void chart_of_a_plate(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    say(bundle, KEEPER, OF("claim", "61"), CLAIM(OTHER_STAMP, AT("9")));
    say(bundle, OTHER, OF("claim", "62"), CLAIM(OTHER_STAMP, AT("row 1")));
    say(bundle, OTHER, OF("claim", "63"), CLAIM(OTHER_STAMP, AT("column 10")));
    say(bundle, KEEPER, OF("conclusion", "80"), CLAIM(OTHER_STAMP, AT("9")));
    glassine_chart *chart;
    assert_int_equal(glassine_chart_new(bundle, record_of(bundle, PLATE), NULL, &chart, NULL), GLASSINE_OK);
    const char *const best[] = {"placed", "missing", "concluded", "disputed"};
    for (uint32_t i = 0; i < 4; i++)
        assert_string_equal(glassine_chart_at(chart, 6 + i).best, best[i]);
    assert_int_equal(glassine_chart_at(chart, 8).disputed, 1); /* the dispute is beside the conclusion */
    assert_int_equal(glassine_chart_at(chart, 6).owned, 1);
    assert_int_equal(glassine_chart_found(chart), 1);
    glassine_chart_free(chart);
    glassine_report *report = glassine_report_new("chart");
    assert_int_equal(glassine_chart_report(bundle, record_of(bundle, PLATE), report, NULL), GLASSINE_OK);
    json_t *root = document(report);
    const json_t *result = json_object_get(root, "result");
    assert_int_equal(number_of(result, "positions"), 120);
    assert_int_equal(number_of(result, "found"), 1);
    assert_int_equal(json_array_size(json_object_get(result, "cells")), 120);
    double further = json_real_value(json_object_get(result, "expected_further"));
    assert_true(further > 643.264 && further < 643.265); /* 120 · (1 + 1/2 + … + 1/119) */
    json_decref(root);
    made_free(bundle);
}

static void dates_of_a_plate(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7") "\"state\":\"" LATE "\","));
    say(bundle, KEEPER, OF("claim", "61"), CLAIM(OTHER_STAMP, AT("7")));
    say(bundle, KEEPER, OF("marking", "95"),
        "{\"dated_by\":\"postmark\",\"item\":\"" ITEM "\",\"on\":\"1861-05-01\"}");
    say(bundle, KEEPER, OF("marking", "96"),
        "{\"item\":\"" OF("item", "41") "\",\"on\":\"1861-04\",\"stamps\":[\"" OTHER_STAMP "\"]}");
    glassine_report *report = glassine_report_new("dates");
    assert_int_equal(glassine_dates(bundle, record_of(bundle, PLATE), report, NULL), GLASSINE_OK);
    assert_int_equal(glassine_report_findings(report, GLASSINE_WARNING),
                     1); /* posted before its state began */
    json_t *root = document(report);
    const json_t *result = json_object_get(root, "result");
    const json_t *row = json_array_get(json_object_get(result, "positions"), 0);
    assert_string_equal(text_of(json_object_get(row, "certainly_by"), "day"), "1861-05-01");
    assert_string_equal(text_of(json_object_get(row, "unproven_earlier"), "day"), "1861-04-30");
    assert_int_equal(number_of(row, "proven"), 1);
    assert_int_equal(number_of(row, "unproven"), 1);
    row = json_array_get(json_object_get(result, "states"), 0);
    assert_string_equal(text_of(row, "name"), "late");
    json_decref(root);
    made_free(bundle);
}

static void standings_as_data(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("row 1")));
    glassine_standings *all;
    assert_int_equal(glassine_standings_new(bundle, NULL, &all, NULL), GLASSINE_OK);
    assert_int_equal(glassine_standings_count(all), 2);
    size_t index = glassine_standings_find(all, record_of(bundle, STAMP));
    glassine_record *plate;
    const char *expression;
    uint32_t count;
    assert_true(glassine_standings_places(all, index, 0, &plate, &expression, &count));
    assert_string_equal(expression, "1-10");
    assert_int_equal(count, 10);
    assert_ptr_equal(plate, record_of(bundle, PLATE));
    assert_false(glassine_standings_places(all, index, 1, &plate, &expression, &count));
    assert_string_equal(glassine_standings_shown(all, index, 3), "plate 1: 10 positions: 1, 2, 3 …");
    assert_string_equal(glassine_standings_at(all, index).standing, "narrowed");
    index = glassine_standings_find(all, record_of(bundle, OTHER_STAMP));
    assert_true(glassine_standings_places(all, index, 0, &plate, &expression, &count));
    assert_string_equal(expression, "any");
    assert_int_equal(count, 120);
    glassine_standings_free(all);
    made_free(bundle);
}

/* ---- what takes no part ---- */

/* How often the findings of a report on all standings name this rule, or say this. */
static size_t findings_on(glassine_bundle *bundle, const char *rule, const char *words) {
    glassine_report *report = glassine_report_new("standing");
    assert_int_equal(glassine_standing(bundle, NULL, 0, report, NULL), GLASSINE_OK);
    json_t *root = document(report), *finding;
    size_t i, count = 0;
    json_array_foreach(json_object_get(root, "findings"), i, finding) {
        const char *code = text_of(finding, "rule");
        count += strcmp(code ? code : "", rule) == 0 && strstr(text_of(finding, "message"), words);
    }
    json_decref(root);
    return count;
}

static void say_state(glassine_bundle *bundle, unsigned number, const char *more) {
    char id[80], set[200];
    snprintf(set, sizeof set, "{%s\"order\":%u,\"plate\":\"" PLATE "\"}", more, number);
    say(bundle, KEEPER, made_id("plate_state", 0x1000 + number, id), set);
}

/* Each is told, and everything else is worked out without it. */
static void what_takes_no_part_is_told(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, KEEPER, OF("claim", "60"), CLAIM(STAMP, AT("7")));
    say(bundle, KEEPER, OF("mark", "90"),
        "{\"appearance\":\"dot\",\"name\":\"A\",\"plate\":\"" PLATE
        "\",\"positions\":\"row 99\",\"x\":5,\"y\":5}");
    assert_int_equal(findings_on(bundle, "", "the mark takes no part"), 1);
    assert_int_equal(findings_on(bundle, "R056", ""), 0);
    say(bundle, KEEPER, STAMP, "{\"column\":1,\"row\":1}");
    say(bundle, KEEPER, OF("stamp", "52"),
        "{\"column\":1,\"design\":\"" KF "\",\"item\":\"" ITEM "\",\"row\":1}");
    assert_int_equal(findings_on(bundle, "R056", "two stamps have one place in their item"), 1);
    for (unsigned number = 3; number <= 64; number++)
        say_state(bundle, number, "\"name\":\"s\",");
    assert_int_equal(findings_on(bundle, "R222", ""), 0);
    say_state(bundle, 65, "");
    assert_int_equal(findings_on(bundle, "R222", "only the first 64 states"), 1);
    check_standing(bundle, STAMP, "placed", 1);
    made_free(bundle);
}

/* Neighbours of whom it is not said on which side tie nothing; a claim may name one plate twice. */
static void statements_that_say_little(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    say(bundle, OTHER, OF("match", "75"),
        "{\"relation\":\"neighbour\",\"stamps\":[\"" STAMP "\",\"" OTHER_STAMP "\"]}");
    say(bundle, KEEPER, OF("claim", "60"),
        CLAIM(STAMP, "\"plates\":[\"" PLATE "\",\"" PLATE "\"],\"positions\":\"7\","));
    check_standing(bundle, STAMP, "placed", 1);
    check_standing(bundle, OTHER_STAMP, "unplaced", 120);
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(claims_by_two_people),
        cmocka_unit_test(authors_speak_for_themselves),
        cmocka_unit_test(withdrawn_possible_and_aside_do_not_count),
        cmocka_unit_test(joined_plates_are_one),
        cmocka_unit_test(a_contested_layout),
        cmocka_unit_test(disputes_are_named),
        cmocka_unit_test(basis_through_a_match),
        cmocka_unit_test(states_and_notation),
        cmocka_unit_test(a_margin_mark_that_was_seen),
        cmocka_unit_test(the_claim_that_says_most),
        cmocka_unit_test(what_takes_no_part_is_told),
        cmocka_unit_test(statements_that_say_little),
        cmocka_unit_test(the_worked_case),
        cmocka_unit_test(too_early_for_a_state),
        cmocka_unit_test(within_some_positions),
        cmocka_unit_test(alike_stamps),
        cmocka_unit_test(chart_of_a_plate),
        cmocka_unit_test(dates_of_a_plate),
        cmocka_unit_test(standings_as_data),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
