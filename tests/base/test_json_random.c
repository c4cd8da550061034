/* Random documents, whole and damaged, judged by our checker and by jansson: it parses, and writes what it
 * read sorted and without spaces. Names here hold nothing beyond U+D7FF, where sorting by bytes (jansson) and
 * by UTF-16 code units (RFC 8785) is the same. */
#include "unit.h"

#include <jansson.h>
#include <stdlib.h>

#include "base/json.h"
#include "base/text.h"

#define DEPTH 2
#define MOST_NAMES 6

static void add_random_text(unit_random *random, gl_buf *out, bool name) {
    static const uint32_t codes[] = {'a',  'b',  '0',  ' ',  '"',    '\\',   '/',
                                     '\n', 0x7F, 0x80, 0xE9, 0x20AC, 0x1F426};
    size_t kinds = UNIT_COUNT(codes) - (name ? 1 : 0);
    for (size_t left = unit_below(random, 6); left; left--)
        gl_utf8_add(out, codes[unit_below(random, kinds)]);
}

static void add_random_scalar(unit_random *random, gl_buf *out) {
    gl_buf text = GL_BUF_EMPTY;
    switch (unit_below(random, 4)) {
    case 0:
        gl_json_add_integer(out, (int64_t)unit_below(random, 2000) - 1000);
        break;
    case 1:
        gl_json_add_integer(out, (int64_t)(unit_next(random) >> 11) - (int64_t)(unit_next(random) >> 11));
        break;
    case 2:
        gl_buf_add_text(out, unit_below(random, 2) ? "true" : "false");
        break;
    default:
        add_random_text(random, &text, false);
        gl_json_add_string(out, gl_buf_span(&text));
    }
    gl_buf_free(&text);
}

static int by_name(const void *a, const void *b) {
    return gl_json_name_order(gl_buf_span(a), gl_buf_span(b));
}

static void add_random_object(unit_random *random, gl_buf *out, unsigned depth) {
    gl_buf names[MOST_NAMES];
    size_t count = unit_below(random, MOST_NAMES), written = 0;
    for (size_t i = 0; i < count; i++) {
        names[i] = GL_BUF_EMPTY;
        add_random_text(random, &names[i], true);
    }
    qsort(names, count, sizeof names[0], by_name);
    gl_buf_add_char(out, '{');
    for (size_t i = 0; i < count; i++) {
        if (i && by_name(&names[i - 1], &names[i]) == 0)
            continue;
        gl_buf_add_text(out, written++ ? "," : "");
        gl_json_add_string(out, gl_buf_span(&names[i]));
        gl_buf_add_char(out, ':');
        size_t kind = unit_below(random, 4);
        if (kind == 0 && depth) {
            add_random_object(random, out, depth - 1);
        } else if (kind == 1) {
            gl_buf_add_char(out, '[');
            for (size_t j = unit_below(random, 4); j; j--) {
                add_random_scalar(random, out);
                gl_buf_add_text(out, j > 1 ? "," : "");
            }
            gl_buf_add_char(out, ']');
        } else {
            add_random_scalar(random, out);
        }
    }
    gl_buf_add_char(out, '}');
    for (size_t i = 0; i < count; i++)
        gl_buf_free(&names[i]);
}

/* ------------------------------------------------------------------------------------------ the referee */

static bool text_is_in_the_set(const char *text, size_t length) {
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)text[i] < 0x20 && text[i] != '\n')
            return false;
    return true;
}

static bool value_is_in_the_set(json_t *value, unsigned depth, bool in_array) {
    const char *name;
    size_t index;
    json_t *item;
    switch (json_typeof(value)) {
    case JSON_STRING:
        return text_is_in_the_set(json_string_value(value), json_string_length(value));
    case JSON_INTEGER:
        return llabs(json_integer_value(value)) <= GL_JSON_INTEGER_MAX;
    case JSON_TRUE:
    case JSON_FALSE:
        return true;
    case JSON_ARRAY:
        json_array_foreach(value, index, item) {
            if (in_array || !value_is_in_the_set(item, 0, true))
                return false;
        }
        return !in_array;
    case JSON_OBJECT:
        json_object_foreach(value, name, item) {
            if (!text_is_in_the_set(name, strlen(name)) || (json_is_object(item) && depth == 0) ||
                !value_is_in_the_set(item, depth - (json_is_object(item) ? 1 : 0), false))
                return false;
        }
        return !in_array;
    default:
        return false;
    }
}

static bool is_canonical_by_jansson(gl_span text) {
    json_t *document = json_loadb(text.text, text.length, JSON_REJECT_DUPLICATES | JSON_ALLOW_NUL, NULL);
    if (!document)
        return false;
    char *written = json_dumps(document, JSON_SORT_KEYS | JSON_COMPACT);
    bool good = json_is_object(document) && value_is_in_the_set(document, DEPTH, false) && written &&
                gl_span_is(text, written);
    free(written);
    json_decref(document);
    return good;
}

static void agree(gl_span text) {
    gl_json_fault fault = {0, "nothing"};
    bool ours = gl_json_check(text, DEPTH, &fault), theirs = is_canonical_by_jansson(text);
    if (ours != theirs)
        fail_msg("%.*s: %s at %zu, jansson says %s", GL_SPAN_ARGS(text), fault.what, fault.at,
                 theirs ? "canonical" : "not");
}

static void what_we_write_is_canonical(void **state) {
    (void)state;
    unit_random random = {9};
    for (int round = 0; round < 20000; round++) {
        gl_buf text = GL_BUF_EMPTY;
        gl_json_fault fault;
        add_random_object(&random, &text, DEPTH);
        if (!gl_json_check(gl_buf_span(&text), DEPTH, &fault))
            fail_msg("%s: %s at %zu", text.text, fault.what, fault.at);
        assert_true(is_canonical_by_jansson(gl_buf_span(&text)));
        gl_buf_free(&text);
    }
}

/* One byte changed, put in or left out, at every place: refused, or canonical in jansson's eyes as well. */
static void a_damaged_byte_is_refused_or_canonical(void **state) {
    (void)state;
    static const char likely[] = "{}[],:\"\\0123456789-.eEaulntf \n\t/\x1f\x7f\x80\xc3\xe9\xff";
    unit_random random = {10};
    size_t passed = 0;
    for (int round = 0; round < 1500; round++) {
        gl_buf text = GL_BUF_EMPTY, other = GL_BUF_EMPTY;
        add_random_object(&random, &text, DEPTH);
        for (size_t at = 0; at < text.length; at++) {
            char c = unit_below(&random, 4) ? likely[unit_below(&random, sizeof likely - 1)]
                                            : (char)unit_next(&random);
            size_t kind = unit_below(&random, 3); /* 0: change, 1: put in, 2: leave out */
            gl_buf_clear(&other);
            gl_buf_add_bytes(&other, text.text, at);
            if (kind != 2)
                gl_buf_add_char(&other, c);
            gl_buf_add_bytes(&other, text.text + at + (kind != 1), text.length - at - (kind != 1));
            agree(gl_buf_span(&other));
            passed += gl_json_check(gl_buf_span(&other), DEPTH, NULL);
        }
        gl_buf_free(&text);
        gl_buf_free(&other);
    }
    assert_true(passed > 100); /* the test tests something */
}

static void every_cut_is_refused(void **state) {
    (void)state;
    unit_random random = {11};
    for (int round = 0; round < 500; round++) {
        gl_buf text = GL_BUF_EMPTY;
        add_random_object(&random, &text, DEPTH);
        for (size_t length = 0; length < text.length; length++) {
            char *cut = malloc(length + 1); /* its own block, so that reading past it shows */
            assert_non_null(cut);
            char *start = cut + 1; /* ends where the block ends */
            memcpy(start, text.text, length);
            assert_false(gl_json_check((gl_span){start, length}, DEPTH, NULL));
            free(cut);
        }
        gl_buf_free(&text);
    }
}

/* Walking text that nobody checked may give nonsense; it must not leave the text, and must end. */
static void walk_everything(gl_span value, unsigned depth) {
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    gl_buf decoded = GL_BUF_EMPTY;
    int64_t number;
    gl_json_add_decoded(&decoded, value);
    gl_json_integer(value, &number);
    gl_buf_free(&decoded);
    while (depth && gl_json_next(&walk, &name, &item))
        walk_everything(item, depth - 1);
}

static void walking_stays_inside_whatever_it_walks(void **state) {
    (void)state;
    static const char letters[] = "{}[],:\"\\u0n1-a\xc3";
    unit_random random = {12};
    for (int round = 0; round < 100000; round++) {
        size_t length = 1 + unit_below(&random, 20);
        char *text = malloc(length);
        assert_non_null(text);
        for (size_t i = 0; i < length; i++)
            text[i] = letters[unit_below(&random, sizeof letters - 1)];
        text[0] = "{[\""[unit_below(&random, 3)];
        walk_everything((gl_span){text, length}, 4);
        free(text);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_we_write_is_canonical),
        cmocka_unit_test(a_damaged_byte_is_refused_or_canonical),
        cmocka_unit_test(every_cut_is_refused),
        cmocka_unit_test(walking_stays_inside_whatever_it_walks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
