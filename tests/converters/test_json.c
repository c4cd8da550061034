/* to-json: what the document says, that it is canonical, and that nothing private leaves. */
#include <errno.h>

#include "converters.h"
#include "made.h"

#define SECRET "behind the third board"

static gl_buf document_text(glassine_bundle *bundle, glassine_json_options options) {
    gl_buf out = GL_BUF_EMPTY;
    glassine_error error = {0};
    if (glassine_to_json(bundle, &options, into_buf, &out, &error))
        fail_msg("%s", error.message);
    return out;
}

static json_t *document_of(glassine_bundle *bundle, glassine_json_options options) {
    gl_buf out = document_text(bundle, options);
    json_error_t error;
    json_t *document = json_loadb(out.text, out.length, JSON_REJECT_DUPLICATES, &error);
    if (!document)
        fail_msg("%s: %s", error.text, out.text);
    gl_buf_free(&out);
    return document;
}

static json_t *record_of(json_t *document, const char *key) {
    json_t *record = json_object_get(json_object_get(document, "records"), key);
    assert_non_null(record);
    return record;
}

/* `wanted` in JSON with ' for ". */
static void assert_member(json_t *object, const char *name, const char *wanted) {
    char text[2048];
    snprintf(text, sizeof text, "%s", wanted);
    for (char *at = text; (at = strchr(at, '\''));)
        *at = '"';
    json_t *expected = json_loads(text, JSON_DECODE_ANY, NULL), *found = json_object_get(object, name);
    assert_non_null(expected);
    if (!found || !json_equal(found, expected)) {
        char *dumped = found ? json_dumps(found, JSON_ENCODE_ANY) : NULL;
        fail_msg("%s: %s, not %s", name, dumped ? dumped : "nothing", text);
    }
    json_decref(expected);
}

static void assert_none(json_t *object, const char *name) {
    assert_null(json_object_get(object, name));
}

static const char *hex(gl_digest digest, char out[GL_HEX_SIZE]) {
    gl_digest_hex(&digest, out);
    return out;
}

static void one_record(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char digest[GL_HEX_SIZE], content[65], wanted[2048];
    hex(made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"single\",\"label\":\"H-\\\"014\\\"\"}"),
        digest);
    glassine_bundle_digest(bundle, content);
    snprintf(
        wanted, sizeof wanted,
        "{\"bundle\":\"" UUID(
            "ffff") "\",\"digest\":\"%s\",\"format\":\"glassine\",\"keeper\":\"" KEEPER "\","
                    "\"records\":{\n\"" ITEM
                    "\":{\"fields\":{\"kind\":\"single\",\"label\":\"H-\\\"014\\\"\"},"
                    "\"id\":\"" ITEM
                    "\",\"label\":\"H-\\\"014\\\"\",\"latest\":{\"shared\":[\"%s\"]},\"type\":\"item\"}\n},"
                    "\"title\":\"Sorrel \\\"Kingfisher\\\"\",\"version\":\"1.0\"}\n",
        content, digest);
    gl_buf out = document_text(bundle, (glassine_json_options){0});
    assert_string_equal(out.text, wanted);
    gl_buf_free(&out);
    made_free(bundle);
}

static void empty_bundle(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    json_t *document = document_of(bundle, (glassine_json_options){0});
    assert_member(document, "records", "{}");
    assert_none(document, "private");
    assert_none(document, "cautions");
    json_decref(document);
    made_free(bundle);
}

static void contested_fields(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char one[GL_HEX_SIZE], two[GL_HEX_SIZE], wanted[2048];
    gl_digest first = made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"pair\",\"rate\":\"2d\"}");
    hex(made_follow(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"strip\"}", NULL, &first), one);
    hex(made_follow(bundle, OTHER, ITEM, GLASSINE_SHARED, "{}", "[\"kind\"]", &first), two);
    json_t *document = document_of(bundle, (glassine_json_options){0}), *record = record_of(document, ITEM);
    assert_member(record, "fields", "{'rate':'2d'}");
    json_t *values = json_object_get(json_object_get(record, "contested"), "kind");
    assert_int_equal(json_array_size(values), 2);
    for (size_t i = 0; i < 2; i++) {
        json_t *saying = json_array_get(values, i);
        bool cleared = json_object_get(saying, "cleared");
        snprintf(wanted, sizeof wanted, "'%s'", cleared ? two : one);
        assert_member(saying, "slip", wanted);
        assert_member(saying, "by", cleared ? "'" OTHER "'" : "'" KEEPER "'");
        assert_member(saying, "at", "'2026-05-01T10:00:00Z'");
        if (!cleared)
            assert_member(saying, "value", "'strip'");
    }
    const char *low = strcmp(one, two) < 0 ? one : two, *high = low == one ? two : one;
    snprintf(wanted, sizeof wanted, "{'shared':['%s','%s']}", low, high);
    assert_member(record, "latest", wanted);
    json_decref(document);
    made_free(bundle);
}

/* The same name in all three reaches: the first that says it leads. */
static void reaches(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"A\",\"note\":\"for all\"}");
    gl_digest telling =
        made_say(bundle, KEEPER, ITEM, GLASSINE_TELLING, "{\"note\":\"for most\",\"title\":\"T\"}");
    made_follow(bundle, KEEPER, ITEM, GLASSINE_TELLING, "{\"note\":\"one\"}", NULL, &telling);
    made_follow(bundle, OTHER, ITEM, GLASSINE_TELLING, "{\"note\":\"two\"}", NULL, &telling);
    made_say(bundle, KEEPER, ITEM, GLASSINE_PRIVATE, "{\"note\":\"for me\",\"storage\":\"" SECRET "\"}");
    json_t *document = document_of(bundle, (glassine_json_options){0}), *record = record_of(document, ITEM);
    assert_member(record, "fields", "{'label':'A','note':'for all','title':'T'}");
    assert_member(record, "reach", "{'title':'telling'}");
    json_t *also = json_object_get(record, "also");
    assert_int_equal(json_object_size(also), 1);
    json_t *contested = json_object_get(json_object_get(also, "telling"), "contested");
    assert_int_equal(json_array_size(json_object_get(contested, "note")), 2);
    json_decref(document);

    document = document_of(bundle, (glassine_json_options){.with_private = true});
    record = record_of(document, ITEM);
    assert_member(document, "private", "true");
    assert_member(record, "fields", "{'label':'A','note':'for all','storage':'" SECRET "','title':'T'}");
    assert_member(record, "reach", "{'storage':'private','title':'telling'}");
    also = json_object_get(record, "also");
    assert_member(json_object_get(also, "private"), "fields", "{'note':'for me'}");
    json_decref(document);
    made_free(bundle);
}

/* A field that was cleared in the first reach does not hide what a later one says. */
static void cleared_does_not_lead(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    gl_digest first = made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"A\",\"note\":\"x\"}");
    made_follow(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{}", "[\"note\"]", &first);
    made_say(bundle, KEEPER, ITEM, GLASSINE_TELLING, "{\"note\":\"y\"}");
    json_t *document = document_of(bundle, (glassine_json_options){0}), *record = record_of(document, ITEM);
    assert_member(record, "fields", "{'label':'A','note':'y'}");
    assert_member(record, "reach", "{'note':'telling'}");
    assert_none(record, "also");
    assert_none(record, "contested");
    json_decref(document);
    made_free(bundle);
}

static void authors_unknowns_and_states(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    gl_digest missing = {{1, 2, 3}};
    made_say(bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}");
    made_say(bundle, KEEPER, CLAIM, GLASSINE_SHARED, "{\"positions\":\"R1/4\",\"stamp\":\"" STAMP "\"}");
    made_say(bundle, OTHER, CLAIM, GLASSINE_SHARED, "{\"positions\":\"any\",\"stamp\":\"" STAMP "\"}");
    made_say(
        bundle, KEEPER, "teapot/" UUID("0901"), GLASSINE_SHARED,
        "{\"a\":[1,\"two\",true],\"b\":{\"c\":-9007199254740991},\"d\":\"\xe9\xb3\xa5\xe2\x80\xa8\\\\\"}");
    made_follow(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"A\"}", NULL, &missing);
    made_say(bundle, KEEPER, STAMP, GLASSINE_SHARED, "{\"item\":\"" ITEM "\",\"set_aside\":true}");
    json_t *document = document_of(bundle, (glassine_json_options){0});
    json_t *claim = record_of(document, CLAIM "/" UUID("0001"));
    assert_member(claim, "author", "'" KEEPER "'");
    assert_member(claim, "fields", "{'positions':'R1/4','stamp':'" STAMP "'}");
    assert_member(record_of(document, CLAIM "/" UUID("0002")), "author", "'" OTHER "'");
    json_t *teapot = record_of(document, "teapot/" UUID("0901"));
    assert_member(teapot, "fields",
                  "{'a':[1,'two',true],'b':{'c':-9007199254740991},'d':'\xe9\xb3\xa5\xe2\x80\xa8\\\\'}");
    assert_member(record_of(document, ITEM), "incomplete", "true");
    assert_none(record_of(document, ITEM), "set_aside");
    assert_member(record_of(document, STAMP), "set_aside", "true");
    assert_none(record_of(document, STAMP), "incomplete");
    assert_int_equal(json_array_size(json_object_get(document, "cautions")), 1); /* that of claims */
    json_decref(document);
    made_free(bundle);
}

/* Names in order of UTF-16 code units, all the way down (here all are ASCII). */
static void assert_sorted(json_t *value) {
    const char *name, *before = NULL;
    json_t *item;
    size_t i;
    json_object_foreach(value, name, item) {
        if (before)
            assert_true(strcmp(before, name) < 0);
        before = name;
        assert_sorted(item);
    }
    json_array_foreach(value, i, item) {
        assert_sorted(item);
    }
}

static void fill(glassine_bundle *bundle, bool backwards) {
    gl_buf lines[12] = {{0}};
    size_t count = 0;
    static const char *const ids[] = {ITEM,  STAMP, CLAIM, "item/" UUID("0102"), "teapot/" UUID("0901"),
                                      KEEPER};
    for (size_t i = 0; i < 12; i++) {
        char set[128];
        snprintf(set, sizeof set, "{\"label\":\"%zu\",\"note\":\"%zu\"}", i % 2, i);
        gl_slip_parts parts = {.at = GL_SPAN("2026-05-01T10:00:00Z"),
                               .by = gl_span_of(i % 3 ? KEEPER : OTHER),
                               .record = gl_span_of(ids[i % 6]),
                               .reach = (glassine_reach)(i % 4 % 3),
                               .set = gl_span_of(set)};
        gl_slip_write(&parts, &lines[count++]);
    }
    for (size_t i = 0; i < count; i++) {
        gl_buf *line = &lines[backwards ? count - 1 - i : (i * 7) % count];
        made_line(bundle, gl_buf_span(line));
    }
    for (size_t i = 0; i < count; i++)
        gl_buf_free(&lines[i]);
}

static void order_of_arrival_does_not_matter(void **state) {
    (void)state;
    glassine_bundle *a = made_bundle(), *b = made_bundle();
    fill(a, false);
    fill(b, true);
    for (int options = 0; options < 4; options++) {
        glassine_json_options chosen = {.with_private = options & 1, .history = options & 2};
        gl_buf x = document_text(a, chosen), y = document_text(b, chosen);
        assert_string_equal(x.text, y.text);
        gl_buf_free(&x);
        gl_buf_free(&y);
        json_t *document = document_of(a, chosen);
        assert_sorted(document);
        json_decref(document);
    }
    made_free(a);
    made_free(b);
}

/* Slips as they stand, under the digest that each has. */
static void history(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    gl_digest first = made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"label\":\"A\"}");
    gl_digest second = made_follow(bundle, OTHER, ITEM, GLASSINE_SHARED, "{\"label\":\"B\"}", NULL, &first);
    made_say(bundle, KEEPER, ITEM, GLASSINE_PRIVATE, "{\"storage\":\"" SECRET "\"}");
    json_t *document = document_of(bundle, (glassine_json_options){.history = true});
    json_t *slips = json_object_get(record_of(document, ITEM), "slips");
    assert_int_equal(json_array_size(slips), 2);
    gl_digest digests[] = {first, second};
    gl_hash *hash = gl_hash_new();
    for (size_t i = 0; i < 2; i++) {
        char wanted[GL_HEX_SIZE];
        hex(digests[i], wanted);
        json_t *entry = json_array_get(slips, i);
        assert_string_equal(json_string_value(json_object_get(entry, "digest")), wanted);
        char *line = json_dumps(json_object_get(entry, "slip"), JSON_COMPACT | JSON_SORT_KEYS);
        gl_digest again = gl_hash_once(hash, line, strlen(line));
        assert_true(gl_digest_equal(&again, &digests[i]));
        free(line);
    }
    gl_hash_free(hash);
    json_decref(document);
    made_free(bundle);
}

/* Secrets in every place that a slip has, and in records that are private altogether. */
static void private_stays(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    made_say(bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}");
    made_say(bundle, KEEPER, KEEPER, GLASSINE_PRIVATE, "{\"contact\":\"" SECRET "\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_PRIVATE, "{\"label\":\"" SECRET "\",\"storage\":\"" SECRET "\"}");
    made_say(bundle, KEEPER, ITEM, GLASSINE_SHARED, "{\"kind\":\"single\"}");
    made_say(bundle, KEEPER, STAMP, GLASSINE_SHARED, "{\"item\":\"" ITEM "\"}");
    made_say(bundle, KEEPER, "valuation/" UUID("0a01"), GLASSINE_PRIVATE,
             "{\"item\":\"" ITEM "\",\"note\":\"" SECRET "\"}");
    made_say(bundle, KEEPER, "scan/" UUID("0b01"), GLASSINE_SHARED,
             "{\"item\":\"" ITEM "\",\"side\":\"back\"}");
    gl_buf out = document_text(bundle, (glassine_json_options){.history = true});
    assert_null(strstr(out.text, SECRET));
    assert_null(strstr(out.text, "valuation"));
    gl_buf_free(&out);
    json_t *document = document_of(bundle, (glassine_json_options){0});
    assert_none(record_of(document, ITEM), "label");
    assert_none(record_of(document, STAMP), "label"); /* it would be the item's */
    assert_none(json_object_get(record_of(document, KEEPER), "latest"), "private");
    json_decref(document);

    document = document_of(bundle, (glassine_json_options){.with_private = true, .history = true});
    assert_member(record_of(document, STAMP), "label", "'" SECRET "'");
    record_of(document, "valuation/" UUID("0a01"));
    json_decref(document);
    made_free(bundle);
}

typedef struct limited {
    size_t calls, left;
} limited;

static int write_limited(void *context, const char *bytes, size_t length) {
    limited *sink = context;
    (void)bytes;
    sink->calls++;
    if (length > sink->left)
        return ENOSPC;
    sink->left -= length;
    return 0;
}

static void streams_and_stops(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    for (unsigned i = 0; i < 3000; i++) {
        char id[64];
        snprintf(id, sizeof id, "item/00000000-0000-4000-8000-%012x", 0x1000 + i);
        made_say(bundle, KEEPER, id, GLASSINE_SHARED, "{\"kind\":\"single\",\"label\":\"H-014\"}");
    }
    limited sink = {.left = SIZE_MAX};
    assert_int_equal(glassine_to_json(bundle, NULL, write_limited, &sink, NULL), GLASSINE_OK);
    assert_true(sink.calls > 5);
    sink = (limited){.left = 200000};
    glassine_error error = {0};
    assert_int_equal(glassine_to_json(bundle, NULL, write_limited, &sink, &error), GLASSINE_SYSTEM);
    assert_non_null(strstr(error.message, "No space left"));
    json_t *document = document_of(bundle, (glassine_json_options){0}); /* pieces join without a seam */
    assert_int_equal(json_object_size(json_object_get(document, "records")), 3000);
    json_decref(document);
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_record),
        cmocka_unit_test(empty_bundle),
        cmocka_unit_test(contested_fields),
        cmocka_unit_test(reaches),
        cmocka_unit_test(cleared_does_not_lead),
        cmocka_unit_test(authors_unknowns_and_states),
        cmocka_unit_test(order_of_arrival_does_not_matter),
        cmocka_unit_test(history),
        cmocka_unit_test(private_stays),
        cmocka_unit_test(streams_and_stops),
    };
    return cmocka_run_group_tests_name("converters/json", tests, NULL, NULL);
}
