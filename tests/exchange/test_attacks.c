/* testvectors/attacks/: what somebody sends to a keeper, or puts in the place of the keeper's file, and what
 * must come of it. They are made from spec/signatures.md without this library. */
#include "support.h"

#include <dirent.h>
#include <jansson.h>

#include "bundle/joins.h"

static const char *text(const json_t *object, const char *name) {
    return json_string_value(json_object_get(object, name));
}

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

/* The rules that a report's findings name. */
static json_t *rules_told(glassine_report *report) {
    gl_buf printed = GL_BUF_EMPTY;
    assert_int_equal(glassine_report_json(report, gather, &printed), 0);
    json_t *whole = json_loadb(printed.text, printed.length, 0, NULL), *rules = json_object(), *finding;
    size_t i;
    assert_non_null(whole);
    json_array_foreach(json_object_get(whole, "findings"), i, finding) {
        const char *rule = text(finding, "rule");
        if (rule)
            json_object_set_new(rules, rule, json_true());
    }
    json_decref(whole);
    gl_buf_free(&printed);
    return rules;
}

/* --------------------------------------------------------------------------------------- what is so then */

static uint32_t slip_of(glassine_bundle *bundle, const char *hex) {
    gl_digest digest;
    assert_true(gl_digest_parse(gl_span_of(hex), &digest));
    uint32_t slip = gl_store_find(bundle->store, &digest);
    if (slip == GL_NONE)
        fail_msg("%.12s is not in the set", hex);
    return slip;
}

static void check_words(glassine_bundle *bundle, const json_t *digests, bool counts) {
    size_t i;
    json_t *one;
    json_array_foreach(digests, i, one) {
        const char *hex = json_string_value(one);
        glassine_slip slip = glassine_bundle_slip(bundle, slip_of(bundle, hex));
        if ((slip.word != GLASSINE_WORD_UNSIGNED) != counts)
            fail_msg("slip %.12s is %s", hex, glassine_word_name(slip.word));
    }
}

/* "claim/UUID/UUID" names an authored record. */
static glassine_record *record_of(glassine_bundle *bundle, const char *id) {
    const char *slash = strrchr(id, '/');
    char person[80];
    if (slash == strchr(id, '/'))
        return glassine_bundle_record(bundle, gl_span_of(id), GL_NO_SPAN);
    snprintf(person, sizeof person, "contributor/%s", slash + 1);
    return glassine_bundle_record(bundle, (gl_span){id, (size_t)(slash - id)}, gl_span_of(person));
}

static void check_values(glassine_bundle *bundle, json_t *records) {
    const char *id, *field;
    json_t *fields, *value;
    json_object_foreach(records, id, fields) {
        glassine_record *record = record_of(bundle, id);
        assert_non_null(record);
        json_object_foreach(fields, field, value) {
            bool contested;
            glassine_value found = glassine_record_get(bundle, record, field, &contested);
            gl_span shown = found.text ? gl_json_raw(found) : GL_SPAN("nothing");
            const char *right = json_is_null(value) ? "nothing" : json_string_value(value);
            if (contested || !gl_span_is(shown, right))
                fail_msg("%s: %s is %s%.*s, and not %s", id, field, contested ? "contested, " : "",
                         GL_SPAN_ARGS(shown), right);
        }
    }
}

static int by_text(const void *a, const void *b) {
    return strcmp(a, b);
}

static void check_keys(glassine_bundle *bundle, json_t *people) {
    const char *person;
    json_t *keys, *key;
    size_t i;
    json_object_foreach(people, person, keys) {
        const gl_signer *signer =
            gl_trust_signer(bundle->trust, gl_store_person_find(bundle->store, gl_span_of(person)));
        char found[8][GL_HEX_SIZE];
        assert_int_equal(signer->counting_count, json_array_size(keys));
        for (i = 0; i < signer->counting_count; i++)
            gl_digest_hex(&signer->counting[i], found[i]);
        qsort(found, signer->counting_count, sizeof found[0], by_text);
        json_array_foreach(keys, i, key) assert_string_equal(found[i], json_string_value(key));
    }
}

static void check_proposals(glassine_bundle *bundle, const json_t *right) {
    const json_t *aside = json_object_get(right, "set_aside"), *joined = json_object_get(right, "joined");
    glassine_cursor *cursor;
    if (aside) {
        MUST(glassine_cursor_new(bundle, NULL, true, &cursor, &error));
        for (glassine_record *one; (one = glassine_cursor_next(cursor));)
            assert_false(glassine_record_set_aside(bundle, one));
        glassine_cursor_free(cursor);
    }
    const gl_joins *joins;
    MUST(gl_bundle_joins(bundle, &joins, &error));
    if (joined) {
        MUST(glassine_cursor_new(bundle, "item", true, &cursor, &error));
        for (glassine_record *one; (one = glassine_cursor_next(cursor));)
            assert_true(gl_span_equal(gl_joins_of(joins, glassine_record_id(bundle, one)),
                                      glassine_record_id(bundle, one)));
        glassine_cursor_free(cursor);
    }
}

static void check_bundle(const char *path, const json_t *right, const char *uncounted) {
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    const char *name;
    json_t *id;
    assert_string_equal(glassine_bundle_keeper(bundle), text(right, "keeper"));
    json_t *first = json_object_get(right, "first_uncounted");
    if (strcmp(uncounted, "first_uncounted") == 0 && first)
        check_words(bundle, first, false);
    else
        check_words(bundle, json_object_get(right, "counts"), true);
    check_words(bundle, json_object_get(right, "does_not_count"), false);
    check_values(bundle, json_object_get(right, "values"));
    check_keys(bundle, json_object_get(right, "keys"));
    check_proposals(bundle, right);
    const json_t *signatures = json_object_get(right, "signatures");
    if (signatures)
        assert_int_equal(gl_trust_signatures(bundle->trust), json_integer_value(signatures));
    json_object_foreach(json_object_get(right, "found"), name, id) {
        glassine_record *record;
        MUST(glassine_bundle_find(bundle, "item", name, &record, &error));
        assert_string_equal(span_text(glassine_record_id(bundle, record)), json_string_value(id));
    }
    glassine_bundle_close(bundle);
}

/* ------------------------------------------------------------------------------------- merging, opening */

static glassine_status merge(const char *path, const char *attack) {
    char source[512];
    const char *const sources[] = {source};
    snprintf(source, sizeof source, TESTVECTORS "/attacks/%s.glassine", attack);
    saying_session s = begin_saying(path, NULL);
    glassine_report *report = glassine_report_new("merge");
    error = (glassine_error){0};
    glassine_status status = glassine_merge(s.draft, sources, 1, NULL, report, &error);
    glassine_report_free(report);
    glassine_draft_free(s.draft);
    glassine_bundle_close(s.bundle);
    return status;
}

static void check_told(const char *path, const json_t *right) {
    glassine_report *report = glassine_report_new("audit");
    size_t i;
    json_t *rule;
    MUST(glassine_audit(path, NULL, report, &error));
    json_t *told = rules_told(report);
    json_array_foreach(json_object_get(right, "tells"), i, rule) {
        if (!json_object_get(told, json_string_value(rule)))
            fail_msg("the audit does not tell of %s", json_string_value(rule));
    }
    json_decref(told);
    glassine_report_free(report);
}

static void try_merge(const char *attack, const json_t *right) {
    const char *path = in_folder("keeper.glassine"), *refused = text(right, "refused"),
               *then = text(right, "then");
    copy_file(TESTVECTORS "/attacks/keeper.glassine", path);
    uint64_t before = file_length(path);
    glassine_status status = merge(path, attack);
    if (refused) {
        assert_int_equal(status, GLASSINE_REFUSED);
        assert_string_equal(error.rule, refused);
        assert_int_equal(file_length(path), before);
        return;
    }
    if (status)
        fail_msg("refused: %s (%s)", error.message, error.rule);
    check_bundle(path, right, "first_uncounted");
    check_told(path, right);
    if (then) {
        assert_int_equal(merge(path, then), GLASSINE_OK);
        check_bundle(path, right, "");
    }
}

static void try_open(const char *attack, const json_t *right) {
    char path[512];
    const json_t *remembered = json_object_get(right, "remembered");
    uint32_t last = (uint32_t)json_integer_value(json_object_get(remembered, "edition"));
    snprintf(path, sizeof path, TESTVECTORS "/attacks/%s.glassine", attack);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    uint32_t edition = glassine_bundle_edition(bundle);
    assert_int_equal(edition, json_integer_value(json_object_get(right, "edition")));
    assert_int_equal(glassine_bundle_tail(bundle), json_integer_value(json_object_get(right, "tail")));
    assert_int_equal(edition < last, json_is_true(json_object_get(right, "older")));
    if (edition >= last)
        assert_int_equal(
            strcmp(span_text(glassine_bundle_edition_at(bundle, last).log), text(remembered, "log")) != 0,
            json_is_true(json_object_get(right, "other")));
    glassine_bundle_close(bundle);
}

static void every_attack_comes_to_what_it_must(void **state) {
    (void)state;
    size_t count = 0;
    DIR *all = opendir(TESTVECTORS "/attacks");
    assert_non_null(all);
    for (struct dirent *one; (one = readdir(all)) != NULL;) {
        char path[512], name[300];
        const char *dot = strrchr(one->d_name, '.');
        if (!dot || strcmp(dot, ".json") != 0)
            continue;
        snprintf(path, sizeof path, TESTVECTORS "/attacks/%s", one->d_name);
        snprintf(name, sizeof name, "%.*s", (int)(dot - one->d_name), one->d_name);
        json_t *right = json_load_file(path, 0, NULL);
        assert_non_null(right);
        print_message("%s\n", name);
        const char *way = text(right, "do");
        if (strcmp(way, "merge") == 0)
            try_merge(name, right);
        else if (strcmp(way, "open") == 0)
            try_open(name, right);
        count += strcmp(way, "nothing") != 0;
        json_decref(right);
    }
    closedir(all);
    assert_true(count >= 30);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_attack_comes_to_what_it_must)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
