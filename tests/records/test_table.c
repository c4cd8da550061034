/* Is the table of types consistent with itself, and with the rules that span fields? */
#include "base/unit.h"

#include "base/json.h"
#include "base/text.h"
#include "records/names.h"
#include "records/table.h"

typedef void (*see_field)(const glassine_type_info *type, const glassine_field_info *field);

static void each_field(see_field see) {
    for (size_t i = 0; i < glassine_type_count(); i++)
        for (size_t k = 0; k < glassine_type_at(i)->field_count; k++)
            see(glassine_type_at(i), &glassine_type_at(i)->fields[k]);
}

/* One line of plain words: fit for a terminal, for Markdown tables, and for JSON without escapes. */
static void check_words(const char *words) {
    gl_span text = gl_span_of(words);
    assert_true(text.length > 0);
    assert_int_equal(gl_utf8_check(text), text.length);
    assert_true(gl_text_is_nfc(text));
    for (size_t i = 0; i < text.length; i++)
        assert_true((unsigned char)words[i] >= ' ' && !strchr("\"\\|", words[i]));
}

/* No two of a list may be taken for each other when they are typed kindly. */
static void check_list(const char *const *words, size_t most) {
    size_t count = 0;
    for (; words[count]; count++) {
        assert_true(gl_table_name_check(gl_span_of(words[count])));
        for (size_t i = 0; i < count; i++)
            assert_false(gl_name_alike(gl_span_of(words[i]), gl_span_of(words[count])));
    }
    assert_in_range(count, 1, most);
}

static void check_field(const glassine_type_info *type, const glassine_field_info *field) {
    bool choice = field->kind == GLASSINE_CHOICE || field->kind == GLASSINE_CHOICES;
    bool ref = field->kind == GLASSINE_REF || field->kind == GLASSINE_REFS;
    assert_true(gl_table_name_check(gl_span_of(field->name)));
    assert_false(gl_span_starts(gl_span_of(field->name), GL_SPAN("own_")));
    check_words(field->help);
    if (field->unit)
        check_words(field->unit);
    assert_int_equal(field->choices != NULL, choice);
    if (choice)
        check_list(field->choices, 64); /* parse.c keeps a set of them in 64 bits */
    assert_true(ref || !field->refs);
    for (size_t i = 0; field->refs && field->refs[i]; i++)
        assert_non_null(glassine_type_find(field->refs[i]));
    if (field->kind == GLASSINE_INTEGER)
        assert_true(field->least < field->most && field->most <= GL_JSON_INTEGER_MAX &&
                    field->least >= -GL_JSON_INTEGER_MAX);
    for (const glassine_field_info *other = type->fields; other < field; other++)
        assert_false(gl_name_alike(gl_span_of(field->name), gl_span_of(other->name)));
}

static void test_fields(void **state) {
    (void)state;
    each_field(check_field);
}

static void check_type(const glassine_type_info *type) {
    assert_true(gl_table_name_check(gl_span_of(type->name)));
    assert_ptr_equal(glassine_type_find(type->name), type);
    check_words(type->help);
    if (type->caution)
        check_words(type->caution);
    if (type->label)
        assert_int_equal(glassine_type_field(type, type->label)->kind, GLASSINE_TEXT);
    const glassine_field_info *last = &type->fields[type->field_count - 1];
    assert_string_equal(last->name, "set_aside");
    assert_int_equal(last->kind, GLASSINE_TRUTH);
    const gl_either *either = gl_type_either(type);
    if (either) {
        assert_false(glassine_type_field(type, either->one)->required);
        assert_false(glassine_type_field(type, either->other)->required);
    }
}

static void test_types(void **state) {
    (void)state;
    for (size_t i = 0; i < glassine_type_count(); i++) {
        check_type(glassine_type_at(i));
        for (size_t k = 0; k < i; k++)
            assert_false(
                gl_name_alike(gl_span_of(glassine_type_at(i)->name), gl_span_of(glassine_type_at(k)->name)));
    }
    assert_null(glassine_type_at(glassine_type_count()));
    assert_null(glassine_type_find("Item"));
    assert_null(glassine_type_find(NULL));
    assert_null(glassine_type_field(glassine_type_find("item"), "rows"));
    assert_null(glassine_type_field(NULL, "rows"));
    assert_string_equal(glassine_reach_name(GLASSINE_TELLING), "telling");
}

/* Types whose fields all have one reach, and types that speak for their author. */
static void check_reach_of_type(const glassine_type_info *type, const glassine_field_info *field) {
    if (strcmp(type->name, "letter") == 0 || strcmp(type->name, "valuation") == 0)
        assert_int_equal(field->reach, GLASSINE_PRIVATE);
    if (strcmp(type->name, "selection") == 0)
        assert_int_equal(field->reach, GLASSINE_TELLING);
    bool authored = strstr("observation claim match opinion conclusion join", type->name) != NULL;
    assert_int_equal(type->authored, authored);
    assert_int_equal(gl_field_reach(type, field, GL_NO_SPAN), field->reach);
}

static void test_reach(void **state) {
    (void)state;
    each_field(check_reach_of_type);
    const glassine_type_info *event = glassine_type_find("event"), *item = glassine_type_find("item");
    for (size_t i = 0; i < event->field_count; i++) {
        assert_int_equal(gl_field_reach(event, &event->fields[i], GL_SPAN("acquired")), GLASSINE_PRIVATE);
        assert_int_equal(gl_field_reach(event, &event->fields[i], GL_SPAN("sold")), GLASSINE_PRIVATE);
        assert_int_equal(gl_field_reach(event, &event->fields[i], GL_SPAN("treated")),
                         event->fields[i].reach);
    }
    assert_int_equal(gl_field_reach(item, &item->fields[0], GL_SPAN("sold")), GLASSINE_SHARED);
    assert_int_equal(gl_field_reach(item, NULL, GL_NO_SPAN), GLASSINE_PRIVATE);
}

static bool in_words(void *context, const char *field) {
    const char *const *words = context;
    for (; *words; words++)
        if (strcmp(*words, field) == 0)
            return true;
    return false;
}

static void test_lacks(void **state) {
    static const struct {
        const char *type;
        const char *has[4];
        const char *lacks;
    } cases[] = {
        {"item", {"title"}, "label"},
        {"item", {"label"}, NULL},
        {"plate", {"label", "design", "rows"}, "columns"},
        {"opinion", {"item"}, "text"},
        {"opinion", {"text"}, "item or stamp"},
        {"observation", {"stamp"}, NULL},
        {"observation", {"item"}, NULL},
        {"event", {"item"}, "kind"},
        {"event", {"kind"}, "item or items"},
        {"event", {"kind", "items"}, NULL},
        {"letter", {NULL}, NULL},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        const char *has[4];
        memcpy(has, cases[i].has, sizeof has);
        const char *lacks = gl_type_lacks(glassine_type_find(cases[i].type), in_words, has);
        if (cases[i].lacks)
            assert_string_equal(lacks, cases[i].lacks);
        else
            assert_null(lacks);
    }
}

static void test_cautions(void **state) {
    (void)state;
    const glassine_type_info *event = glassine_type_find("event");
    assert_non_null(strstr(glassine_type_caution(event, "treated"), "Peroxide"));
    assert_non_null(glassine_type_caution(event, "repaired"));
    assert_non_null(glassine_type_caution(event, NULL));
    assert_null(glassine_type_caution(event, "sent"));
    assert_non_null(strstr(glassine_type_caution(glassine_type_find("claim"), NULL), "no certificate"));
    assert_non_null(glassine_type_caution(glassine_type_find("valuation"), "insured"));
    assert_null(glassine_type_caution(glassine_type_find("item"), "cover"));
    assert_null(glassine_type_caution(NULL, "cover"));
}

static void test_typed_types(void **state) {
    static const struct {
        const char *typed, *type, *near;
    } cases[] = {
        {"item", "item", NULL},
        {" Plate-State ", "plate_state", NULL},
        {"platestate", "plate_state", NULL},
        {"stmap", NULL, "did you mean stamp?"},
        {"plates", NULL, "did you mean plate?"},
        {"aeroplane", NULL, "no type of that name"},
        {"", NULL, "no type of that name"},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        const glassine_type_info *type;
        glassine_error error = {0};
        glassine_status status = gl_type_typed(gl_span_of(cases[i].typed), &type, &error);
        assert_int_equal(status, cases[i].type ? GLASSINE_OK : GLASSINE_REFUSED);
        if (cases[i].type) {
            assert_string_equal(type->name, cases[i].type);
            continue;
        }
        assert_null(type);
        assert_string_equal(error.rule, "R010");
        assert_non_null(strstr(error.message, cases[i].near));
        assert_non_null(strstr(error.remedy, "contributor, collection, item"));
    }
}

static void test_typed_fields(void **state) {
    static const struct {
        const char *type, *typed, *name, *near; /* near NULL: taken */
        bool known;
    } cases[] = {
        {"stamp", "colour", "colour", NULL, true},
        {"stamp", "Gauge top", "gauge_top", NULL, true},
        {"stamp", "straight-edge", "straight_edge", NULL, true},
        {"stamp", "color", "", "did you mean colour?", false},
        {"stamp", "guage_left", "", "did you mean gauge_left?", false},
        {"stamp", "rows", "", "row", false},
        {"item", "own_shelf", "own_shelf", NULL, false},
        {"item", "Own shelf", "own_shelf", NULL, false},
        {"item", "own_", "", "no field", false},
        {"item", "x_shelf", "", "no field", false},
        {"item", "", "", "no field", false},
        {NULL, "anything", "anything", NULL, false},
        {NULL, "9lives", "", "no field", false},
        {NULL, "a_name_that_is_longer_than_the_32_bytes_there_are", "", "no field", false},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        gl_buf name = GL_BUF_EMPTY;
        const glassine_field_info *info;
        glassine_error error = {0};
        glassine_status status = gl_field_typed(glassine_type_find(cases[i].type), gl_span_of(cases[i].typed),
                                                &name, &info, &error);
        assert_int_equal(status, cases[i].near ? GLASSINE_REFUSED : GLASSINE_OK);
        assert_true(gl_span_is(gl_buf_span(&name), cases[i].name));
        assert_int_equal(info != NULL, cases[i].known);
        if (cases[i].near) {
            assert_string_equal(error.rule, "R011");
            assert_non_null(strstr(error.message, cases[i].near));
        }
        gl_buf_free(&name);
    }
}

/* At most three names are offered, the nearest first. */
static gl_span word_at(const void *list, size_t index) {
    return gl_span_of(((const char *const *)list)[index]);
}

static void test_near_names(void **state) {
    static const char *const words[] = {"bark", "marking", "mark", "martin", "park", "dark"};
    static const struct {
        const char *typed, *near;
    } cases[] = {
        {"makring", "marking"},                /* two neighbours changed places */
        {"MARKIN", "marking, martin or mark"}, /* one letter off, one, two; case does not matter */
        {"ark", "bark, mark or park"},         /* three at most, in their order where they are as near */
        {"zzzz", ""},
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(cases); i++) {
        gl_buf near = GL_BUF_EMPTY;
        bool any = gl_names_near(gl_span_of(cases[i].typed), word_at, words, UNIT_COUNT(words), &near);
        assert_int_equal(any, *cases[i].near != '\0');
        assert_true(gl_span_is(gl_buf_span(&near), cases[i].near));
        gl_buf_free(&near);
    }
}

static void test_rules(void **state) {
    static const struct {
        const char *code, *parts[3];
    } rules[] = {
#define GL_RULE(code, demands, means, helps) {code, {demands, means, helps}},
#define GL_ASKED GL_RULE
#include "audit/rules/R.def"
#undef GL_RULE
#undef GL_ASKED
    };
    (void)state;
    for (size_t i = 0; i < UNIT_COUNT(rules); i++) {
        assert_int_equal(strlen(rules[i].code), 4);
        assert_int_equal(rules[i].code[0], 'R');
        assert_int_equal(strspn(rules[i].code + 1, "0123456789"), 3);
        assert_true(i == 0 || strcmp(rules[i - 1].code, rules[i].code) < 0);
        for (size_t k = 0; k < 3; k++)
            assert_int_equal(rules[i].parts[k][strlen(rules[i].parts[k]) - 1], '.');
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fields),       cmocka_unit_test(test_types),
        cmocka_unit_test(test_reach),        cmocka_unit_test(test_lacks),
        cmocka_unit_test(test_cautions),     cmocka_unit_test(test_typed_types),
        cmocka_unit_test(test_typed_fields), cmocka_unit_test(test_near_names),
        cmocka_unit_test(test_rules),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
