/* The whole library against testvectors/: the audit finds nothing in a sound bundle, and in each bad one the
 * rule that it is named for and no other. They are made from the specification without this library. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <dirent.h>
#include <jansson.h>

#include "base/buf.h"
#include "glassine.h"

/* What is wrong with these as bundles does not hinder reading them. */
static const char *const unseen[] = {
    /* No bundles, but other programs' archives of one: read as such. */
    "C010-an-ordinary-zip-file.glassine",
    "C011-packed-by-another-program.glassine",
};

static bool is_unseen(const char *name) {
    for (size_t i = 0; i < sizeof unseen / sizeof *unseen; i++)
        if (strcmp(unseen[i], name) == 0)
            return true;
    return false;
}

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

/* Limits that the file is beyond, where these are lower than the usual ones: NAME.json beside it. */
static glassine_limits limits_of(const char *path) {
    glassine_limits l = {0};
    char beside[512];
    snprintf(beside, sizeof beside, "%.*s.json", (int)(strrchr(path, '.') - path), path);
    json_t *all = json_load_file(beside, 0, NULL), *lower = json_object_get(all, "limits"), *value;
    const struct {
        const char *name;
        uint64_t *limit;
    } names[] = {{"entries", &l.entries},     {"directory_bytes", &l.directory_bytes},
                 {"log_bytes", &l.log_bytes}, {"small_file_bytes", &l.small_file_bytes},
                 {"slips", &l.slips},         {"segment_bytes", &l.segment_bytes},
                 {"after", &l.after},         {"line_bytes", &l.line_bytes},
                 {"editions", &l.editions}};
    const char *name;
    json_object_foreach(lower, name, value) {
        size_t i = 0;
        while (i < sizeof names / sizeof *names && strcmp(names[i].name, name) != 0)
            i++;
        assert_true(i < sizeof names / sizeof *names);
        *names[i].limit = (uint64_t)json_integer_value(value);
    }
    json_decref(all);
    glassine_limits usual = glassine_limits_default();
    uint64_t *low = (uint64_t *)&l;
    for (size_t i = 0; i < sizeof l / sizeof *low; i++)
        low[i] = low[i] ? low[i] : ((uint64_t *)&usual)[i];
    return l;
}

/* The audit's report as the JSON that people's programs get. */
static json_t *audit(const char *path) {
    glassine_error error = {0};
    glassine_limits limits = limits_of(path);
    const glassine_audit_options options = {.images = true, .limits = &limits};
    glassine_report *report = glassine_report_new("audit");
    assert_non_null(report);
    glassine_status status = glassine_audit(path, &options, report, &error);
    assert_int_not_equal(status, GLASSINE_SYSTEM);
    if (status)
        glassine_report_error(report, &error);
    gl_buf text = GL_BUF_EMPTY;
    assert_int_equal(glassine_report_json(report, gather, &text), 0);
    glassine_report_free(report);
    json_t *found = json_loadb(text.text, text.length, 0, NULL);
    assert_non_null(found);
    gl_buf_free(&text);
    return found;
}

static const char *rule_of(const json_t *finding) {
    const char *rule = json_string_value(json_object_get(finding, "rule"));
    return rule ? rule : "";
}

/* A damaged last edition is told of twice: that it is there (C013), and what is wrong with it. */
static bool only_finds(const json_t *report, const char *rule) {
    size_t i, right = 0, wrong = 0;
    const json_t *finding, *error = json_object_get(report, "error");
    json_array_foreach(json_object_get(report, "findings"), i, finding) {
        const char *weight = json_string_value(json_object_get(finding, "weight"));
        bool note = weight && strcmp(weight, "note") == 0;
        right += strcmp(rule_of(finding), rule) == 0;
        wrong += !note && strcmp(rule_of(finding), rule) != 0 && strcmp(rule_of(finding), "C013") != 0;
    }
    right += error && strcmp(rule_of(error), rule) == 0;
    return right > 0 && wrong == 0;
}

static bool bad_is_found(const char *name) {
    char path[512], rule[5];
    snprintf(path, sizeof path, TESTVECTORS "/bad/%s", name);
    snprintf(rule, sizeof rule, "%.4s", name);
    json_t *report = audit(path);
    bool found = only_finds(report, rule);
    if (found == is_unseen(name)) {
        char *text = json_dumps(report, JSON_COMPACT);
        print_error("%s: %s\n", name, found ? "is seen by now" : text);
        free(text);
    }
    json_decref(report);
    return found != is_unseen(name);
}

static bool sound_is_sound(const char *name) {
    char path[512], digest[65];
    snprintf(path, sizeof path, TESTVECTORS "/valid/%s", name);
    glassine_error error;
    glassine_bundle *bundle;
    assert_int_equal(glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error), GLASSINE_OK);
    memcpy(strrchr(path, '.'), ".json", sizeof ".json");
    json_t *right = json_load_file(path, 0, NULL);
    assert_non_null(right);
    json_t *editions = json_object_get(right, "editions");
    size_t count = json_array_size(editions);
    glassine_bundle_digest(bundle, digest);
    assert_string_equal(digest, json_string_value(json_object_get(right, "digest")));
    assert_int_equal(glassine_bundle_edition(bundle), count);
    assert_int_equal(glassine_bundle_slips(bundle), json_integer_value(json_object_get(right, "slips")));
    assert_int_equal(glassine_bundle_unknown_lines(bundle),
                     json_integer_value(json_object_get(right, "unknown_lines")));
    assert_int_equal(glassine_bundle_tail(bundle), json_integer_value(json_object_get(right, "tail")));
    for (size_t i = 0; i < count; i++) {
        const json_t *edition = json_array_get(editions, i);
        glassine_edition found = glassine_bundle_edition_at(bundle, (uint32_t)i + 1);
        const char *log = json_string_value(json_object_get(edition, "log"));
        assert_int_equal(found.log.length, strlen(log));
        assert_memory_equal(found.log.text, log, found.log.length);
        assert_int_equal(found.slips, json_integer_value(json_object_get(edition, "slips")));
    }
    bool tail = glassine_bundle_tail(bundle) > 0;
    glassine_bundle_close(bundle);
    json_decref(right);
    snprintf(path, sizeof path, TESTVECTORS "/valid/%s", name);
    json_t *report = audit(path);
    size_t i, wrong = 0;
    const json_t *finding;
    json_array_foreach(json_object_get(report, "findings"), i, finding) wrong += rule_of(finding)[0] != '\0';
    json_decref(report);
    return tail || wrong == 0;
}

static void each_file(const char *folder, bool (*check)(const char *name)) {
    size_t wrong = 0, count = 0;
    DIR *all = opendir(folder);
    assert_non_null(all);
    for (struct dirent *one; (one = readdir(all)) != NULL;) {
        const char *dot = strrchr(one->d_name, '.');
        if (!dot || strcmp(dot, ".glassine") != 0)
            continue;
        wrong += !check(one->d_name);
        count++;
    }
    closedir(all);
    assert_true(count > 0);
    assert_int_equal(wrong, 0);
}

static void bad_ones(void **state) {
    (void)state;
    each_file(TESTVECTORS "/bad", bad_is_found);
}

static void sound_ones(void **state) {
    (void)state;
    each_file(TESTVECTORS "/valid", sound_is_sound);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(bad_ones), cmocka_unit_test(sound_ones)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
