/* The bag (RFC 8493): manifests, the files that every edition writes, and a reading of them. */
#include "support.h"

#include "container/bag.h"

#define HEX_A "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
#define HEX_B "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb"

static void lines(void **state) {
    (void)state;
    static const struct {
        const char *text;
        bool right;
    } cases[] = {
        {"", true},
        {HEX_A "  data/about.json\n", true},
        {HEX_A "  a\n" HEX_A "  b c\n" HEX_B "  b/\xc3\xa9\n", true},
        {HEX_A "  a", false},
        {HEX_A " a\n", false},
        {HEX_A " *a\n", false},
        {HEX_A "   a\n", false},
        {HEX_A "\ta\n", false},
        {HEX_A "  \n", false},
        {HEX_A "  ./a\n", false},
        {HEX_A "  /a\n", false},
        {HEX_A "  a\r\n", false},
        {HEX_A "  a\n\n", false},
        {"\n", false},
        {HEX_A "  b\n" HEX_A "  a\n", false},
        {HEX_A "  a\n" HEX_A "  a\n", false},
        {"AAAAaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa  a\n", false},
        {"aaaa  a\n", false},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        glassine_error error;
        gl_manifest *manifest = gl_manifest_new();
        glassine_status status = gl_manifest_parse(manifest, gl_span_of(cases[i].text), "place", &error);
        if (cases[i].right) {
            must(status, &error);
            gl_buf out = GL_BUF_EMPTY;
            gl_manifest_print(manifest, &out);
            assert_true(gl_span_is(gl_buf_span(&out), cases[i].text)); /* the form is the only one */
            gl_buf_free(&out);
        } else if (status == GLASSINE_OK) {
            fail_msg("taken: %s", cases[i].text);
        } else {
            refused_by(status, &error, "B021");
            assert_non_null(strstr(error.place, "place"));
        }
        gl_manifest_free(manifest);
    }
}

static void set_and_remove(void **state) {
    (void)state;
    gl_manifest *manifest = gl_manifest_new();
    gl_digest a, b, found;
    assert_true(gl_digest_parse(GL_SPAN(HEX_A), &a));
    assert_true(gl_digest_parse(GL_SPAN(HEX_B), &b));
    assert_true(gl_manifest_set(manifest, GL_SPAN("two"), &a));
    assert_true(gl_manifest_set(manifest, GL_SPAN("one"), &a));
    assert_true(gl_manifest_set(manifest, GL_SPAN("two"), &b));
    assert_int_equal(gl_manifest_count(manifest), 2);
    assert_true(gl_manifest_find(manifest, GL_SPAN("two"), &found));
    assert_true(gl_digest_equal(&found, &b));
    gl_manifest_remove(manifest, GL_SPAN("one"));
    gl_manifest_remove(manifest, GL_SPAN("one"));
    gl_manifest_remove(manifest, GL_SPAN("three"));
    assert_int_equal(gl_manifest_count(manifest), 1);
    assert_false(gl_manifest_find(manifest, GL_SPAN("one"), &found));
    size_t at = 0;
    gl_span name;
    assert_true(gl_manifest_next(manifest, &at, &name, &found));
    assert_true(gl_span_is(name, "two"));
    assert_false(gl_manifest_next(manifest, &at, &name, &found));
    assert_true(gl_manifest_set(manifest, GL_SPAN("one"), &a));
    gl_buf out = GL_BUF_EMPTY;
    gl_manifest_print(manifest, &out);
    assert_string_equal(out.text, HEX_A "  one\n" HEX_B "  two\n");
    gl_buf_free(&out);
    gl_manifest_free(manifest);
}

/* What a save above this layer does: its files, their digests, then the bag. */
typedef struct bag_state {
    gl_manifest *payload, *tags;
    gl_bag_facts facts;
} bag_state;

static bag_state new_bag(void) {
    return (bag_state){gl_manifest_new(),
                       gl_manifest_new(),
                       {.uuid = GL_SPAN("123e4567-e89b-42d3-a456-426614174000"),
                        .title = GL_SPAN("Sorrel Islands\n1861\x1b Twopence"),
                        .tool = GL_SPAN("glassine 0.1.0"),
                        .at = AT}};
}

static void free_bag(bag_state *bag) {
    gl_manifest_free(bag->payload);
    gl_manifest_free(bag->tags);
}

static void put(bag_state *bag, gl_writer *writer, const char *inner, gl_span content) {
    gl_digest digest;
    glassine_error error;
    bool payload = strncmp(inner, "data/", 5) == 0;
    must(gl_writer_add(writer, gl_span_of(inner), content, false, &digest, &error), &error);
    assert_true(gl_manifest_set(payload ? bag->payload : bag->tags, gl_span_of(inner), &digest));
    bag->facts.payload_files += payload;
    bag->facts.payload_bytes += payload ? content.length : 0;
}

static void put_picture(bag_state *bag, gl_writer *writer, gl_span content) {
    char inner[128];
    gl_digest digest;
    glassine_error error;
    must(add_scan(writer, content, "png", inner, &error), &error);
    assert_true(gl_digest_parse((gl_span){inner + 11, 64}, &digest));
    assert_true(gl_manifest_set(bag->payload, gl_span_of(inner), &digest));
    bag->facts.payload_files++;
    bag->facts.payload_bytes += content.length;
}

static void close_bag(bag_state *bag, open_edition *edition) {
    glassine_error error;
    must(gl_bag_write(edition->writer, edition->zip, &bag->facts, bag->payload, bag->tags, &error), &error);
    finish_edition(edition);
}

static void text_is(const gl_zip *zip, const char *inner, const char *right) {
    gl_buf text = GL_BUF_EMPTY;
    glassine_error error;
    must(gl_zip_read(zip, gl_zip_find(zip, gl_span_of(inner)), SIZE_MAX, &text, &error), &error);
    assert_string_equal(text.text, right);
    gl_buf_free(&text);
}

/* Reads the bag, then every file against its manifest. */
static void sound_bag(const gl_zip *zip, size_t payload_lines, size_t tag_lines) {
    glassine_error error;
    gl_manifest *payload = gl_manifest_new(), *tags = gl_manifest_new();
    must(gl_bag_read(zip, NULL, payload, tags, &error), &error);
    assert_int_equal(gl_manifest_count(payload), payload_lines);
    assert_int_equal(gl_manifest_count(tags), tag_lines);
    for (size_t i = 0; i < gl_zip_count(zip); i++)
        must(gl_bag_check(zip, gl_zip_at(zip, i), payload, tags, &error), &error);
    gl_manifest_free(payload);
    gl_manifest_free(tags);
}

static void editions_of_a_bag(void **state) {
    (void)state;
    const char *path = path_in("bag");
    bag_state bag = new_bag();
    open_edition edition = begin_edition(path, 1);
    put(&bag, edition.writer, "data/about.json", GL_SPAN("{}"));
    put(&bag, edition.writer, "slips/00000001-00000001.jsonl", GL_SPAN("{}\n"));
    close_bag(&bag, &edition);
    gl_zip *zip = open_zip(path);
    sound_bag(zip, 1, 5);
    /* RFC 8493, 2.1.1 and 2.2.2 */
    text_is(zip, "bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n");
    text_is(zip, "bag-info.txt",
            "Bag-Software-Agent: glassine 0.1.0\n"
            "Bagging-Date: 2025-11-25\n"
            "External-Description: Sorrel Islands 1861  Twopence\n"
            "External-Identifier: urn:uuid:123e4567-e89b-42d3-a456-426614174000\n"
            "Payload-Oxum: 2.1\n");
    /* SHA-256 of "{}", by the sha256sum program */
    text_is(zip, "manifest-sha256.txt",
            "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a  data/about.json\n");
    uint64_t info_at = gl_zip_find(zip, GL_SPAN("bag-info.txt"))->header_at;
    uint64_t manifest_at = gl_zip_find(zip, GL_SPAN("manifest-sha256.txt"))->header_at;
    close_zip(zip);

    /* A save of statements touches neither the payload's manifest nor, on the same day, the bag's
     * description. */
    edition = begin_edition(path, 2);
    put(&bag, edition.writer, "slips/00000002-00000002.jsonl", GL_SPAN("{\"a\":1}\n"));
    close_bag(&bag, &edition);
    zip = open_zip(path);
    sound_bag(zip, 1, 6);
    assert_int_equal(gl_zip_find(zip, GL_SPAN("bag-info.txt"))->header_at, info_at);
    assert_int_equal(gl_zip_find(zip, GL_SPAN("manifest-sha256.txt"))->header_at, manifest_at);
    assert_true(gl_zip_is_fresh(zip, gl_zip_find(zip, GL_SPAN("tagmanifest-sha256.txt"))));
    close_zip(zip);

    edition = begin_edition(path, 3);
    put_picture(&bag, edition.writer, GL_SPAN("a picture"));
    put(&bag, edition.writer, "slips/00000003-00000003.jsonl", GL_SPAN("{\"b\":1}\n"));
    close_bag(&bag, &edition);
    zip = open_zip(path);
    sound_bag(zip, 2, 7);
    assert_true(gl_zip_is_fresh(zip, gl_zip_find(zip, GL_SPAN("bag-info.txt"))));
    assert_true(gl_zip_is_fresh(zip, gl_zip_find(zip, GL_SPAN("manifest-sha256.txt"))));
    assert_false(gl_zip_is_fresh(zip, gl_zip_find(zip, GL_SPAN("read-me.txt"))));
    close_zip(zip);
    free_bag(&bag);
}

static void digest_of_a_file(void **state) {
    (void)state;
    const char *path = path_in("digests");
    bag_state bag = new_bag();
    open_edition edition = begin_edition(path, 1);
    put(&bag, edition.writer, "data/about.json", GL_SPAN("{}"));
    put(&bag, edition.writer, "slips/1", GL_SPAN("text"));
    close_bag(&bag, &edition);
    gl_zip *zip = open_zip(path);
    glassine_error error;
    gl_digest wrong;
    gl_buf out = GL_BUF_EMPTY;
    assert_true(gl_digest_parse(GL_SPAN(HEX_A), &wrong));
    const gl_entry *slips = gl_zip_find(zip, GL_SPAN("slips/1")),
                   *about = gl_zip_find(zip, GL_SPAN("data/about.json"));
    gl_buf_add_text(&out, "before ");
    must(gl_bag_read_file(zip, slips, bag.payload, bag.tags, 100, &out, &error), &error);
    assert_string_equal(out.text, "before text");
    assert_true(gl_manifest_set(bag.tags, GL_SPAN("slips/1"), &wrong));
    assert_true(gl_manifest_set(bag.payload, GL_SPAN("data/about.json"), &wrong));
    refused_by(gl_bag_read_file(zip, slips, bag.payload, bag.tags, 100, &out, &error), &error, "B034");
    refused_by(gl_bag_check(zip, slips, bag.payload, bag.tags, &error), &error, "B034");
    refused_by(gl_bag_check(zip, about, bag.payload, bag.tags, &error), &error, "B024");
    gl_buf_free(&out);
    close_zip(zip);
    free_bag(&bag);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines),
        cmocka_unit_test(set_and_remove),
        cmocka_unit_test(editions_of_a_bag),
        cmocka_unit_test(digest_of_a_file),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
