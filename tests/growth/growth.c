/* Growth by counting: the library is built so that it counts the edges of its own control flow that it takes.
 * A record of 100,000 slips, one after the other, and one of 10,000 side by side are merged and told; with
 * twice the slips the steps may be little more than twice as many. No clock is looked at. */
#include "exchange/support.h"

#include "slips/life.h"

#define ITEM "item/00000000-0000-4000-8000-000000000001"

static uint64_t steps;

/* Called at every edge (GCC and Clang: -fsanitize-coverage=trace-pc). */
void __sanitizer_cov_trace_pc(void);
void __sanitizer_cov_trace_pc(void) {
    steps++;
}

static gl_digest add(glassine_draft *draft, const gl_digest *after, size_t count, const char *by,
                     const char *field, unsigned value) {
    char set[64];
    bool added;
    gl_buf line = GL_BUF_EMPTY;
    snprintf(set, sizeof set, "{\"%s\":\"%u\"}", field, value);
    gl_slip_parts parts = {.after = after,
                           .after_count = count,
                           .at = GL_SPAN("2026-03-01T10:00:00Z"),
                           .by = gl_span_of(by),
                           .record = GL_SPAN(ITEM),
                           .reach = GLASSINE_SHARED,
                           .set = gl_span_of(set)};
    gl_slip_write(&parts, &line);
    MUST(gl_draft_add_line(draft, gl_buf_span(&line), "growth", &added, &error));
    gl_buf_free(&line);
    const gl_store *store = draft->bundle->store;
    return gl_store_at(store, gl_store_count(store) - 1)->digest;
}

static const char *const people[] = {"contributor/00000000-0000-4000-8000-00000000000a",
                                     "contributor/00000000-0000-4000-8000-00000000000b"};

static void chain(glassine_draft *draft, unsigned slips) {
    static const char *const fields[] = {"rate", "kind", "note"};
    gl_digest last = {{0}};
    for (unsigned i = 0; i < slips; i++)
        last = add(draft, &last, i ? 1 : 0, people[i % 2], fields[i % 3], i);
}

static void star(glassine_draft *draft, unsigned slips) {
    gl_digest root = add(draft, NULL, 0, people[0], "rate", 0);
    for (unsigned i = 1; i < slips; i++)
        add(draft, &root, 1, people[i % 2], "rate", i);
}

static void make(const char *path, void (*shape)(glassine_draft *draft, unsigned slips), unsigned slips) {
    gl_make it;
    gl_about about = {.keeper = (char *)people[0], .title = (char *)"Growth"};
    unlink(path);
    MUST(gl_make_new(&it, path, &about, &error));
    shape(it.draft, slips);
    MUST(gl_bundle_index(it.bundle, &error));
    MUST(glassine_draft_save(it.draft, "made", &error));
    MUST(gl_make_publish(&it, false, &error));
    gl_make_free(&it);
}

static void nothing(glassine_draft *draft, unsigned slips) {
    (void)slips;
    add(draft, NULL, 0, people[0], "label", 1);
}

/* Steps of a merge with its report, and of telling the record's life. */
static uint64_t count(void (*shape)(glassine_draft *draft, unsigned slips), unsigned slips) {
    const char *from = in_folder("from.glassine"), *into = in_folder("into.glassine");
    make(from, shape, slips);
    make(into, nothing, 0);
    steps = 0;
    saying_session on = begin_saying(into, NULL);
    glassine_report *report = glassine_report_new("merge");
    MUST(glassine_merge(on.draft, &from, 1, NULL, report, &error));
    glassine_record *record = glassine_bundle_record(on.bundle, GL_SPAN(ITEM), GL_NO_SPAN);
    const glassine_change *changes;
    size_t told;
    MUST(glassine_record_life(on.bundle, record, &changes, &told, &error));
    assert_int_equal(told, slips + 1);
    uint64_t taken = steps;
    glassine_report_free(report);
    glassine_draft_free(on.draft);
    glassine_bundle_close(on.bundle);
    return taken;
}

static void grows(const char *name, void (*shape)(glassine_draft *draft, unsigned slips), unsigned slips) {
    uint64_t half = count(shape, slips / 2), whole = count(shape, slips);
    print_message("%s: %llu steps for %u slips, %llu for %u\n", name, (unsigned long long)half, slips / 2,
                  (unsigned long long)whole, slips);
    assert_true(whole * 10 <
                half * 24); /* sorting takes a little more than twice as much; a square would take four */
}

static void a_chain_of_100000(void **state) {
    (void)state;
    grows("chain", chain, 100000);
}

static void a_star_of_10000(void **state) {
    (void)state;
    grows("star", star, 10000);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_chain_of_100000),
        cmocka_unit_test(a_star_of_10000),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
