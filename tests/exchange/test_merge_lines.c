/* The lines of what is merged: of a source that brings many new ones they stay where its file was read to, and the handle
 * takes that over; of others they are copied. Whichever it is, what is there after the source was closed, refused or merged
 * twice is the union of the sets, line by line. */
#include "exchange/support.h"

/* More than keep_lines looks at (merge.c), so that it looks at any. */
enum { BASE = 1500, LATER = 1200, NEW = 1300, FEW = 30, EPOCH = 1772359200 };

/* Sets of lines that a bundle may have, by their number. */
typedef enum family {
    IN_ALL,    /* here, and in the copies */
    LATER_ON,  /* here, after the copies were made */
    OF_GROWN,  /* new, of a copy that grew from ours */
    OF_OTHER,  /* new, of a bundle of its own */
    OF_THIRD,  /* the same */
    OF_REFUSED /* new, of one that is not sound, and of one that is */
} family;

/* ------------------------------------------------------------------------------------------ the bundles */

static void add_lines(glassine_draft *draft, family of, unsigned first, unsigned count) {
    gl_buf line = GL_BUF_EMPTY;
    for (unsigned i = first; i < first + count; i++) {
        char record[80], person[80], set[80], at[GL_TIME_SIZE];
        bool added;
        snprintf(record, sizeof record, "item/%08x-0000-4000-8000-%012x", i, (unsigned)of);
        snprintf(person, sizeof person, "contributor/%08x-0000-4000-8000-%012x", i / 500, (unsigned)of);
        snprintf(set, sizeof set, "{\"label\":\"%c-%u\"}", 'K' + (int)of, i);
        gl_time_print(EPOCH + i, at);
        gl_slip_parts parts = {.at = gl_span_of(at),
                               .by = gl_span_of(person),
                               .record = gl_span_of(record),
                               .reach = GLASSINE_SHARED,
                               .set = gl_span_of(set)};
        gl_buf_clear(&line);
        gl_slip_write(&parts, &line);
        MUST(gl_draft_add_line(draft, gl_buf_span(&line), "test", &added, &error));
        assert_true(added);
    }
    MUST(gl_bundle_index(draft->bundle, &error));
    gl_buf_free(&line);
}

static void say_many(const char *path, family of, unsigned first, unsigned count) {
    saying_session on = begin_saying(path, NULL);
    add_lines(on.draft, of, first, count);
    end_saying(&on);
}

static void make(const char *path, const char *title) {
    unlink(path);
    MUST(glassine_bundle_make(path, title, "Wren Alderby", &error));
}

/* "FOLDER/NAME", for as long as the program runs. */
static const char *place(const char *name) {
    static char names[16][40], paths[COUNT(names)][256];
    size_t i = 0;
    while (i < COUNT(names) && names[i][0] && strcmp(names[i], name) != 0)
        i++;
    assert_true(i < COUNT(names));
    snprintf(names[i], sizeof names[i], "%s", name);
    snprintf(paths[i], sizeof paths[i], "%s", in_folder("%s", name));
    return paths[i];
}

static const char *ours(void) {
    return place("ours.glassine");
}

static const char *copied(void) {
    return place("copied.glassine");
}

/* Ours goes on after it was copied. */
static int make_ours(void **state) {
    if (make_folder(state))
        return -1;
    make(ours(), "Kingfisher");
    say_many(ours(), IN_ALL, 0, BASE);
    copy_file(ours(), copied());
    say_many(ours(), LATER_ON, 0, LATER);
    return 0;
}

/* New lines, as a copy that grew from ours. */
static const char *grown(const char *name) {
    const char *path = place(name);
    copy_file(copied(), path);
    say_many(path, OF_GROWN, 0, NEW);
    return path;
}

/* The same, of which ours has nearly all that came to it. */
static const char *grown_known(const char *name) {
    const char *path = place(name);
    copy_file(copied(), path);
    say_many(path, LATER_ON, 0, LATER);
    say_many(path, OF_GROWN, NEW, FEW);
    return path;
}

/* New lines, and a few that ours has, as a bundle of its own. */
static const char *apart(const char *name, family of) {
    const char *path = place(name);
    make(path, "Heron");
    say_many(path, of, 0, NEW);
    say_many(path, IN_ALL, BASE - FEW, FEW);
    return path;
}

static const char *apart_known(const char *name) {
    const char *path = place(name);
    make(path, "Heron");
    say_many(path, IN_ALL, 0, BASE);
    say_many(path, OF_OTHER, NEW, FEW);
    return path;
}

/* ------------------------------------------------------------------------------------------ unsound ones */

enum { SCAN_SIZE = 400 };

static void add_scan(const char *path) {
    char noise[SCAN_SIZE];
    uint64_t luck = 9;
    for (size_t i = 0; i < sizeof noise; i++)
        noise[i] = (char)random_below(&luck, 256);
    const char *file = place("scan.bin");
    unlink(file);
    assert_int_equal(gl_file_write_all(file, (gl_span){noise, sizeof noise}, true), 0);
    saying_session on = begin_saying(path, NULL);
    const glassine_assignment label = {"label", "Z-1", NULL};
    glassine_record *item, *scan;
    bool known;
    MUST(glassine_draft_enter(on.draft, "item", &label, 1, NULL, &item, &error));
    MUST(glassine_draft_attach(on.draft, item, file, NULL, 0, &scan, &known, NULL, &error));
    end_saying(&on);
}

/* Changes the first byte of what first has these bytes in the file, `at` further on. */
static void harm(const char *path, gl_span bytes, size_t at) {
    gl_buf content = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(path, (size_t)1 << 28, &content), 0);
    size_t found = 0;
    while (found + bytes.length <= content.length &&
           memcmp(content.text + found, bytes.text, bytes.length) != 0)
        found++;
    assert_true(found + bytes.length <= content.length);
    content.text[found + at] ^= 1;
    unlink(path);
    assert_int_equal(gl_file_write_all(path, gl_buf_span(&content), true), 0);
    gl_buf_free(&content);
}

/* The scan's bytes are not those of its digest: found when the lines are in already. */
static void harm_scan(const char *path) {
    gl_buf scan = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(place("scan.bin"), SCAN_SIZE, &scan), 0);
    harm(path, gl_span_part(gl_buf_span(&scan), 0, 40), 8);
    gl_buf_free(&scan);
}

/* The scan's name where its bytes lie is not the directory's: found before any line is taken. */
static void harm_header(const char *path) {
    harm(path, GL_SPAN("data/scans/"), 0);
}

/* ------------------------------------------------------------------------------------------- the referee */

/* The union of the sets of these bundles (NULL-ended), line by line; the lines go into the arena. */
static gl_store *union_of(const char *const *paths, gl_arena *arena) {
    gl_store *all = gl_store_new();
    for (size_t i = 0; paths[i]; i++) {
        glassine_bundle *bundle = opened(paths[i], GLASSINE_READ);
        for (uint32_t slip = 0; slip < gl_store_count(bundle->store); slip++) {
            uint32_t number;
            bool added;
            gl_span line = gl_arena_copy(arena, gl_store_line(bundle->store, slip));
            MUST(gl_store_add(all, line, 1, NULL, &number, &added, &error));
        }
        glassine_bundle_close(bundle);
    }
    return all;
}

/* The bundle has just these lines, each as it was. */
static void has_lines_of(glassine_bundle *bundle, const gl_store *wanted) {
    assert_int_equal(gl_store_count(bundle->store), gl_store_count(wanted));
    for (uint32_t i = 0; i < gl_store_count(wanted); i++) {
        uint32_t slip = gl_store_find(bundle->store, &gl_store_at(wanted, i)->digest);
        assert_int_not_equal(slip, GL_NONE);
        if (!gl_span_equal(gl_store_line(bundle->store, slip), gl_store_line(wanted, i)))
            fail_msg("slip %u: %.*s", slip, GL_SPAN_ARGS(gl_store_line(wanted, i)));
        gl_span id = gl_store_record(wanted, gl_store_at(wanted, i)->record)->id;
        assert_int_equal(gl_store_record_find(bundle->store, id), gl_store_at(bundle->store, slip)->record);
        assert_true(gl_span_equal(gl_store_person(bundle->store, gl_store_at(bundle->store, slip)->author),
                                  gl_store_person(wanted, gl_store_at(wanted, i)->author)));
    }
}

/* Every record can be read and named. */
static void reads_all(glassine_bundle *bundle) {
    for (size_t i = 0; i < bundle->record_count; i++) {
        const gl_reading *reading;
        MUST(gl_record_reading(bundle, bundle->records[i], &reading, &error));
        assert_true(reading->field_count > 0);
        assert_true(glassine_record_label(bundle, bundle->records[i]).length > 0);
    }
    assert_false(bundle->failed);
}

/* ------------------------------------------------------------------------------------------- the merging */

/* Sources, of which those that are sound are given again for the referee. */
typedef struct merge_case {
    const char *sources[8], *sound[8];
    size_t count;
    bool lent; /* is some of their text taken over? */
} merge_case;

static void merge_into(glassine_draft *draft, const merge_case *it, bool preview) {
    const glassine_merge_options options = {.skip_bad = true, .preview = preview};
    glassine_report *report = glassine_report_new("merge");
    MUST(glassine_merge(draft, it->sources, it->count, &options, report, &error));
    glassine_report_free(report);
}

/* Merges them and goes on with the same handle, whose lines must be there although the sources are closed; then reads it
 * anew. */
static void merge_and_look(const merge_case *it, const char *into, bool preview, char digest[65]) {
    const char *paths[COUNT(it->sound) + 1] = {ours()};
    memcpy(paths + 1, it->sound, sizeof it->sound);
    gl_arena *arena = gl_arena_new();
    gl_store *wanted = union_of(paths, arena);
    copy_file(ours(), into);
    saying_session on = begin_saying(into, NULL);
    if (preview)
        merge_into(on.draft, it, true);
    merge_into(on.draft, it, false);
    assert_int_equal(on.bundle->adopted_count > 0, it->lent);
    has_lines_of(on.bundle, wanted);
    reads_all(on.bundle);
    glassine_bundle_digest(on.bundle, digest);
    add_lines(on.draft, OF_THIRD, NEW + FEW, 1);
    end_saying(&on);
    glassine_bundle *again = opened(into, GLASSINE_READ);
    assert_int_equal(gl_store_count(again->store), gl_store_count(wanted) + 1);
    glassine_bundle_close(again);
    char before_last[300];
    snprintf(before_last, sizeof before_last, "%s#4", into); /* made, two saves, the merge */
    again = opened(before_last, GLASSINE_READ);
    has_lines_of(again, wanted);
    reads_all(again);
    glassine_bundle_close(again);
    gl_store_free(wanted);
    gl_arena_free(arena);
}

/* In this order and in the other, with and without a preview by the same handle. */
static void merge_both_ways(const merge_case *it) {
    char forth[65], back[65], shown[65];
    merge_case turned = *it;
    for (size_t i = 0; i < it->count; i++)
        turned.sources[i] = it->sources[it->count - 1 - i];
    merge_and_look(it, place("forth.glassine"), false, forth);
    merge_and_look(&turned, place("back.glassine"), false, back);
    merge_and_look(it, place("shown.glassine"), true, shown);
    assert_string_equal(forth, back);
    assert_string_equal(forth, shown);
}

static void merge_one(const char *path, bool lent) {
    merge_case it = {.sources = {path}, .sound = {path}, .count = 1, .lent = lent};
    merge_both_ways(&it);
}

static void many_new_lines_are_lent(void **state) {
    (void)state;
    merge_one(grown("grown.glassine"), true);
    merge_one(apart("apart.glassine", OF_OTHER), true);
}

static void few_new_lines_are_copied(void **state) {
    (void)state;
    merge_one(grown_known("grown.glassine"), false);
    merge_one(apart_known("apart.glassine"), false);
}

static void several_are_merged_at_once(void **state) {
    (void)state;
    merge_case it = {.lent = true};
    it.sources[it.count++] = grown("grown.glassine");
    it.sources[it.count++] = apart_known("known.glassine");
    it.sources[it.count++] = apart("apart.glassine", OF_OTHER);
    it.sources[it.count++] = grown_known("grown-known.glassine");
    it.sources[it.count++] = apart("third.glassine", OF_THIRD);
    memcpy(it.sound, it.sources, sizeof it.sound);
    merge_both_ways(&it);
}

/* One that is refused, between others; the last has the lines that it had, too. */
static void merge_with_refused(const char *refused) {
    merge_case it = {.lent = true};
    glassine_error told = {0};
    it.sources[0] = it.sound[0] = grown("grown.glassine");
    it.sources[1] = refused;
    it.sources[2] = it.sound[1] = apart("apart.glassine", OF_REFUSED);
    it.count = 3;
    merge_both_ways(&it);
    copy_file(ours(), place("alone.glassine"));
    saying_session on = begin_saying(place("alone.glassine"), NULL);
    assert_int_equal(glassine_merge(on.draft, &refused, 1, NULL, NULL, &told), GLASSINE_REFUSED);
    glassine_draft_free(on.draft);
    glassine_bundle_close(on.bundle);
}

static void lines_of_a_refused_source_are_gone(void **state) {
    void (*const harms[])(const char *path) = {harm_scan, harm_header};
    (void)state;
    for (size_t i = 0; i < COUNT(harms); i++) {
        const char *path = apart("refused.glassine", OF_REFUSED);
        add_scan(path);
        harms[i](path);
        merge_with_refused(path);
        path = place("refused.glassine");
        copy_file(copied(), path);
        say_many(path, OF_REFUSED, 0, NEW);
        add_scan(path);
        harms[i](path);
        merge_with_refused(path);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(many_new_lines_are_lent),
        cmocka_unit_test(few_new_lines_are_copied),
        cmocka_unit_test(several_are_merged_at_once),
        cmocka_unit_test(lines_of_a_refused_source_are_gone),
    };
    return cmocka_run_group_tests(tests, make_ours, remove_folder);
}
