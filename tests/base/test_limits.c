/* The defaults against spec/limits.md, and against each other. */
#include "unit.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>

#include "glassine.h"

typedef struct limit {
    const char *code, *name;
    uint64_t value;
} limit;

static size_t all_limits(limit out[16]) {
    glassine_limits l = glassine_limits_default();
    const limit all[] = {
        {"L001", "entries", l.entries},
        {"L002", "directory_bytes", l.directory_bytes},
        {"L003", "small_file_bytes", l.small_file_bytes},
        {"L004", "segment_bytes", l.segment_bytes},
        {"L005", "log_bytes", l.log_bytes},
        {"L006", "ratio", l.ratio},
        {"L020", "line_bytes", l.line_bytes},
        {"L021", "slips", l.slips},
        {"L022", "after", l.after},
        {"L023", "fields", l.fields},
        {"L024", "editions", l.editions},
        {"L025", "record_fields", l.record_fields},
    };
    memcpy(out, all, sizeof all);
    return UNIT_COUNT(all);
}

/* "256 MiB", "1,000,000", "200". */
static uint64_t number_of(const char *text) {
    uint64_t value = 0;
    for (; isdigit((unsigned char)*text) || *text == ','; text++)
        if (*text != ',')
            value = value * 10 + (uint64_t)(*text - '0');
    if (strncmp(text, " MiB", 4) == 0)
        value <<= 20;
    else if (strncmp(text, " GiB", 4) == 0)
        value <<= 30;
    return value;
}

static void the_table_of_the_specification_is_what_the_library_does(void **state) {
    (void)state;
    limit limits[16];
    size_t count = all_limits(limits), seen = 0;
    FILE *spec = fopen(SOURCE_ROOT "/spec/limits.md", "r");
    assert_non_null(spec);
    char line[1024];
    while (fgets(line, sizeof line, spec)) {
        char code[8], name[32], value[32];
        if (sscanf(line, "| %7[L0-9] | `%31[a-z_]`: %*[^|] | %31[^|] |", code, name, value) != 3)
            continue;
        assert_true(seen < count);
        assert_string_equal(code, limits[seen].code);
        assert_string_equal(name, limits[seen].name);
        assert_int_equal(number_of(value), limits[seen].value);
        seen++;
    }
    fclose(spec);
    assert_int_equal(seen, count);
}

/* The figures of the reasons in spec/limits.md, from the lengths that the format fixes: a digest is 64
 * digits, a slug at most 48 letters, an extension at most 5 letters; APPNOTE 4.3.12 (46 bytes of directory
 * record), 4.5.3 (Zip64: 4 bytes and three times 8). */
static void the_limits_fit_each_other(void **state) {
    (void)state;
    glassine_limits l = glassine_limits_default();
    const uint64_t inner = strlen("data/scans/") + 64 + strlen(".") + 5;
    const uint64_t record = 46 + strlen("glassine-") + 48 + strlen("/") + inner + 4 + 24;
    const uint64_t manifest_line = 64 + strlen("  ") + inner + strlen("\n");
    const uint64_t in_an_array = manifest_line - 1 + strlen("\"\",");
    assert_true(l.entries * record <= l.directory_bytes);
    assert_true(l.entries * manifest_line <= l.small_file_bytes);
    assert_true(l.entries * in_an_array <= l.line_bytes);
    assert_true(l.after * (64 + strlen("\"\",")) <= l.line_bytes);
    assert_int_equal(l.segment_bytes, l.log_bytes);               /* tidy makes one segment of the log */
    assert_true(l.slips < UINT32_MAX && l.editions < UINT32_MAX); /* numbered by 32 bits */
    assert_true(l.line_bytes < UINT32_MAX);
    assert_true(l.ratio < 1032); /* the most that deflate does: zlib's Technical Details */
}

/* The largest collection that the format is planned for, with room: ten times as many of everything. */
static void a_real_collection_never_meets_them(void **state) {
    (void)state;
    glassine_limits l = glassine_limits_default();
    assert_true(l.slips >= 10 * UINT64_C(1000000));
    assert_true(l.entries >= 10 * UINT64_C(70000));
    assert_true(l.log_bytes >= 10 * UINT64_C(1000000) * 400);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_table_of_the_specification_is_what_the_library_does),
        cmocka_unit_test(the_limits_fit_each_other),
        cmocka_unit_test(a_real_collection_never_meets_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
