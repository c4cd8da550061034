/* Statements that follow the slips they name: what was said in between stays beside them. */
#include "exchange/support.h"

static glassine_bundle *bundle;
static glassine_draft *draft;
static glassine_record *item;

typedef struct heads {
    char list[8][65];
    size_t count;
} heads;

static int begin(void **state) {
    if (make_folder(state))
        return -1;
    MUST(glassine_bundle_make(in_folder("sorrel.glassine"), "Sorrel Islands", "Wren Alderby", &error));
    bundle = opened(in_folder("sorrel.glassine"), GLASSINE_WRITE);
    MUST(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    glassine_assignment fields[] = {{"label", "H-001", NULL},
                                    {"kind", "pair", NULL},
                                    {"note", "as found", NULL},
                                    {"storage", "album 3", NULL}};
    MUST(glassine_draft_enter(draft, "item", fields, COUNT(fields), NULL, &item, &error));
    return 0;
}

static int end(void **state) {
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    return remove_folder(state);
}

static heads now(glassine_record *record) {
    heads all = {.count = 0};
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        const char(*list)[65];
        size_t count;
        MUST(glassine_record_latest(bundle, record, (glassine_reach)reach, &list, &count, &error));
        for (size_t i = 0; i < count; i++)
            memcpy(all.list[all.count++], list[i], 65);
    }
    return all;
}

static const char *id_of(glassine_record *record) {
    return span_text(glassine_record_id(bundle, record));
}

static bool say(const char *id, const heads *after, glassine_statement statement) {
    bool changed;
    glassine_record *record;
    MUST(glassine_draft_state(draft, id, &statement, 1, (const char(*)[65])after->list, after->count, NULL,
                              &record, &changed, &error));
    return changed;
}

static bool refuse(const char *id, const heads *after, glassine_statement statement) {
    bool changed;
    glassine_record *record;
    size_t before = glassine_draft_slips(draft);
    glassine_status status = glassine_draft_state(draft, id, &statement, 1, (const char(*)[65])after->list,
                                                  after->count, NULL, &record, &changed, &error);
    return status == GLASSINE_REFUSED && !changed && glassine_draft_slips(draft) == before;
}

static bool is_contested(const char *field) {
    bool contested;
    glassine_record_get(bundle, item, field, &contested);
    return contested;
}

static void revise(const char *field, const char *value) {
    glassine_assignment said = {field, value, NULL};
    MUST(glassine_draft_revise(draft, item, &said, 1, NULL, NULL, &error));
}

static void what_came_between_stays_beside(void **state) {
    (void)state;
    heads then = now(item);
    assert_int_equal(then.count, 3); /* shared, telling, private */
    revise("kind", "strip");
    revise("rate", "2d");
    assert_true(say(id_of(item), &then, (glassine_statement){.field = "kind", .typed = "block"}));
    assert_true(is_contested("kind"));
    assert_false(is_contested("rate"));
    heads both = now(item);
    assert_int_equal(both.count, 4);
    assert_true(
        say(id_of(item), &both, (glassine_statement){.field = "kind", .typed = "strip"})); /* settles */
    assert_false(is_contested("kind"));
    assert_string_equal(glassine_record_text(bundle, item, "rate").text, "2d");
}

static void what_was_so_already_is_not_said(void **state) {
    (void)state;
    heads then = now(item);
    revise("kind", "strip");
    size_t before = glassine_draft_slips(draft);
    assert_false(say(id_of(item), &then, (glassine_statement){.field = "kind", .typed = "Pair"}));
    assert_false(
        say(id_of(item), &then, (glassine_statement){.field = "kind", .value = GL_SPAN("\"pair\"")}));
    assert_false(say(id_of(item), &then, (glassine_statement){.field = "rate", .typed = ""}));
    assert_int_equal(glassine_draft_slips(draft), before);
    setenv("SOURCE_DATE_EPOCH", "1700000000", true); /* else it is the very slip that is there */
    assert_true(
        say(id_of(item), &then, (glassine_statement){.field = "kind", .typed = "strip"})); /* was pair then */
    unsetenv("SOURCE_DATE_EPOCH");
    assert_false(is_contested("kind")); /* both say strip */
}

/* A reading of old is what it was: a naive one, all fields over all moments. */
static void readings_of_old(void **state) {
    (void)state;
    static const char *const kinds[] = {"strip", "block", "sheet", "single", "cover"};
    heads moments[COUNT(kinds) + 1];
    for (size_t i = 0; i <= COUNT(kinds); i++) {
        moments[i] = now(item);
        if (i < COUNT(kinds))
            revise("kind", kinds[i]);
    }
    for (size_t i = 0; i <= COUNT(kinds); i++) {
        const glassine_field *fields;
        size_t count, kind = SIZE_MAX;
        MUST(glassine_record_fields_at(bundle, item, (const char(*)[65])moments[i].list, moments[i].count,
                                       &fields, &count, &error));
        for (size_t k = 0; k < count; k++)
            kind = gl_span_is(fields[k].name, "kind") ? k : kind;
        assert_int_equal(count, 4);
        assert_false(fields[kind].contested);
        const char *wanted = i ? kinds[i - 1] : "pair";
        assert_true(gl_span_is(gl_json_raw(fields[kind].sayings[0].value), wanted));
    }
    const glassine_field *fields;
    size_t count;
    MUST(glassine_record_fields_at(bundle, item, NULL, 0, &fields, &count, &error));
    assert_int_equal(count, 0);
}

static void exact_values(void **state) {
    (void)state;
    heads then = now(item);
    assert_true(
        say(id_of(item), &then, (glassine_statement){.field = "later", .value = GL_SPAN("{\"a\":[1,2]}")}));
    then = now(item);
    assert_true(say(id_of(item), &then, (glassine_statement){.field = "later"}));
    static const char *const wrong[] = {
        "1,\"kind\":\"strip\"", "1}",       "",           " 1", "1.5", "null", "\"a", "[[1]]",
        "{\"a\":{\"b\":1}}",    "\"\xff\"", "\"\\u0041\""};
    for (size_t i = 0; i < COUNT(wrong); i++)
        if (!refuse(id_of(item), &then,
                    (glassine_statement){.field = "later", .value = gl_span_of(wrong[i])}))
            fail_msg("%s was taken", wrong[i]);
    assert_true(
        refuse(id_of(item), &then, (glassine_statement){.field = "Bad\"name", .value = GL_SPAN("1")}));
    assert_true(refuse(id_of(item), &then, (glassine_statement){.field = "kind", .value = GL_SPAN("1")}));
    assert_true(refuse(id_of(item), &then, (glassine_statement){.field = "later", .typed = "x"}));
}

static void slips_that_are_not_there(void **state) {
    (void)state;
    heads then = now(item), other = {.count = 1};
    memset(other.list[0], 'a', 64);
    glassine_statement statement = {.field = "kind", .typed = "block"};
    assert_true(refuse(id_of(item), &other, statement));
    glassine_record *collection;
    MUST(glassine_bundle_find(bundle, "collection", "Sorrel Islands", &collection, &error));
    assert_true(refuse(id_of(collection), &then, (glassine_statement){.field = "note", .typed = "x"}));
    assert_true(refuse("item", &then, statement)); /* a new one follows nothing */
    assert_true(refuse("item/nonsense", &(heads){.count = 0}, statement));
}

static void new_ones_and_back(void **state) {
    (void)state;
    heads none = {.count = 0};
    size_t before = glassine_draft_slips(draft);
    static const char id[] = "item/00000000-0000-4000-8000-000000000101";
    assert_true(refuse(id, &none, (glassine_statement){.field = "kind", .typed = "pair"})); /* no label */
    assert_true(say(id, &none, (glassine_statement){.field = "label", .typed = "H-002"}));
    assert_non_null(glassine_bundle_record(bundle, gl_span_of(id), GL_NO_SPAN));
    assert_true(say("item", &none, (glassine_statement){.field = "label", .typed = "H-003"}));
    glassine_record *found;
    MUST(glassine_bundle_find(bundle, "item", "H-003", &found, &error));
    glassine_draft_back(draft, before);
    assert_int_equal(glassine_draft_slips(draft), before);
    assert_null(glassine_bundle_record(bundle, gl_span_of(id), GL_NO_SPAN));
    assert_int_equal(glassine_bundle_find(bundle, "item", "H-003", &found, NULL), GLASSINE_REFUSED);
    MUST(glassine_bundle_find(bundle, "item", "H-001", &found, &error));
    assert_ptr_equal(found, item);
}

static void slips_as_they_stand(void **state) {
    (void)state;
    bool added;
    const uint32_t *slips;
    size_t count;
    MUST(glassine_record_history(bundle, item, &slips, &count, &error));
    MUST(glassine_draft_take(draft, glassine_bundle_slip(bundle, slips[0]).line, &added, &error));
    assert_false(added);
    static const char line[] =
        "{\"after\":[],\"at\":\"2026-05-01T10:00:00Z\",\"by\":\"contributor/"
        "00000000-0000-4000-8000-000000000002\",\"reach\":\"shared\",\"record\":\"item/"
        "00000000-0000-4000-8000-000000000102\",\"set\":{\"label\":\"H-009\"}}";
    MUST(glassine_draft_take(draft, gl_span_of(line), &added, &error));
    assert_true(added);
    glassine_record *found;
    MUST(glassine_bundle_find(bundle, "item", "H-009", &found, &error));
    assert_int_equal(glassine_draft_take(draft, GL_SPAN("{}"), &added, NULL), GLASSINE_REFUSED);
}

/* A text that deflates to next to nothing is no bomb: what was saved can be read (L006). */
static void a_text_of_one_letter(void **state) {
    (void)state;
    enum { LONG = 5000000 };
    char *text = malloc(LONG + 3);
    assert_non_null(text);
    memset(text, 'x', LONG + 2);
    text[0] = text[LONG + 1] = '"';
    text[LONG + 2] = '\0';
    heads then = now(item);
    assert_true(say(id_of(item), &then, (glassine_statement){.field = "later", .value = gl_span_of(text)}));
    MUST(glassine_draft_save(draft, NULL, &error));
    glassine_bundle *again = opened(in_folder("sorrel.glassine"), GLASSINE_READ);
    glassine_record *found = glassine_bundle_record(again, gl_span_of(id_of(item)), GL_NO_SPAN);
    assert_int_equal(glassine_record_text(again, found, "later").length, LONG);
    glassine_bundle_close(again);
    free(text);
}

#define IN_A_BUNDLE(test) cmocka_unit_test_setup_teardown(test, begin, end)

int main(void) {
    const struct CMUnitTest tests[] = {
        IN_A_BUNDLE(what_came_between_stays_beside),
        IN_A_BUNDLE(what_was_so_already_is_not_said),
        IN_A_BUNDLE(readings_of_old),
        IN_A_BUNDLE(exact_values),
        IN_A_BUNDLE(slips_that_are_not_there),
        IN_A_BUNDLE(new_ones_and_back),
        IN_A_BUNDLE(slips_as_they_stand),
        IN_A_BUNDLE(a_text_of_one_letter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
