/* testvectors/readings: slips and what they amount to, worked out by another implementation in another
 * language (tests/vectors/make_reading_vectors.py). */
#include "slips/made.h"

#include <dirent.h>
#include <jansson.h>

#include "slips/reading.h"

static const char *text_of(json_t *object, const char *name) {
    return json_string_value(json_object_get(object, name));
}

static gl_span span_of(json_t *string) {
    return (gl_span){json_string_value(string), json_string_length(string)};
}

static uint32_t slip_named(const gl_store *store, const char *hex) {
    gl_digest digest;
    assert_true(gl_digest_parse(gl_span_of(hex), &digest));
    uint32_t slip = gl_store_find(store, &digest);
    assert_int_not_equal(slip, GL_NONE);
    return slip;
}

static void compare_said(const gl_store *store, const gl_said *said, json_t *wanted) {
    assert_int_equal(said->slip, slip_named(store, text_of(wanted, "slip")));
    json_t *value = json_object_get(wanted, "value");
    assert_int_equal(gl_said_value(said).text == NULL, value == NULL);
    if (!value)
        return;
    char *text = json_dumps(value, JSON_COMPACT | JSON_SORT_KEYS | JSON_ENCODE_ANY);
    assert_true(gl_span_is(gl_said_value(said), text));
    free(text);
}

static void compare_fields(const gl_store *store, const gl_reading *reading, json_t *wanted) {
    assert_int_equal(reading->field_count, json_array_size(wanted));
    for (uint32_t i = 0; i < reading->field_count; i++) {
        static const char *const reaches[] = {"shared", "telling", "private"};
        const gl_read_field *field = &reading->fields[i];
        json_t *want = json_array_get(wanted, i), *said = json_object_get(want, "said");
        assert_true(gl_span_is(gl_read_name(field), text_of(want, "name")));
        assert_string_equal(reaches[field->reach], text_of(want, "reach"));
        assert_int_equal(field->contested, json_is_true(json_object_get(want, "contested")));
        assert_int_equal(field->said_count, json_array_size(said));
        for (uint32_t j = 0; j < field->said_count; j++)
            compare_said(store, gl_read_said(field, j), json_array_get(said, j));
    }
}

static void compare_latest(const gl_store *store, uint32_t record, uint32_t author, json_t *wanted) {
    static const char *const reaches[] = {"shared", "telling", "private"};
    gl_arena *arena = gl_arena_new();
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        json_t *want = json_object_get(wanted, reaches[reach]);
        gl_digest *heads;
        size_t count;
        assert_int_equal(
            gl_reading_heads(store, record, author, (glassine_reach)reach, arena, &heads, &count, NULL),
            GLASSINE_OK);
        assert_int_equal(count, json_array_size(want));
        for (size_t i = 0; i < count; i++) {
            char hex[GL_HEX_SIZE];
            gl_digest_hex(&heads[i], hex);
            assert_string_equal(hex, json_string_value(json_array_get(want, i)));
        }
    }
    gl_arena_free(arena);
}

static void compare_order(const gl_store *store, uint32_t record, uint32_t author, json_t *wanted) {
    gl_arena *arena = gl_arena_new();
    uint32_t *slips;
    size_t count;
    assert_int_equal(gl_reading_order(store, record, author, arena, &slips, &count, NULL), GLASSINE_OK);
    assert_int_equal(count, json_array_size(wanted));
    for (size_t i = 0; i < count; i++)
        assert_int_equal(slips[i], slip_named(store, json_string_value(json_array_get(wanted, i))));
    gl_arena_free(arena);
}

static void compare_reading(const gl_store *store, json_t *wanted) {
    uint32_t record = gl_store_record_find(store, gl_span_of(text_of(wanted, "record"))), author = GL_NONE,
             stray;
    json_t *fields = json_object_get(wanted, "fields");
    const char *by = text_of(wanted, "author");
    if (by)
        author = gl_store_person_find(store, gl_span_of(by));
    if (record == GL_NONE || (by && author == GL_NONE)) {
        assert_int_equal(json_array_size(fields), 0);
        return;
    }
    gl_arena *arena = gl_arena_new();
    gl_reading reading;
    assert_int_equal(gl_reading_make(store, record, author, arena, &reading, &stray, NULL), GLASSINE_OK);
    compare_fields(store, &reading, fields);
    assert_int_equal(reading.incomplete, json_is_true(json_object_get(wanted, "incomplete")));
    assert_int_equal(stray, json_integer_value(json_object_get(wanted, "stray")));
    compare_latest(store, record, author, json_object_get(wanted, "latest"));
    compare_order(store, record, author, json_object_get(wanted, "order"));
    gl_arena_free(arena);
}

static void check_vector(json_t *vector, bool backwards) {
    gl_store *store = gl_store_new();
    json_t *lines = json_object_get(vector, "lines"), *item;
    size_t count = json_array_size(lines), i;
    bool silent[16] = {false};
    assert_true(count <= 16);
    for (i = 0; i < count; i++)
        made_add(store, span_of(json_array_get(lines, backwards ? count - 1 - i : i)));
    json_array_foreach(json_object_get(vector, "uncounted"), i, item)
        silent[slip_named(store, json_string_value(item))] = true;
    made_silence(store, silent);
    gl_digest digest;
    char hex[GL_HEX_SIZE];
    assert_int_equal(gl_store_digest(store, &digest, NULL), GLASSINE_OK);
    gl_digest_hex(&digest, hex);
    assert_string_equal(hex, text_of(vector, "content_digest"));
    json_array_foreach(json_object_get(vector, "readings"), i, item) compare_reading(store, item);
    gl_store_free(store);
}

static void readings_are_those_worked_out_elsewhere(void **state) {
    (void)state;
    DIR *folder = opendir(TESTVECTORS "/readings");
    assert_non_null(folder);
    size_t count = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        if (!strstr(entry->d_name, ".json"))
            continue;
        char path[1024];
        snprintf(path, sizeof path, TESTVECTORS "/readings/%s", entry->d_name);
        json_t *vector = json_load_file(path, 0, NULL);
        assert_non_null(vector);
        print_message("%s\n", entry->d_name);
        check_vector(vector, false);
        check_vector(vector, true);
        json_decref(vector);
        count++;
    }
    closedir(folder);
    assert_true(count >= 25);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_are_those_worked_out_elsewhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
