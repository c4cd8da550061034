/* from-json after to-json: nothing changed makes no slip, a change makes its slip, the history makes the
 * bundle anew. */
#include <jansson.h>

#include "json_canonical.h"
#include "random_bundle.h"
#include "rounds.h"
#include "sheet_folder.h"

#define BUNDLES ROUNDS_OF(300)

static void write_document(glassine_bundle *bundle, glassine_json_options options) {
    gl_buf text = GL_BUF_EMPTY;
    assert_int_equal(glassine_to_json(bundle, &options, into_buf, &text, NULL), 0);
    write_file("document.json", gl_buf_span(&text));
    gl_buf_free(&text);
}

static taken take_document(glassine_bundle *bundle, const char *by, glassine_sheets_options options) {
    taken it = {.findings = GL_BUF_EMPTY, .result = GL_BUF_EMPTY};
    glassine_report *report = glassine_report_new("from-json");
    assert_int_equal(glassine_draft_new(bundle, by, NULL, &it.draft, NULL), 0);
    it.status = glassine_from_json(bundle, it.draft, in_folder("document.json"), &options, report, &it.error);
    read_report(&it, report);
    glassine_report_free(report);
    return it;
}

static void nothing_changed_makes_no_slip(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= BUNDLES; seed++) {
        random_bundle *it = draw_bundle(seed + 40000);
        write_document(it->bundle,
                       (glassine_json_options){.with_private = seed % 2, .history = seed % 3 == 0});
        taken back = take_document(it->bundle, seed % 4 ? KEEPER : OTHER, (glassine_sheets_options){0});
        expect_slips(&back, 0);
        drop(&back);
        free_bundle(it);
    }
}

/* A document with its history and all that is private is the whole bundle: the same slips, so the same
 * digest. */
static void the_history_makes_the_bundle_anew(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= BUNDLES / 3; seed++) {
        random_bundle *it = draw_bundle(seed + 50000);
        char wanted[65], found[65];
        glassine_error error = {0};
        glassine_bundle_digest(it->bundle, wanted);
        write_document(it->bundle, (glassine_json_options){.with_private = true, .history = true});
        unlink(in_folder("anew.glassine"));
        glassine_report *report = glassine_report_new("from-json");
        if (glassine_from_json_new(in_folder("document.json"), in_folder("anew.glassine"), NULL, report,
                                   &error)) {
            taken told = {.findings = GL_BUF_EMPTY, .result = GL_BUF_EMPTY};
            read_report(&told, report);
            fail_msg("bundle %llu: %s: %s\n%s", (unsigned long long)seed, error.place, error.message,
                     told.findings.text);
        }
        glassine_report_free(report);
        glassine_bundle *anew;
        assert_int_equal(glassine_bundle_open(in_folder("anew.glassine"), GLASSINE_READ, NULL, &anew, &error),
                         0);
        glassine_bundle_digest(anew, found);
        assert_string_equal(found, wanted);
        assert_string_equal(glassine_bundle_keeper(anew), KEEPER);
        glassine_bundle_close(anew);
        free_bundle(it);
    }
}

/* ------------------------------------------------------------------------------------------------ changes */

typedef struct change {
    char id[80], name[40], value[40];
    glassine_reach reach;
} change;

/* One change of every third record that may be changed by the keeper, in a field of free text. */
static size_t change_document(random_bundle *it, change *changes) {
    json_t *root = json_load_file(in_folder("document.json"), 0, NULL), *record;
    const char *key;
    size_t count = 0;
    json_object_foreach(json_object_get(root, "records"), key, record) {
        const char *id = json_string_value(json_object_get(record, "id"));
        const char *author = json_string_value(json_object_get(record, "author"));
        const char *name = draw(it, 2) ? "own_shelf" : "own_x";
        json_t *fields = json_object_get(record, "fields");
        if (draw(it, 3) || (author && strcmp(author, KEEPER) != 0) || count == RECORDS_MOST ||
            json_object_get(json_object_get(record, "contested"), name))
            continue;
        change *one = &changes[count++];
        const char *reach = json_string_value(json_object_get(json_object_get(record, "reach"), name));
        bool was = json_object_get(fields, name);
        *one = (change){.reach = reach && strcmp(reach, "telling") == 0 ? GLASSINE_TELLING
                                 : (reach || !was)                      ? GLASSINE_PRIVATE
                                                                        : GLASSINE_SHARED};
        snprintf(one->id, sizeof one->id, "%s", id);
        snprintf(one->name, sizeof one->name, "%s", name);
        if (was && draw(it, 3) == 0) {
            json_object_del(fields, name);
            json_object_del(json_object_get(record, "reach"), name);
            continue;
        }
        snprintf(one->value, sizeof one->value, "shelf %u", draw(it, 1u << 30));
        json_object_set_new(fields, name, json_string(one->value));
    }
    json_dump_file(root, in_folder("document.json"), JSON_INDENT(1)); /* as another program would */
    json_decref(root);
    return count;
}

static void changes_make_exactly_their_slips(void **state) {
    (void)state;
    static change changes[RECORDS_MOST];
    size_t all = 0;
    for (uint64_t seed = 1; seed <= BUNDLES; seed++) {
        random_bundle *it = draw_bundle(seed + 60000);
        write_document(it->bundle, (glassine_json_options){.with_private = true});
        size_t count = change_document(it, changes);
        for (size_t i = 0; i < it->count; i++)
            if (draw(it, 3) == 0)
                draw_slip(it, it->ids[i], OTHER); /* the bundle goes on */
        uint64_t first = glassine_bundle_slips(it->bundle);
        taken back = take_document(it->bundle, KEEPER, (glassine_sheets_options){0});
        expect_slips(&back, count);
        for (size_t i = 0; i < count; i++) {
            glassine_slip slip = glassine_bundle_slip(it->bundle, (uint32_t)(first + i));
            const change *one = NULL;
            for (size_t k = 0; k < count; k++)
                one = gl_span_is(slip.record, changes[k].id) ? &changes[k] : one;
            char set[120];
            snprintf(set, sizeof set, one->value[0] ? "{\"%s\":\"%s\"}" : "{}", one->name, one->value);
            if (!gl_span_is(slip.set, set) || slip.reach != one->reach ||
                !slip.clear.text != (one->value[0] != '\0'))
                fail_msg("bundle %llu: %.*s", (unsigned long long)seed, (int)slip.line.length,
                         slip.line.text);
        }
        all += count;
        drop(&back);
        free_bundle(it);
    }
    assert_true(all > BUNDLES);
}

/* ---------------------------------------------------------------------------------------------- by hand */

static glassine_bundle *collection(void) {
    glassine_bundle *bundle = made_bundle();
    made_say(bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}");
    made_say(bundle, OTHER, OTHER, GLASSINE_SHARED, "{\"name\":\"Ansel Teal\"}");
    gl_digest first =
        made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"pair\",\"label\":\"H-014\"}");
    made_follow(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"strip\"}", NULL, &first);
    made_follow(bundle, OTHER, ITEM, GLASSINE_SHARED, "{\"kind\":\"block\"}", NULL, &first);
    made_say(bundle, KEEPER, ITEM, GLASSINE_PRIVATE, "{\"storage\":\"album 3\"}");
    made_say(bundle, KEEPER, STAMP, GLASSINE_SHARED, "{\"item\":\"" ITEM "\"}");
    made_say(bundle, OTHER, CLAIM, GLASSINE_SHARED, "{\"remark\":\"theirs\",\"stamp\":\"" STAMP "\"}");
    return bundle;
}

#define DIGEST "\"0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef\","
#define FOUR_DIGESTS DIGEST DIGEST DIGEST DIGEST
#define SIXTEEN_DIGESTS FOUR_DIGESTS FOUR_DIGESTS FOUR_DIGESTS FOUR_DIGESTS

static void documents_that_cannot_be_taken(void **state) {
    (void)state;
    static const struct {
        const char *from, *to, *place, *reason;
    } cases[] = {
        {"{\"bundle\"", "[\"bundle\"", "document.json", "line 1"},
        {"\"format\":\"glassine\"", "\"format\":\"other\"", "document.json", "no bundle as JSON"},
        {"\"version\":\"1.0\"", "\"version\":\"2.0\"", "document.json", "of a later version"},
        {"\"label\":\"H-014\"}", "\"label\":12.5}", ITEM, "a fraction"},
        {"\"label\":\"H-014\"}", "\"label\":null}", ITEM, "null"},
        {"\"label\":\"H-014\"}", "\"label\":[[1]]}", ITEM, "no canonical JSON"},
        {"\"label\":\"H-014\"}", "\"label\":12}", ITEM, "not a text"},
        {"\"label\":\"H-014\"}", "\"rate\":\"2d\"}", ITEM, "it needs label"},
        {"\"remark\":\"theirs\"", "\"remark\":\"mine\"", CLAIM, "speaks for its author alone"},
        {"\"latest\":{\"shared\":[\"", "\"latest\":{\"shared\":[\"0", CLAIM, "it is no record"},
        /* many digests, and then one that is none: what they grew into is given back once */
        {"\"latest\":{\"shared\":[", "\"latest\":{\"shared\":[" SIXTEEN_DIGESTS "\"0\",", CLAIM,
         "it is no record"},
        {"\"latest\":{\"shared\":[", "\"earliest\":{\"shared\":[", CLAIM, "what it was made from"},
        {"\"fields\":{\"name\":\"Ansel Teal\"},\"id\":\"" OTHER,
         "\"fields\":{\"name\":\"Ansel Teal\"},\"id\":\"contributor/" UUID("0099"), OTHER,
         "that this bundle has not"},
        {"\"item\":\"" ITEM, "\"item\":\"item/" UUID("0999"), STAMP, "is not in this bundle"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        glassine_bundle *bundle = collection();
        write_document(bundle, (glassine_json_options){0});
        replace_in("document.json", cases[i].from, cases[i].to);
        expect_refused(take_document(bundle, KEEPER, (glassine_sheets_options){0}), cases[i].place,
                       cases[i].reason);
        made_free(bundle);
    }
}

static void a_contested_field_is_settled(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    write_document(bundle, (glassine_json_options){0});
    replace_in("document.json", "\"fields\":{\"label\":\"H-014\"}",
               "\"fields\":{\"kind\":\"strip\",\"label\":\"H-014\"}");
    taken it = take_document(bundle, KEEPER, (glassine_sheets_options){0});
    expect_slips(&it, 1);
    bool contested;
    glassine_record *item = glassine_bundle_record(bundle, GL_SPAN(ITEM), GL_NO_SPAN);
    glassine_record_get(bundle, item, "kind", &contested);
    assert_false(contested);
    assert_string_equal(glassine_record_text(bundle, item, "storage").text,
                        "album 3"); /* was not there to be changed */
    drop(&it);
    made_free(bundle);
}

static void new_records(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    static const char document[] =
        "{\"format\":\"glassine\",\"version\":\"1.0\",\"records\":{"
        "\"a stamp\":{\"type\":\"stamp\",\"fields\":{\"item\":\"item/" UUID(
            "0777") "\"}},"
                    "\"an item\":{\"id\":\"item/" UUID("0777") "\",\"type\":\"item\",\"fields\":{\"label\":"
                                                               "\"H-777\",\"storage\":\"box 1\"}}}}";
    write_file("document.json", GL_SPAN(document));
    taken it = take_document(bundle, KEEPER, (glassine_sheets_options){0});
    expect_slips(&it, 3); /* the storage is private, whatever the document leaves unsaid */
    uint64_t slips = glassine_bundle_slips(bundle);
    assert_int_equal(glassine_bundle_slip(bundle, (uint32_t)slips - 2).reach, GLASSINE_PRIVATE);
    drop(&it);
    made_free(bundle);
}

static void slips_with_another_digest(void **state) {
    (void)state;
    glassine_bundle *bundle = collection(), *other = made_bundle();
    write_document(bundle, (glassine_json_options){.history = true});
    replace_in("document.json", "\"set\":{\"name\":\"Ansel Teal\"}", "\"set\":{\"name\":\"Ansel Coot\"}");
    expect_refused(take_document(other, KEEPER, (glassine_sheets_options){0}), OTHER, "has not the digest");
    made_free(bundle);
    made_free(other);
}

static void a_new_bundle_is_whole_or_not_there(void **state) {
    (void)state;
    glassine_bundle *bundle = collection();
    glassine_error error;
    write_document(bundle, (glassine_json_options){.history = true});
    replace_in("document.json", "\"title\":\"Sorrel", "\"title\":\"\\u0001Sorrel");
    assert_int_equal(
        glassine_from_json_new(in_folder("document.json"), in_folder("anew.glassine"), NULL, NULL, &error),
        GLASSINE_REFUSED);
    assert_int_not_equal(access(in_folder("anew.glassine"), F_OK), 0);
    write_document(bundle, (glassine_json_options){0}); /* without its history */
    assert_int_equal(
        glassine_from_json_new(in_folder("document.json"), in_folder("anew.glassine"), NULL, NULL, &error),
        GLASSINE_REFUSED);
    assert_int_not_equal(access(in_folder("anew.glassine"), F_OK), 0);
    made_free(bundle);
}

/* RFC 8785 section 3.2.3: members by their UTF-16 code units; its own example, those values that have a place
 * here. */
static void canonical_form(void **state) {
    (void)state;
    static const char source[] =
        "{\"\\u20ac\":\"Euro Sign\",\"\\r\":\"Carriage Return\",\"\\ufb33\":\"Hebrew Letter Dalet With "
        "Dagesh\",\"1\":\"One\",\"\\ud83d\\ude00\":\"Emoji: Grinning Face\",\"\\u0080\":\"Control\","
        "\"\\u00f6\":\"Latin Small Letter O With Diaeresis\"}";
    static const char wanted[] =
        "{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\xc2\x80\":\"Control\",\"\xc3\xb6\":\"Latin Small "
        "Letter O With Diaeresis\",\"\xe2\x82\xac\":\"Euro Sign\",\"\xf0\x9f\x98\x80\":\"Emoji: Grinning "
        "Face\",\"\xef\xac\xb3\":\"Hebrew Letter Dalet With Dagesh\"}";
    json_t *value = json_loads(source, 0, NULL);
    conv_output out = {0};
    assert_non_null(value);
    assert_null(json_canonical(value, &out));
    assert_string_equal(out.text, wanted);
    conv_free(&out);
    json_decref(value);
}

/* -------------------------------------------------------------------------------------------------- lines */

static void lines_are_the_records(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= 60; seed++) {
        random_bundle *it = draw_bundle(seed + 70000);
        glassine_json_options options = {.with_private = seed % 2};
        old_folder(NULL);
        mkdir(folder, 0700);
        write_document(it->bundle, options);
        assert_int_equal(glassine_to_json_lines(it->bundle, folder, &options, NULL, NULL), 0);
        json_t *root = json_load_file(in_folder("document.json"), 0, NULL),
               *about = json_load_file(in_folder("about.json"), 0, NULL);
        json_t *records = json_object_get(root, "records"), *rows;
        const char *file;
        size_t lines = 0;
        json_object_foreach(json_object_get(about, "files"), file, rows) {
            gl_buf text = file_text(in_folder(file));
            char *rest = text.text;
            for (char *line = strtok_r(rest, "\n", &rest); line;
                 line = strtok_r(NULL, "\n", &rest), lines++) {
                json_t *record = json_loads(line, 0, NULL), *key = json_object_get(record, "key");
                json_t *same = json_object_get(records, json_string_value(key));
                assert_non_null(same);
                json_incref(key);
                json_object_del(record, "key");
                assert_true(!json_object_get(record, "private") || options.with_private);
                json_object_del(record, "private");
                assert_true(json_equal(record, same));
                json_decref(key);
                json_decref(record);
            }
            gl_buf_free(&text);
        }
        assert_int_equal(lines, json_object_size(records));
        json_decref(root);
        json_decref(about);
        free_bundle(it);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        IN_FOLDER(nothing_changed_makes_no_slip),
        IN_FOLDER(the_history_makes_the_bundle_anew),
        IN_FOLDER(changes_make_exactly_their_slips),
        IN_FOLDER(documents_that_cannot_be_taken),
        IN_FOLDER(a_contested_field_is_settled),
        IN_FOLDER(new_records),
        IN_FOLDER(slips_with_another_digest),
        IN_FOLDER(a_new_bundle_is_whole_or_not_there),
        cmocka_unit_test(canonical_form),
        IN_FOLDER(lines_are_the_records),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
