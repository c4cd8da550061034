#include "slips/made.h"

#include <dirent.h>
#include <jansson.h>

#include "base/buf.h"
#include "slips/log.h"

typedef struct opened {
    gl_store *store;
    gl_log *log;
    glassine_error error;
} opened;

static opened open_new(void) {
    opened o = {.store = gl_store_new()};
    o.log = gl_log_new(o.store);
    assert_non_null(o.log);
    return o;
}

static void open_free(opened *o) {
    gl_log_free(o->log);
    gl_store_free(o->store);
}

static glassine_status read_segment(opened *o, gl_span text, uint32_t first, uint32_t last, uint32_t until) {
    return gl_log_read(o->log, text, first, last, until, NULL, "slips/x.jsonl", &o->error);
}

/* Reads one segment on a fresh log; the rule it was refused with, "" where it was taken. */
static const char *rule_of(gl_span text, uint32_t first, uint32_t last, const glassine_limits *limits) {
    static char rule[8];
    opened o = open_new();
    glassine_status status = gl_log_read(o.log, text, first, last, 0, limits, "log", &o.error);
    snprintf(rule, sizeof rule, "%s", status ? o.error.rule : "");
    open_free(&o);
    return rule;
}

/* ------------------------------------------------------------------------------- vectors made elsewhere */

/* testvectors/log: chains worked out with Python's hashlib (tests/vectors/make_log_vectors.py). */
static void check_vector(json_t *vector) {
    opened o = open_new();
    size_t i;
    json_t *part;
    json_array_foreach(json_object_get(vector, "segments"), i, part) {
        json_t *text = json_object_get(part, "text");
        gl_span span = {json_string_value(text), json_string_length(text)};
        glassine_status status =
            read_segment(&o, span, (uint32_t)json_integer_value(json_object_get(part, "first")),
                         (uint32_t)json_integer_value(json_object_get(part, "last")), 0);
        if (status)
            fail_msg("%s: %s", json_string_value(json_object_get(vector, "name")), o.error.message);
    }
    json_t *editions = json_object_get(vector, "editions");
    assert_int_equal(gl_log_editions(o.log), json_array_size(editions));
    json_array_foreach(editions, i, part) {
        const gl_edition *edition = gl_log_edition(o.log, (uint32_t)i + 1);
        char hex[GL_HEX_SIZE];
        gl_digest_hex(&edition->log, hex);
        assert_string_equal(hex, json_string_value(json_object_get(part, "log")));
        assert_int_equal(edition->number, json_integer_value(json_object_get(part, "number")));
        assert_int_equal(edition->slips, json_integer_value(json_object_get(part, "slips")));
    }
    open_free(&o);
}

static void chains_are_those_worked_out_elsewhere(void **state) {
    (void)state;
    DIR *folder = opendir(TESTVECTORS "/log");
    assert_non_null(folder);
    size_t count = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        if (!strstr(entry->d_name, ".json"))
            continue;
        char path[1024];
        snprintf(path, sizeof path, TESTVECTORS "/log/%s", entry->d_name);
        json_t *vector = json_load_file(path, 0, NULL);
        assert_non_null(vector);
        check_vector(vector);
        json_decref(vector);
        count++;
    }
    closedir(folder);
    assert_true(count >= 4);
}

/* -------------------------------------------------------------------------------------- a log of our own */

typedef struct written {
    gl_arena *arena;
    gl_buf text;       /* the whole log */
    size_t ends[4];    /* of editions 1 … 3 */
    uint32_t slips[4]; /* running totals */
} written;

static gl_span a_slip(gl_arena *arena, uint32_t number) {
    char set[64];
    snprintf(set, sizeof set, "{\"n\":%u}", number);
    return made_slip(arena, NULL, 0, "2026-03-01T10:00:00Z", ADA, GLASSINE_SHARED, ITEM, set, NULL);
}

static void add_line(gl_buf *lines, gl_span line) {
    gl_buf_add(lines, line);
    gl_buf_add_char(lines, '\n');
}

static const char signature_line[] =
    "{\"key\":\"abababababababababababababababababababababababababababababababab\",\"of\":"
    "\"1111111111111111111111111111111111111111111111111111111111111111\",\"sig\":"
    "\"cdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcd"
    "cdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcdcd\"}";

static gl_edition_parts parts_of(uint32_t number, uint32_t slips) {
    return (gl_edition_parts){.edition = number,
                              .at = GL_SPAN("2026-03-01T12:00:00Z"),
                              .by = GL_SPAN(ADA),
                              .note = GL_SPAN("with \"quotes\"\nand lines"),
                              .tool = GL_SPAN("test"),
                              .slips = slips,
                              .brings = GL_SPAN("[]")};
}

/* Three editions, written one after the other: slips; a signature and a line of another kind; slips again. */
static written write_three(void) {
    written w = {.arena = gl_arena_new(), .text = GL_BUF_EMPTY};
    opened o = open_new();
    uint32_t slips = 0;
    for (uint32_t edition = 1; edition <= 3; edition++) {
        gl_buf lines = GL_BUF_EMPTY;
        for (uint32_t i = 0; i < edition; i++)
            add_line(&lines, a_slip(w.arena, slips++));
        if (edition == 2) {
            add_line(&lines, GL_SPAN(signature_line));
            add_line(&lines, GL_SPAN("{\"later\":\"kind\"}"));
        }
        gl_edition_parts parts = parts_of(edition, slips);
        gl_buf closing = GL_BUF_EMPTY;
        assert_int_equal(
            gl_log_close(edition == 1 ? NULL : o.log, gl_buf_span(&lines), &parts, &closing, NULL),
            GLASSINE_OK);
        gl_buf_add(&lines, gl_buf_span(&closing));
        gl_span kept = gl_arena_copy(w.arena, gl_buf_span(&lines));
        assert_int_equal(read_segment(&o, kept, edition, edition, 0), GLASSINE_OK);
        gl_buf_add(&w.text, kept);
        w.ends[edition] = w.text.length;
        w.slips[edition] = slips;
        gl_buf_free(&lines);
        gl_buf_free(&closing);
    }
    open_free(&o);
    return w;
}

static void written_free(written *w) {
    gl_buf_free(&w->text);
    gl_arena_free(w->arena);
}

static void what_is_written_is_read(void **state) {
    (void)state;
    written w = write_three();
    opened o = open_new();
    assert_int_equal(read_segment(&o, gl_buf_span(&w.text), 1, 3, 0), GLASSINE_OK);
    assert_int_equal(gl_log_editions(o.log), 3);
    assert_null(gl_log_edition(o.log, 0));
    assert_null(gl_log_edition(o.log, 4));
    for (uint32_t n = 1; n <= 3; n++) {
        const gl_edition *edition = gl_log_edition(o.log, n);
        gl_edition_view said = gl_edition_said(edition);
        assert_int_equal(edition->number, n);
        assert_int_equal(edition->end, w.ends[n]);
        assert_int_equal(edition->slips, w.slips[n]);
        assert_true(gl_span_is(said.at, "2026-03-01T12:00:00Z"));
        assert_true(gl_span_is(said.by, ADA));
        assert_true(gl_span_is(said.note, "\"with \\\"quotes\\\"\\nand lines\""));
        assert_true(gl_span_is(said.format, "1.0"));
    }
    assert_int_equal(gl_store_at(o.store, 0)->edition, 1);
    assert_int_equal(gl_store_at(o.store, 5)->edition, 3);
    assert_int_equal(gl_log_unknown(o.log), 1);
    assert_int_equal(gl_log_signatures(o.log), 1);
    assert_true(gl_span_is(gl_log_signature(o.log, 0), signature_line));
    open_free(&o);
    written_free(&w);
}

static void any_cut_into_segments_reads_the_same(void **state) {
    (void)state;
    written w = write_three();
    gl_digest whole = {{0}};
    for (unsigned cuts = 0; cuts < 4; cuts++) {
        opened o = open_new();
        uint32_t first = 1;
        for (uint32_t last = 1; last <= 3; last++) {
            if (last < 3 && !(cuts >> (last - 1) & 1))
                continue;
            gl_span part = {w.text.text + w.ends[first - 1], w.ends[last] - w.ends[first - 1]};
            assert_int_equal(read_segment(&o, part, first, last, 0), GLASSINE_OK);
            first = last + 1;
        }
        assert_int_equal(gl_log_editions(o.log), 3);
        assert_int_equal(gl_log_edition(o.log, 3)->end, w.text.length);
        assert_true(cuts == 0 || gl_digest_equal(&gl_log_edition(o.log, 3)->log, &whole));
        whole = gl_log_edition(o.log, 3)->log;
        open_free(&o);
    }
    written_free(&w);
}

static void reading_stops_behind_an_older_edition(void **state) {
    (void)state;
    written w = write_three();
    for (uint32_t until = 1; until <= 3; until++) {
        opened o = open_new();
        assert_int_equal(read_segment(&o, gl_buf_span(&w.text), 1, 3, until), GLASSINE_OK);
        assert_int_equal(gl_log_editions(o.log), until);
        assert_int_equal(gl_store_count(o.store), w.slips[until]);
        open_free(&o);
    }
    written_free(&w);
}

/* Every byte of three editions, turned into several others: there is none that may change unseen. */
static void no_byte_can_be_altered_unseen(void **state) {
    (void)state;
    written w = write_three();
    char *copy = malloc(w.text.length);
    for (size_t at = 0; at < w.text.length; at++) {
        static const char others[] = "0a\"{},\n";
        for (size_t i = 0; i <= sizeof others - 1; i++) {
            memcpy(copy, w.text.text, w.text.length);
            copy[at] = i < sizeof others - 1 ? others[i] : (char)(copy[at] ^ 1);
            if (copy[at] == w.text.text[at])
                continue;
            if (rule_of((gl_span){copy, w.text.length}, 1, 3, NULL)[0] == '\0')
                fail_msg("byte %zu of %zu can be changed into '%c'", at, w.text.length, copy[at]);
        }
    }
    free(copy);
    written_free(&w);
}

static void no_length_but_the_whole_is_taken(void **state) {
    (void)state;
    written w = write_three();
    for (size_t length = 0; length < w.text.length; length++)
        assert_string_not_equal(rule_of((gl_span){w.text.text, length}, 1, 3, NULL), "");
    written_free(&w);
}

/* ------------------------------------------------------------------------------------------- its refusals */

static void segments_hold_what_their_names_say(void **state) {
    (void)state;
    written w = write_three();
    gl_span text = gl_buf_span(&w.text);
    gl_span two = gl_span_part(text, 0, w.ends[2]), third = gl_span_part(text, w.ends[2], w.text.length);
    assert_string_equal(rule_of(text, 2, 4, NULL), "E020");
    assert_string_equal(rule_of(text, 1, 2, NULL), "E020");
    assert_string_equal(rule_of(text, 1, 4, NULL), "E020");
    assert_string_equal(rule_of(two, 1, 3, NULL), "E020");
    assert_string_equal(rule_of(two, 3, 1, NULL), "E020");
    assert_string_equal(rule_of(third, 1, 1, NULL), "E011");
    assert_string_equal(rule_of(GL_SPAN(""), 1, 1, NULL), "E021");
    assert_string_equal(rule_of(GL_SPAN("{}\n"), 1, 1, NULL), "E021");
    assert_string_equal(rule_of(GL_SPAN("{}"), 1, 1, NULL), "S011");
    assert_string_equal(rule_of(GL_SPAN("\n"), 1, 1, NULL), "S010");
    opened o = open_new();
    assert_int_equal(read_segment(&o, two, 1, 2, 0), GLASSINE_OK);
    assert_int_equal(read_segment(&o, third, 4, 4, 0), GLASSINE_REFUSED);
    assert_string_equal(o.error.rule, "E020");
    open_free(&o);
    written_free(&w);
}

/* A log of the given lines, closed by a line whose chain is right. */
static const char *rule_of_closed(const gl_span *lines, size_t count, uint32_t edition, uint32_t slips,
                                  const glassine_limits *limits) {
    gl_buf text = GL_BUF_EMPTY, closing = GL_BUF_EMPTY;
    for (size_t i = 0; i < count; i++)
        add_line(&text, lines[i]);
    gl_edition_parts parts = parts_of(edition, slips);
    assert_int_equal(gl_log_close(NULL, gl_buf_span(&text), &parts, &closing, NULL), GLASSINE_OK);
    gl_buf_add(&text, gl_buf_span(&closing));
    const char *rule = rule_of(gl_buf_span(&text), 1, edition, limits);
    gl_buf_free(&text);
    gl_buf_free(&closing);
    return rule;
}

static void a_right_chain_does_not_hide_other_faults(void **state) {
    (void)state;
    gl_arena *arena = gl_arena_new();
    gl_span lines[] = {a_slip(arena, 1), a_slip(arena, 2), a_slip(arena, 1)};
    assert_string_equal(rule_of_closed(lines, 2, 1, 2, NULL), "");
    assert_string_equal(rule_of_closed(lines, 3, 1, 3, NULL), "S013");
    assert_string_equal(rule_of_closed(lines, 2, 1, 1, NULL), "E012");
    assert_string_equal(rule_of_closed(lines, 2, 1, 3, NULL), "E012");
    glassine_limits limits = {.slips = 1};
    assert_string_equal(rule_of_closed(lines, 2, 1, 2, &limits), "L021");
    limits = (glassine_limits){.log_bytes = 100};
    assert_string_equal(rule_of_closed(lines, 2, 1, 2, &limits), "L005");
    gl_arena_free(arena);
    written w = write_three();
    limits = (glassine_limits){.editions = 2};
    assert_string_equal(rule_of(gl_buf_span(&w.text), 1, 3, &limits), "L024");
    limits = (glassine_limits){.log_bytes = w.text.length, .editions = 3, .slips = 6};
    assert_string_equal(rule_of(gl_buf_span(&w.text), 1, 3, &limits), "");
    written_free(&w);
}

static void errors_name_the_line(void **state) {
    (void)state;
    opened o = open_new();
    assert_int_equal(read_segment(&o, GL_SPAN("{}\n{\"a\":null}\n"), 1, 1, 0), GLASSINE_REFUSED);
    assert_string_equal(o.error.place, "slips/x.jsonl: line 2");
    assert_string_equal(o.error.rule, "S010");
    open_free(&o);
}

static void an_edition_out_of_turn_or_form_is_not_written(void **state) {
    (void)state;
    glassine_error error = {0};
    gl_buf out = GL_BUF_EMPTY;
    gl_edition_parts parts = parts_of(2, 0);
    assert_int_equal(gl_log_close(NULL, GL_SPAN(""), &parts, &out, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "E011");
    parts = parts_of(1, 0);
    parts.brings = GL_SPAN("[\"x\"]");
    assert_int_equal(gl_log_close(NULL, GL_SPAN(""), &parts, &out, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "E016");
    parts = parts_of(1, 0);
    parts.at = GL_SPAN("yesterday");
    assert_int_equal(gl_log_close(NULL, GL_SPAN(""), &parts, &out, &error), GLASSINE_REFUSED);
    assert_int_equal(out.length, 0);
    gl_buf_free(&out);
}

static void draft(opened *o, gl_span line) {
    uint32_t slip;
    bool added;
    assert_int_equal(gl_store_add(o->store, line, 4, NULL, &slip, &added, NULL), GLASSINE_OK);
    assert_true(added);
}

enum { DRAFTED = 10 };

/* As a save does it: drafted slips are in the store, the edition is written, and log and store go on from there. Of
 * those that are there `held` are as they were written, then one is another where `strange`. */
static void go_on(uint32_t held, bool strange) {
    written w = write_three();
    opened o = open_new();
    assert_int_equal(read_segment(&o, gl_buf_span(&w.text), 1, 3, 0), GLASSINE_OK);
    uint32_t before = gl_store_count(o.store);
    gl_buf text = GL_BUF_EMPTY, closing = GL_BUF_EMPTY;
    for (uint32_t i = 0; i < DRAFTED; i++) {
        gl_span line = a_slip(w.arena, 100 + i);
        draft(&o, line);
        add_line(&text, line);
    }
    gl_edition_parts parts = parts_of(4, gl_store_count(o.store));
    assert_int_equal(gl_log_close(o.log, gl_buf_span(&text), &parts, &closing, NULL), GLASSINE_OK);
    gl_buf_add(&text, gl_buf_span(&closing));
    gl_digest drafted, saved;
    gl_store_digest(o.store, &drafted, NULL);
    gl_store_cut(o.store, before + held);
    if (strange)
        draft(&o, a_slip(w.arena, 200));
    assert_int_equal(read_segment(&o, gl_buf_span(&text), 4, 4, 0), GLASSINE_OK);
    gl_store_digest(o.store, &saved, NULL);
    assert_true(gl_digest_equal(&drafted, &saved));
    assert_int_equal(gl_store_count(o.store), before + DRAFTED);
    for (uint32_t i = 0; i < DRAFTED; i++)
        assert_int_equal(gl_store_at(o.store, before + i)->edition, 4);
    open_free(&o);
    gl_buf_free(&text);
    gl_buf_free(&closing);
    written_free(&w);
}

static void a_log_goes_on_behind_a_draft(void **state) {
    (void)state;
    for (uint32_t held = 0; held <= DRAFTED; held++) {
        go_on(held, false);
        go_on(held, true);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(chains_are_those_worked_out_elsewhere),
        cmocka_unit_test(what_is_written_is_read),
        cmocka_unit_test(any_cut_into_segments_reads_the_same),
        cmocka_unit_test(reading_stops_behind_an_older_edition),
        cmocka_unit_test(no_byte_can_be_altered_unseen),
        cmocka_unit_test(no_length_but_the_whole_is_taken),
        cmocka_unit_test(segments_hold_what_their_names_say),
        cmocka_unit_test(a_right_chain_does_not_hide_other_faults),
        cmocka_unit_test(errors_name_the_line),
        cmocka_unit_test(an_edition_out_of_turn_or_form_is_not_written),
        cmocka_unit_test(a_log_goes_on_behind_a_draft),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
