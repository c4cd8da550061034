/* Records by what people type. */
#include "made.h"

/* Two items, one of them with two stamps, a claim by each of two people on one UUID. */
typedef struct world {
    glassine_bundle *bundle;
    glassine_record *item1, *item2, *stamp1, *stamp2a, *stamp2b, *plate1, *plate2, *early1, *early2;
} world;

static void say_text(char out[256], const char *format, ...) {
    va_list list;
    va_start(list, format);
    vsnprintf(out, 256, format, list);
    va_end(list);
}

static int set_up(void **state) {
    static world it;
    char id[80], item[80], text[256];
    it.bundle = made_bundle();
    made_say(it.bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Kim\"}");
    it.item1 =
        made_say(it.bundle, KEEPER, made_id("item", 0x10, id), GLASSINE_SHARED, "{\"label\":\"H-014\"}");
    it.item2 =
        made_say(it.bundle, KEEPER, made_id("item", 0x20, id), GLASSINE_SHARED, "{\"label\":\"h-015\"}");
    say_text(text, "{\"item\":\"%s\"}", made_id("item", 0x10, item));
    it.stamp1 = made_say(it.bundle, KEEPER, made_id("stamp", 0x11, id), GLASSINE_SHARED, text);
    say_text(text, "{\"column\":2,\"item\":\"%s\"}", made_id("item", 0x20, item));
    it.stamp2b = made_say(it.bundle, KEEPER, made_id("stamp", 0x21, id), GLASSINE_SHARED, text);
    say_text(text, "{\"column\":1,\"item\":\"%s\"}", made_id("item", 0x20, item));
    it.stamp2a = made_say(it.bundle, KEEPER, made_id("stamp", 0x22, id), GLASSINE_SHARED, text);
    it.plate1 = made_say(it.bundle, KEEPER, made_id("plate", 0x30, id), GLASSINE_SHARED, "{\"label\":\"1\"}");
    it.plate2 = made_say(it.bundle, KEEPER, made_id("plate", 0x31, id), GLASSINE_SHARED, "{\"label\":\"2\"}");
    say_text(text, "{\"name\":\"early\",\"plate\":\"%s\"}", made_id("plate", 0x30, item));
    it.early1 = made_say(it.bundle, KEEPER, made_id("plate_state", 0x40, id), GLASSINE_SHARED, text);
    say_text(text, "{\"name\":\"early\",\"plate\":\"%s\"}", made_id("plate", 0x31, item));
    it.early2 = made_say(it.bundle, KEEPER, made_id("plate_state", 0x41, id), GLASSINE_SHARED, text);
    *state = &it;
    return 0;
}

static int tear_down(void **state) {
    made_free(((world *)*state)->bundle);
    return 0;
}

static void finds_by_any_name(void **state) {
    const world *it = *state;
    const struct {
        const char *type, *typed;
        glassine_record *record;
    } cases[] = {
        {"item", "H-014", it->item1},
        {"item", "h-014", it->item1},
        {"item", "  H-015 ", it->item2},
        {NULL, "H-014", it->item1},
        {"stamp", "H-014", it->stamp1},
        {"stamp", "H-014.1", it->stamp1},
        {"stamp", "H-015.1", it->stamp2a},
        {"stamp", "h-015.2", it->stamp2b},
        {"item", "item/00000000-0000-4000-8000-000000000020", it->item2},
        {"plate", "2", it->plate2},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        glassine_record *found;
        glassine_error error;
        if (glassine_bundle_find(it->bundle, cases[i].type, cases[i].typed, &found, &error))
            fail_msg("\"%s\": %s", cases[i].typed, error.message);
        assert_ptr_equal(found, cases[i].record);
    }
}

static void refuses_what_fits_several_or_none(void **state) {
    const world *it = *state;
    const struct {
        const char *type, *typed, *rule;
    } cases[] = {
        {"stamp", "H-015", "R033"},        {"item", "000000", "R033"},   {"plate_state", "early", "R033"},
        {"item", "H-016", "R034"},         {"stamp", "H-015.3", "R034"}, {"stamp", "H-015.0", "R034"},
        {"item", "00000", "R034"},         {"plate", "H-014", "R034"},   {"item", "", "R034"},
        {"item", "item/0000000z", "R034"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        glassine_record *found;
        glassine_error error;
        assert_int_equal(glassine_bundle_find(it->bundle, cases[i].type, cases[i].typed, &found, &error),
                         GLASSINE_REFUSED);
        assert_string_equal(error.rule, cases[i].rule);
        assert_null(found);
    }
}

static void prefers_what_refers_to_the_plate(void **state) {
    const world *it = *state;
    const char *const types[] = {"plate_state", NULL};
    glassine_record *found;
    assert_int_equal(gl_bundle_find(it->bundle, types, GL_SPAN("Early"), gl_record_id(it->bundle, it->plate2),
                                    &found, NULL),
                     0);
    assert_ptr_equal(found, it->early2);
}

static void an_old_label_finds_nothing(void **state) {
    const world *it = *state;
    char id[80];
    glassine_record *found;
    made_say(it->bundle, KEEPER, made_id("item", 0x10, id), GLASSINE_SHARED, "{\"label\":\"H-099\"}");
    assert_int_equal(glassine_bundle_find(it->bundle, "item", "H-014", &found, NULL), GLASSINE_REFUSED);
    assert_int_equal(glassine_bundle_find(it->bundle, "stamp", "H-099", &found, NULL), 0);
    assert_ptr_equal(found, it->stamp1);
    assert_string_equal(glassine_record_label(it->bundle, it->stamp1).text, "H-099");
}

static void taking_back_forgets_names_and_references(void **state) {
    const world *it = *state;
    char id[80], item[80], text[256];
    glassine_record *found, *const *list;
    size_t before, after;
    uint32_t mark = gl_store_count(it->bundle->store);
    assert_int_equal(glassine_record_referrers(it->bundle, it->item1, "stamp", true, &list, &before, NULL),
                     0);
    say_text(text, "{\"item\":\"%s\"}", made_id("item", 0x10, item));
    made_say(it->bundle, KEEPER, made_id("stamp", 0x77, id), GLASSINE_SHARED, text);
    made_say(it->bundle, KEEPER, made_id("item", 0x78, id), GLASSINE_SHARED, "{\"label\":\"new\"}");
    assert_int_equal(glassine_record_referrers(it->bundle, it->item1, "stamp", true, &list, &after, NULL), 0);
    assert_int_equal(after, before + 1);
    gl_bundle_cut(it->bundle, mark);
    assert_int_equal(glassine_record_referrers(it->bundle, it->item1, "stamp", true, &list, &after, NULL), 0);
    assert_int_equal(after, before);
    assert_int_equal(glassine_bundle_find(it->bundle, "item", "new", &found, NULL), GLASSINE_REFUSED);
}

/* The first look-ups look at every record, later ones have an index; neither may be told from what is found. */
static void finds_the_same_at_every_look(void **state) {
    (void)state;
    enum { ITEMS = 1100, LOOKS = 6 };
    glassine_bundle *bundle = made_bundle();
    glassine_record *items[ITEMS], *found, *const *list;
    char id[80], item[80], text[256];
    for (unsigned i = 0; i < ITEMS; i++) {
        say_text(text, "{\"label\":\"Ähre %u\"}", i);
        items[i] = made_say(bundle, KEEPER, made_id("item", i, id), GLASSINE_SHARED, text);
        say_text(text, "{\"item\":\"%s\"}", made_id("item", i / 2, item));
        made_say(bundle, KEEPER, made_id("stamp", i, id), GLASSINE_SHARED, text);
    }
    made_say(bundle, KEEPER, made_id("item", 7, id), GLASSINE_SHARED, "{\"label\":\"Plain 7\"}");
    for (unsigned look = 0; look < LOOKS; look++) {
        size_t count = 0;
        assert_int_equal(glassine_bundle_find(bundle, "item", "ÄHRE 900", &found, NULL), GLASSINE_OK);
        assert_ptr_equal(found, items[900]);
        assert_int_equal(glassine_bundle_find(bundle, "item", "plain 7", &found, NULL), GLASSINE_OK);
        assert_ptr_equal(found, items[7]);
        assert_int_equal(glassine_bundle_find(bundle, "item", "Ähre 7", &found, NULL), GLASSINE_REFUSED);
        assert_int_equal(glassine_bundle_find(bundle, "item", "Ähre 9", &found, NULL), GLASSINE_OK);
        assert_ptr_equal(found, items[9]);
        assert_int_equal(glassine_record_referrers(bundle, items[20], "stamp", true, &list, &count, NULL),
                         GLASSINE_OK);
        assert_int_equal(count, 2);
        assert_int_equal(glassine_record_referrers(bundle, items[1000], "stamp", true, &list, &count, NULL),
                         GLASSINE_OK);
        assert_int_equal(count, 0);
    }
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(finds_by_any_name, set_up, tear_down),
        cmocka_unit_test_setup_teardown(refuses_what_fits_several_or_none, set_up, tear_down),
        cmocka_unit_test_setup_teardown(prefers_what_refers_to_the_plate, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_old_label_finds_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(taking_back_forgets_names_and_references, set_up, tear_down),
        cmocka_unit_test(finds_the_same_at_every_look),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
