/* The examples of spec/slips.md, spec/log.md and spec/readings.md are what they say: below each line of a log
 * the pages give its length ("bytes"), the digest of its text ("sha256") and its value in the chain ("c1",
 * "c2" …). */
#include "slips/made.h"

#include "base/file.h"
#include "slips/log.h"

typedef struct page {
    gl_buf text;
    gl_span rest;
} page;

static page page_open(const char *name) {
    char path[1024];
    page p = {.text = GL_BUF_EMPTY};
    snprintf(path, sizeof path, SOURCE_ROOT "/spec/%s", name);
    assert_int_equal(gl_file_read_all(path, 1 << 20, &p.text), 0);
    p.rest = gl_buf_span(&p.text);
    return p;
}

static bool page_next(page *p, gl_span *line) {
    if (p->rest.length == 0)
        return false;
    const char *end = memchr(p->rest.text, '\n', p->rest.length);
    size_t length = end ? (size_t)(end - p->rest.text) : p->rest.length;
    *line = gl_span_part(p->rest, 0, length);
    p->rest = gl_span_part(p->rest, length + 1, SIZE_MAX);
    return true;
}

/* What stands behind `name` in an indented line; absent where it is another one. */
static gl_span said(gl_span line, const char *name) {
    gl_span text = gl_span_part(line, 4, SIZE_MAX);
    if (!gl_span_starts(line, GL_SPAN("    ")) || !gl_span_starts(text, gl_span_of(name)))
        return GL_NO_SPAN;
    return gl_span_part(text, 7, SIZE_MAX);
}

/* The text that the chain covers: an edition line without its `log`. */
static gl_span covered_text(gl_arena *arena, gl_span line) {
    gl_edition_view view;
    gl_edition_look(line, &view);
    if (!view.log.text)
        return line;
    gl_buf text = GL_BUF_EMPTY;
    gl_buf_add_bytes(&text, line.text, (size_t)(view.log.text - line.text) - 8);
    gl_buf_add(&text, gl_span_part(line, (size_t)(view.log.text - line.text) + 65, SIZE_MAX));
    gl_span copy = gl_arena_copy(arena, gl_buf_span(&text));
    gl_buf_free(&text);
    return copy;
}

static void compare_digest(gl_span hex, gl_digest digest) {
    char wanted[GL_HEX_SIZE];
    gl_digest_hex(&digest, wanted);
    assert_true(gl_span_is(hex, wanted));
}

typedef struct found {
    size_t lengths, digests, values; /* figures that were compared */
    gl_buf log;                      /* the lines, each with its line feed */
    gl_digest chain;
} found;

static void compare_figure(gl_arena *arena, gl_span line, gl_span figure, found *f) {
    gl_span bytes = said(figure, "bytes"), sha256 = said(figure, "sha256"), value = said(figure, "c");
    gl_digest digest = made_digest(covered_text(arena, line));
    if (bytes.text) {
        assert_int_equal(strtoul(bytes.text, NULL, 10), line.length);
        f->lengths++;
    } else if (sha256.text) {
        compare_digest(sha256, digest);
        f->digests++;
    } else if (value.text) {
        uint8_t both[64];
        memcpy(both, f->chain.bytes, 32);
        memcpy(both + 32, digest.bytes, 32);
        f->chain = made_digest((gl_span){(const char *)both, sizeof both});
        compare_digest(value, f->chain);
        f->values++;
    }
}

static found check_page(const char *name) {
    page p = page_open(name);
    gl_arena *arena = gl_arena_new();
    found f = {.log = GL_BUF_EMPTY};
    gl_span line, example = GL_NO_SPAN;
    while (page_next(&p, &line)) {
        if (gl_span_starts(line, GL_SPAN("{\"")) && !gl_json_member(line, "bundle").text) {
            gl_line_kind kind;
            assert_int_equal(gl_line_check(line, NULL, name, &kind, NULL), GLASSINE_OK);
            example = line;
            gl_buf_add(&f.log, line);
            gl_buf_add_char(&f.log, '\n');
        } else if (!gl_span_starts(line, GL_SPAN("    "))) {
            example = GL_NO_SPAN;
        } else if (example.text) {
            compare_figure(arena, example, line, &f);
        }
    }
    gl_arena_free(arena);
    gl_buf_free(&p.text);
    return f;
}

static void slips_are_as_the_page_says(void **state) {
    (void)state;
    found f = check_page("slips.md");
    assert_int_equal(f.lengths, 3);
    assert_int_equal(f.digests, 3);
    gl_buf_free(&f.log);
}

static void the_log_is_as_the_page_says(void **state) {
    (void)state;
    found f = check_page("log.md");
    assert_int_equal(f.lengths, 6);
    assert_int_equal(f.digests, 6);
    assert_int_equal(f.values, 6);
    gl_store *store = gl_store_new();
    gl_log *log = gl_log_new(store);
    assert_int_equal(gl_log_read(log, gl_buf_span(&f.log), 1, 2, 0, NULL, "log.md", NULL), GLASSINE_OK);
    assert_true(gl_digest_equal(&gl_log_edition(log, 2)->log, &f.chain));
    gl_log_free(log);
    gl_store_free(store);
    gl_buf_free(&f.log);
}

/* data/about.json as shown, with its line feed, is the file that the example's first edition brings. */
static void about_is_what_the_first_edition_brings(void **state) {
    (void)state;
    page p = page_open("log.md");
    gl_span line, about = GL_NO_SPAN;
    char brought[128] = "";
    while (page_next(&p, &line)) {
        if (gl_json_member(line, "bundle").text)
            about = (gl_span){line.text, line.length + 1};
        else if (about.text && !brought[0] && said(line, "sha256").text)
            snprintf(brought, sizeof brought, "[\"%.64s  data/about.json\"]", said(line, "sha256").text);
        else if (gl_json_count(gl_json_member(line, "brings")) > 0)
            assert_true(gl_span_is(gl_json_member(line, "brings"), brought));
    }
    assert_non_null(about.text);
    compare_digest((gl_span){brought + 2, 64}, made_digest(about));
    gl_buf_free(&p.text);
}

static bool page_has(const char *name, const gl_digest *digest) {
    page p = page_open(name);
    char hex[GL_HEX_SIZE];
    gl_digest_hex(digest, hex);
    bool has = strstr(p.text.text, hex) != NULL;
    gl_buf_free(&p.text);
    return has;
}

static void content_digests_are_as_the_page_says(void **state) {
    (void)state;
    found f = check_page("readings.md");
    assert_int_equal(f.digests, 5);
    gl_store *store = gl_store_new();
    gl_digest digest;
    gl_span line;
    page lines = {.rest = gl_buf_span(&f.log)};
    for (uint32_t count = 0;; count++) {
        assert_int_equal(gl_store_digest(store, &digest, NULL), GLASSINE_OK);
        assert_int_equal(page_has("readings.md", &digest), count == 0 || count == 1 || count == 5);
        if (!page_next(&lines, &line))
            break;
        made_add(store, line);
    }
    gl_store_free(store);
    gl_buf_free(&f.log);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slips_are_as_the_page_says),
        cmocka_unit_test(the_log_is_as_the_page_says),
        cmocka_unit_test(about_is_what_the_first_edition_brings),
        cmocka_unit_test(content_digests_are_as_the_page_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
