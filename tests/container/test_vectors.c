/* testvectors/: every sound bundle reads as its JSON says, every bad one is refused by the rule it is named
 * for. They are made by tests/vectors/make_vectors.py from the specification, without this library. */
#include "support.h"

#include <dirent.h>
#include <jansson.h>

#include "container/bag.h"

/* ------------------------------------------------------------------------------------------- bad */

static glassine_status check_contents(const gl_zip *zip, glassine_error *error) {
    for (size_t i = 0; i < gl_zip_count(zip); i++) {
        glassine_status status = gl_zip_stream(zip, gl_zip_at(zip, i), NULL, NULL, NULL, error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

static glassine_status check_bag(const gl_zip *zip, glassine_error *error) {
    gl_manifest *payload = gl_manifest_new(), *tags = gl_manifest_new();
    glassine_status status = gl_bag_read(zip, NULL, payload, tags, error);
    for (size_t i = 0; !status && i < gl_zip_count(zip); i++)
        status = gl_bag_check(zip, gl_zip_at(zip, i), payload, tags, error);
    gl_manifest_free(payload);
    gl_manifest_free(tags);
    return status;
}

/* Everything that this layer can check; what is found first is in `error`. */
static glassine_status check_all(const gl_zip *zip, glassine_error *error) {
    if (gl_zip_tail_fault(zip)) {
        *error = *gl_zip_tail_fault(zip);
        return error->status;
    }
    if (gl_zip_tail(zip))
        return gl_fail(error, GLASSINE_REFUSED, "C013", gl_zip_path(zip), "it has a tail");
    glassine_status status = gl_zip_walk(zip, NULL, NULL, error);
    if (!status)
        status = gl_zip_check_locals(zip, error);
    if (!status)
        status = check_contents(zip, error);
    return status ? status : check_bag(zip, error);
}

/* "C025-another-sum.glassine": the rule is C025. Rules of the layers above leave this one content. */
static bool is_as_named(const char *folder_path, const char *name) {
    char path[512], rule[5];
    snprintf(path, sizeof path, "%s/%s", folder_path, name);
    snprintf(rule, sizeof rule, "%.4s", name);
    bool ours = strchr("CB", rule[0]) || strcmp(rule, "L006") == 0 || strcmp(rule, "L007") == 0;
    glassine_error error = {.rule = ""};
    gl_zip *zip;
    int fd = open_for_reading(path);
    glassine_status status = gl_zip_open(fd, path, NULL, &zip, &error);
    if (!status)
        status = check_all(zip, &error);
    gl_zip_close(zip);
    gl_file_close(fd);
    bool right = ours ? status == GLASSINE_REFUSED && strcmp(error.rule, rule) == 0 : status == GLASSINE_OK;
    if (!right)
        print_error("%s: %s %s\n", name, status ? error.rule : "sound", status ? error.message : "");
    return right;
}

static size_t each_file(const char *folder_path, const char *ending,
                        bool (*check)(const char *, const char *)) {
    size_t count = 0, wrong = 0;
    DIR *all = opendir(folder_path);
    assert_non_null(all);
    for (struct dirent *one; (one = readdir(all)) != NULL;) {
        size_t length = strlen(one->d_name), tail = strlen(ending);
        if (length <= tail || strcmp(one->d_name + length - tail, ending) != 0)
            continue;
        wrong += !check(folder_path, one->d_name);
        count++;
    }
    closedir(all);
    assert_int_equal(wrong, 0);
    return count;
}

static void bad_ones(void **state) {
    (void)state;
    assert_true(each_file(TESTVECTORS "/bad", ".glassine", is_as_named) > 150);
}

/* Each rule of C.def and B.def has a bad file. */
static void every_rule_has_one(void **state) {
    (void)state;
    static const char *const rules[] = {
#define GL_RULE(code, statement, meaning, help) code,
#include "audit/rules/B.def"
#include "audit/rules/C.def"
#undef GL_RULE
    };
    for (size_t i = 0; i < COUNT(rules); i++) {
        bool found = false;
        DIR *all = opendir(TESTVECTORS "/bad");
        assert_non_null(all);
        for (struct dirent *one; (one = readdir(all)) != NULL;)
            found = found || strncmp(one->d_name, rules[i], 4) == 0;
        closedir(all);
        if (!found)
            fail_msg("no bad file for %s", rules[i]);
    }
}

/* ------------------------------------------------------------------------------------------- sound */

typedef struct footers_left {
    const json_t *expected;
    size_t left;
} footers_left;

static uint64_t number(const json_t *object, const char *key) {
    return (uint64_t)json_integer_value(json_object_get(object, key));
}

static const char *text(const json_t *object, const char *key) {
    return json_string_value(json_object_get(object, key));
}

static bool is_expected_footer(void *context, const gl_footer *footer) {
    footers_left *left = context;
    assert_true(left->left > 0);
    const json_t *right = json_array_get(left->expected, --left->left);
    assert_int_equal(footer->edition, number(right, "edition"));
    assert_int_equal(footer->start, number(right, "start"));
    assert_int_equal(footer->end, number(right, "end"));
    return true;
}

static void entries_agree(const gl_zip *zip, const json_t *entries) {
    assert_int_equal(gl_zip_count(zip), json_array_size(entries));
    for (size_t i = 0; i < json_array_size(entries); i++) {
        const json_t *right = json_array_get(entries, i);
        const gl_entry *entry = gl_zip_find(zip, gl_span_of(text(right, "name")));
        glassine_error error;
        gl_digest digest;
        char hex[GL_HEX_SIZE];
        assert_non_null(entry);
        assert_int_equal(entry->size, number(right, "size"));
        assert_int_equal(entry->method, number(right, "method"));
        must(gl_zip_stream(zip, entry, NULL, NULL, &digest, &error), &error);
        gl_digest_hex(&digest, hex);
        assert_string_equal(hex, text(right, "sha256"));
    }
}

static bool reads_as_said(const char *folder_path, const char *name) {
    char path[512];
    snprintf(path, sizeof path, "%s/%s", folder_path, name);
    gl_zip *zip = open_zip(path);
    glassine_error error;
    memcpy(path + strlen(path) - strlen(".glassine"), ".json", sizeof ".json");
    json_error_t fault;
    json_t *right = json_load_file(path, 0, &fault);
    assert_non_null(right);
    assert_true(gl_span_is(gl_zip_base(zip), text(right, "base")));
    assert_int_equal(gl_zip_tail(zip), number(right, "tail"));
    assert_int_equal(gl_zip_tail_is_ours(zip), json_is_true(json_object_get(right, "tail_is_ours")));
    const json_t *footers = json_object_get(right, "footers");
    footers_left left = {footers, json_array_size(footers)};
    must(gl_zip_walk(zip, is_expected_footer, &left, &error), &error);
    assert_int_equal(left.left, 0);
    must(gl_zip_check_locals(zip, &error), &error);
    entries_agree(zip, json_object_get(right, "entries"));
    must(check_bag(zip, &error), &error);
    json_decref(right);
    close_zip(zip);
    return true;
}

static void sound_ones(void **state) {
    (void)state;
    assert_true(each_file(TESTVECTORS "/valid", ".glassine", reads_as_said) >= 9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bad_ones),
        cmocka_unit_test(every_rule_has_one),
        cmocka_unit_test(sound_ones),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
