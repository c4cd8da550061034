/* What a draft refuses before anything is said, each by its rule. */
#include "support.h"

static void what_is_asked_wrongly_is_refused_by_its_rule(void **state) {
    (void)state;
    static const struct {
        const char *rule, *type;
        glassine_assignment fields[2];
    } cases[] = {
        {"R010", "parcel", {{"label", "H-001", NULL}}},
        {"R011", "item", {{"labell", "H-001", NULL}}},
        {"R012", "item", {{"label", "H-001", NULL}, {"label", "H-002", NULL}}},
        {"R021", "item", {{"label", "H-001", NULL}, {"kind", "parcel", NULL}}},
        {"R022", "item", {{"label", "H-001", NULL}, {"acquired", "some day", NULL}}},
        {"R027", "item", {{"label", "H\x1b[31m", NULL}}},
        {"R034", "stamp", {{"item", "H-099", NULL}}},
        {"R040", "item", {{"kind", "cover", NULL}}},
    };
    const char *path = in_folder("say.glassine");
    MUST(glassine_bundle_make(path, "Kingfisher", "Keeper", &error));
    saying_session s = begin_saying(path, NULL);
    for (size_t i = 0; i < COUNT(cases); i++) {
        glassine_record *record;
        size_t count = cases[i].fields[1].field ? 2 : 1;
        glassine_status status =
            glassine_draft_enter(s.draft, cases[i].type, cases[i].fields, count, NULL, &record, &error);
        assert_int_equal(status, GLASSINE_REFUSED);
        assert_string_equal(error.rule, cases[i].rule);
        assert_int_equal(glassine_draft_slips(s.draft), 0);
    }
    glassine_draft_free(s.draft);
    glassine_bundle_close(s.bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_is_asked_wrongly_is_refused_by_its_rule)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
