/* Random histories: people whose clocks run wrong say things about the same records on copies of their own,
 * and exchange all, or part, of what they have, in any order. A naive model that applies the definitions of
 * spec/readings.md and spec/exchange.md literally (model.h) says what must come out.
 *
 * Source: the algebra itself. Union of sets is commutative, associative and idempotent (any textbook). */
#include "exchange/model.h"

#include "exchange/carry.h"

#ifdef __SANITIZE_ADDRESS__
enum { HISTORIES = 400 }; /* each takes several times as long; the others run without */
#else
enum { HISTORIES = 2000 };
#endif
enum { COPIES_MOST = 6, SLIPS_MOST = 60, INTENTIONS = 400 };

/* What somebody once set a field to: it must never be missing from the record's history. */
typedef struct intention {
    char record[80], field[32], value[32]; /* value "": cleared */
} intention;

typedef struct world {
    uint64_t luck;
    model model;
    size_t copies;
    const char *by[COPIES_MOST]; /* whose copy it is */
    bool has[COPIES_MOST][MODEL_SLIPS];
    size_t slips_wanted, exchanges;
    intention intentions[INTENTIONS];
    size_t intended;
} world;

static const char *const PEOPLE[] = {
    "contributor/00000000-0000-4000-8000-00000000000a", "contributor/00000000-0000-4000-8000-00000000000b",
    "contributor/00000000-0000-4000-8000-00000000000c", "contributor/00000000-0000-4000-8000-00000000000d",
    "contributor/00000000-0000-4000-8000-00000000000e", "contributor/00000000-0000-4000-8000-00000000000f"};

static const char *const RECORDS[] = {
    "item/00000000-0000-4000-8000-000000000001",        "item/00000000-0000-4000-8000-000000000002",
    "stamp/00000000-0000-4000-8000-000000000003",       "claim/00000000-0000-4000-8000-000000000004",
    "observation/00000000-0000-4000-8000-000000000005", "design/00000000-0000-4000-8000-000000000006",
    "own_thing/00000000-0000-4000-8000-000000000007"};

static const char *copy_path(size_t copy) {
    return in_folder("copy-%zu.glassine", copy);
}

/* Years off, and never the same twice over. */
static void set_clock(world *it) {
    char seconds[24];
    snprintf(seconds, sizeof seconds, "%u",
             random_below(&it->luck, 2) ? 1772359200 + random_below(&it->luck, 600)
                                        : random_below(&it->luck, 4000000000u));
    setenv("SOURCE_DATE_EPOCH", seconds, 1);
}

/* ------------------------------------------------------------------------------- what a copy must hold */

/* Slips that the bundle has and the model does not know yet are the model's too; all of them are this copy's.
 */
static void learn(world *it, size_t copy, glassine_bundle *bundle) {
    for (uint32_t i = 0; i < glassine_bundle_slips(bundle); i++)
        it->has[copy][model_add(&it->model, glassine_bundle_slip(bundle, i).line)] = true;
}

static size_t held(const world *it, size_t copy) {
    size_t count = 0;
    for (size_t i = 0; i < it->model.count; i++)
        count += it->has[copy][i];
    return count;
}

static void compare_reading(const world *it, size_t copy, glassine_bundle *bundle) {
    char *wanted = model_reading(&it->model, it->has[copy]), *found = library_reading(bundle);
    assert_string_equal(found, wanted);
    free(found);
    free(wanted);
}

/* The copy holds exactly what the model says it holds. */
static void compare_set(const world *it, size_t copy, glassine_bundle *bundle) {
    char found[65], wanted[65];
    assert_int_equal(glassine_bundle_slips(bundle), held(it, copy));
    glassine_bundle_digest(bundle, found);
    model_content_digest(&it->model, it->has[copy], wanted);
    assert_string_equal(found, wanted);
}

static void check_copy(const world *it, size_t copy) {
    glassine_bundle *bundle = opened(copy_path(copy), GLASSINE_READ);
    compare_set(it, copy, bundle);
    compare_reading(it, copy, bundle);
    glassine_bundle_close(bundle);
}

/* ------------------------------------------------------------------------------------- saying something */

static void intend(world *it, const char *record, const glassine_assignment *field) {
    assert_true(it->intended < INTENTIONS);
    intention *one = &it->intentions[it->intended++];
    snprintf(one->record, sizeof one->record, "%s", record);
    snprintf(one->field, sizeof one->field, "%s", field->field);
    snprintf(one->value, sizeof one->value, "%s", field->value);
}

/* A field of a type with some value, few of each, so that people agree, differ and change back. */
static glassine_assignment draw_field(world *it, const char *record) {
    static const glassine_assignment items[] = {
        {"label", "H-1", NULL},    {"label", "H-2", NULL},    {"kind", "cover", NULL},
        {"kind", "pair", NULL},    {"kind", "", NULL},        {"rate", "2d", NULL},
        {"rate", "4d", NULL},      {"rate", "", NULL},        {"title", "One", NULL},
        {"title", "Two", NULL},    {"rate", "2d", "private"}, {"set_aside", "yes", NULL},
        {"set_aside", "no", NULL}, {"storage", "box", NULL}};
    static const glassine_assignment stamps[] = {{"colour", "blue", NULL},
                                                 {"colour", "deep blue", NULL},
                                                 {"colour", "", NULL},
                                                 {"gum", "full", NULL},
                                                 {"gum", "none", "telling"}};
    static const glassine_assignment claims[] = {{"positions", "4", NULL},
                                                 {"positions", "5", NULL},
                                                 {"remark", "Sure", NULL},
                                                 {"remark", "", NULL},
                                                 {"withdrawn", "yes", NULL}};
    static const glassine_assignment observations[] = {
        {"text", "A dot", NULL}, {"text", "Dust", NULL}, {"seen", "absent", NULL}, {"seen", "present", NULL}};
    static const glassine_assignment designs[] = {{"title", "Kingfisher", NULL}, {"title", "Heron", NULL}};
    if (strncmp(record, "item", 4) == 0)
        return items[random_below(&it->luck, COUNT(items))];
    if (strncmp(record, "stamp", 5) == 0)
        return stamps[random_below(&it->luck, COUNT(stamps))];
    if (strncmp(record, "claim", 5) == 0)
        return claims[random_below(&it->luck, COUNT(claims))];
    if (strncmp(record, "observation", 11) == 0)
        return observations[random_below(&it->luck, COUNT(observations))];
    return designs[random_below(&it->luck, COUNT(designs))];
}

/* The record with what its type requires, where it is not there (of this author). */
static glassine_record *enter(world *it, saying_session *on, const char *record) {
    static const glassine_assignment label = {"label", "H-1", NULL}, named = {"label", "KF", NULL},
                                     about = {"stamp", NULL, NULL};
    glassine_assignment first = strncmp(record, "item", 4) == 0     ? label
                                : strncmp(record, "design", 6) == 0 ? named
                                                                    : about;
    glassine_record *made;
    if (!first.value && strncmp(record, "stamp", 5) == 0)
        first = (glassine_assignment){"item", RECORDS[0], NULL};
    else if (!first.value)
        first = (glassine_assignment){"stamp", RECORDS[2], NULL};
    MUST(gl_draft_enter_as(on->draft, record, &first, 1, &made, &error));
    intend(it, record, &first);
    return made;
}

/* One statement by the draft's speaker on a record of the table. */
static void say(world *it, saying_session *on, const char *record) {
    bool authored = model_authored(record);
    glassine_record *there = glassine_bundle_record(
        on->bundle, gl_span_of(record), authored ? gl_span_of(glassine_draft_by(on->draft)) : GL_NO_SPAN);
    if (!there)
        there = enter(it, on, record);
    glassine_assignment field = draw_field(it, record);
    error = (glassine_error){0};
    glassine_status status = glassine_draft_revise(on->draft, there, &field, 1, NULL, NULL, &error);
    if (status && strcmp(error.rule, "R041") == 0) {
        if (random_below(&it->luck, 2))
            return; /* left open */
        status = glassine_draft_settle(on->draft, there, &field, 1, NULL, &error);
    }
    if (status)
        fail_msg("%s %s=%s: %s", record, field.field, field.value, error.message);
    intend(it, record, &field);
}

/* Keeps the list sorted and each digest once; returns the new count. */
static size_t add_after(gl_digest *after, size_t count, const char *hex) {
    gl_digest digest;
    size_t at = 0;
    assert_true(gl_digest_parse(gl_span_of(hex), &digest));
    while (at < count && gl_digest_compare(&after[at], &digest) < 0)
        at++;
    if (at < count && gl_digest_equal(&after[at], &digest))
        return count;
    memmove(after + at + 1, after + at, (count - at) * sizeof *after);
    after[at] = digest;
    return count + 1;
}

/* A line that no writer of ours makes: `after` leads to slips that may be missing, of another record or
 * reach. */
static void forge(world *it, saying_session *on, size_t copy) {
    static const char *const sets[] = {"{\"kind\":\"cover\"}", "{\"kind\":\"strip\",\"own_x\":[1,2]}", "{}",
                                       "{\"rate\":\"9d\",\"title\":\"Three\"}"};
    const char *record = RECORDS[random_below(&it->luck, COUNT(RECORDS))];
    gl_digest after[4];
    size_t count = 0;
    for (size_t i = 0, tries = random_below(&it->luck, 8); i < tries && count < COUNT(after); i++) {
        const model_slip *slip = &it->model.slips[random_below(&it->luck, (uint32_t)it->model.count)];
        if (strcmp(slip->record, record) == 0 || random_below(&it->luck, 8) == 0)
            count = add_after(after, count, slip->digest);
    }
    char at[GL_TIME_SIZE];
    gl_time_print(random_below(&it->luck, 2000000000), at);
    gl_slip_parts parts = {.after = after,
                           .after_count = count,
                           .at = gl_span_of(at),
                           .by = gl_span_of(PEOPLE[random_below(&it->luck, COUNT(PEOPLE))]),
                           .record = gl_span_of(record),
                           .reach = (glassine_reach)random_below(&it->luck, GLASSINE_REACHES),
                           .set = gl_span_of(sets[random_below(&it->luck, COUNT(sets))])};
    gl_buf line = GL_BUF_EMPTY;
    bool added;
    gl_slip_write(&parts, &line);
    MUST(gl_draft_add_line(on->draft, gl_buf_span(&line), copy_path(copy), &added, &error));
    MUST(gl_bundle_index(on->bundle, &error));
    gl_buf_free(&line);
}

static void speak(world *it, size_t copy) {
    set_clock(it);
    const char *by =
        random_below(&it->luck, 4) ? it->by[copy] : PEOPLE[random_below(&it->luck, COUNT(PEOPLE))];
    saying_session on = begin_saying(copy_path(copy), by);
    for (uint32_t i = random_below(&it->luck, 4) + 1; i > 0; i--) {
        if (random_below(&it->luck, 6) == 0)
            forge(it, &on, copy);
        else
            say(it, &on, RECORDS[random_below(&it->luck, COUNT(RECORDS) - 1)]);
    }
    MUST(glassine_draft_save(on.draft, "said", &error));
    learn(it, copy, on.bundle);
    compare_set(it, copy, on.bundle);
    compare_reading(it, copy, on.bundle);
    glassine_draft_free(on.draft);
    glassine_bundle_close(on.bundle);
}

/* ------------------------------------------------------------------------------------------- exchanging */

static void merge(world *it, size_t into, const char *const *sources, size_t count,
                  const glassine_merge_options *options) {
    saying_session on = begin_saying(copy_path(into), NULL);
    glassine_report *report = random_below(&it->luck, 4) ? NULL : glassine_report_new("merge");
    MUST(glassine_merge(on.draft, sources, count, options, report, &error));
    glassine_report_free(report);
    glassine_draft_free(on.draft);
    glassine_bundle_close(on.bundle);
}

static void take_all(world *it, size_t into, size_t from) {
    for (size_t i = 0; i < it->model.count; i++)
        it->has[into][i] = it->has[into][i] || it->has[from][i];
}

/* Everything of one or two others, at once; now and then looked at first, which changes nothing. */
static void exchange_whole(world *it, size_t into) {
    const char *sources[2];
    size_t count = random_below(&it->luck, 2) + 1;
    if (random_below(&it->luck, 4) == 0) {
        glassine_merge_options preview = {.preview = true};
        uint64_t before = file_length(copy_path(into));
        sources[0] = copy_path(random_below(&it->luck, (uint32_t)it->copies));
        merge(it, into, sources, 1, &preview);
        assert_int_equal(file_length(copy_path(into)), before);
        check_copy(it, into);
    }
    for (size_t i = 0; i < count; i++) {
        size_t from = random_below(&it->luck, (uint32_t)it->copies);
        sources[i] = copy_path(from);
        take_all(it, into, from);
    }
    merge(it, into, sources, count, NULL);
}

static void exchange_of_a_type(world *it, size_t into) {
    static const char *const only[] = {"item", "claim", NULL};
    size_t from = random_below(&it->luck, (uint32_t)it->copies);
    const char *source = copy_path(from);
    merge(it, into, &source, 1, &(glassine_merge_options){.only = only});
    for (size_t i = 0; i < it->model.count; i++)
        if (it->has[from][i] && (strncmp(it->model.slips[i].record, "item/", 5) == 0 ||
                                 strncmp(it->model.slips[i].record, "claim/", 6) == 0))
            it->has[into][i] = true;
}

typedef struct choosing {
    world *world;
    size_t into;
    glassine_bundle *from;
} choosing;

static bool choose(void *context, uint32_t slip) {
    choosing *it = context;
    if (random_below(&it->world->luck, 3) == 0)
        return false;
    it->world->has[it->into][model_add(&it->world->model, glassine_bundle_slip(it->from, slip).line)] = true;
    return true;
}

/* Any slips of another copy, without those that they follow, as a small bundle: what a reply may be. */
static void exchange_part(world *it, size_t into) {
    const char *part = in_folder("part.glassine");
    unlink(part);
    gl_make make;
    gl_about about = {.keeper = (char *)it->by[into], .title = (char *)"Part"};
    choosing some = {it, into,
                     opened(copy_path(random_below(&it->luck, (uint32_t)it->copies)), GLASSINE_READ)};
    size_t added;
    MUST(gl_make_new(&make, part, &about, &error));
    MUST(gl_carry_slips(make.draft, some.from, choose, &some, &added, &error));
    MUST(glassine_draft_save(make.draft, "part", &error));
    MUST(gl_make_publish(&make, false, &error));
    gl_make_free(&make);
    glassine_bundle_close(some.from);
    merge(it, into, &part, 1, NULL);
}

static void exchange(world *it) {
    size_t into = random_below(&it->luck, (uint32_t)it->copies);
    switch (random_below(&it->luck, 4)) {
    case 0:
        exchange_part(it, into);
        break;
    case 1:
        exchange_of_a_type(it, into);
        break;
    default:
        exchange_whole(it, into);
    }
    check_copy(it, into);
    it->exchanges++;
}

/* Everybody gets everything, in some order and grouping. */
static void exchange_everything(world *it) {
    for (size_t round = 0; round < 2; round++)
        for (size_t i = 0, first = random_below(&it->luck, (uint32_t)it->copies); i < it->copies; i++) {
            size_t into = (first + i) % it->copies;
            const char *sources[COPIES_MOST];
            size_t count = 0, skip = random_below(&it->luck, (uint32_t)it->copies);
            for (size_t k = 0; k < it->copies; k++) {
                size_t from = (skip + k) % it->copies;
                if (from != into) {
                    sources[count++] = copy_path(from);
                    take_all(it, into, from);
                }
            }
            merge(it, into, sources, count, NULL);
        }
}

/* ------------------------------------------------------------------------------------------ afterwards */

/* Each slip once, behind all that it follows; every value that anybody set is there. */
static void check_history(const world *it, glassine_bundle *bundle) {
    bool told[MODEL_SLIPS] = {false}, valued[INTENTIONS] = {false};
    size_t total = 0;
    glassine_cursor *cursor;
    MUST(glassine_cursor_new(bundle, NULL, true, &cursor, &error));
    for (glassine_record *record; (record = glassine_cursor_next(cursor));) {
        const uint32_t *slips;
        size_t count;
        MUST(glassine_record_history(bundle, record, &slips, &count, &error));
        for (size_t i = 0; i < count; i++) {
            size_t number = model_add((model *)&it->model, glassine_bundle_slip(bundle, slips[i]).line);
            const model_slip *slip = &it->model.slips[number];
            assert_false(told[number]);
            for (size_t k = 0; k < it->model.count; k++)
                assert_true(told[k] || !model_edge(slip, &it->model.slips[k]));
            told[number] = true;
            for (size_t k = 0; k < it->intended; k++) {
                json_t *value = json_object_get(json_object_get(slip->json, "set"), it->intentions[k].field);
                char *text = value ? json_dumps(value, JSON_ENCODE_ANY) : NULL;
                bool same =
                    it->intentions[k].value[0] ? text && strstr(text, it->intentions[k].value) : !value;
                same = same || (value && json_is_boolean(value));
                valued[k] = valued[k] || (same && strcmp(slip->record, it->intentions[k].record) == 0);
                free(text);
            }
        }
        total += count;
    }
    glassine_cursor_free(cursor);
    assert_int_equal(total, it->model.count);
    for (size_t k = 0; k < it->intended; k++)
        assert_true(valued[k]);
}

static void check_all_alike(world *it) {
    char digest[65], first[65] = "";
    char *wanted = model_reading(&it->model, it->has[0]);
    for (size_t copy = 0; copy < it->copies; copy++) {
        glassine_bundle *bundle = opened(copy_path(copy), GLASSINE_READ);
        assert_int_equal(glassine_bundle_slips(bundle), it->model.count);
        glassine_bundle_digest(bundle, digest);
        if (copy == 0)
            strcpy(first, digest);
        assert_string_equal(digest, first);
        char *found = library_reading(bundle);
        assert_string_equal(found, wanted);
        free(found);
        if (copy == 0)
            check_history(it, bundle);
        glassine_bundle_close(bundle);
    }
    free(wanted);
}

/* What is there already makes no edition, and the file does not grow. */
static void check_again(world *it) {
    size_t into = random_below(&it->luck, (uint32_t)it->copies),
           from = random_below(&it->luck, (uint32_t)it->copies);
    const char *source = copy_path(from);
    uint64_t before = file_length(copy_path(into));
    merge(it, into, &source, 1, NULL);
    assert_int_equal(file_length(copy_path(into)), before);
}

/* Copies of one beginning, and bundles that began by themselves. */
static void begin(world *it) {
    it->copies = 2 + random_below(&it->luck, COPIES_MOST - 1);
    it->slips_wanted = 10 + random_below(&it->luck, SLIPS_MOST - 9);
    for (size_t copy = 0; copy < it->copies; copy++) {
        it->by[copy] = PEOPLE[copy];
        unlink(copy_path(copy));
        if (copy && random_below(&it->luck, 2)) {
            copy_file(copy_path(0), copy_path(copy));
            memcpy(it->has[copy], it->has[0], sizeof it->has[0]);
            continue;
        }
        glassine_record *record;
        gl_make make;
        gl_about about = {.keeper = (char *)PEOPLE[copy], .title = (char *)"Sorrel Islands"};
        glassine_assignment name = {"name", "Somebody", NULL}, label = {"label", "H-1", NULL},
                            of = {"item", RECORDS[0], NULL};
        set_clock(it);
        MUST(gl_make_new(&make, copy_path(copy), &about, &error));
        MUST(gl_draft_enter_as(make.draft, PEOPLE[copy], &name, 1, &record, &error));
        MUST(gl_draft_enter_as(make.draft, RECORDS[0], &label, 1, &record, &error));
        MUST(gl_draft_enter_as(make.draft, RECORDS[2], &of, 1, &record, &error));
        MUST(glassine_draft_save(make.draft, "begun", &error));
        MUST(gl_make_publish(&make, false, &error));
        learn(it, copy, make.bundle);
        gl_make_free(&make);
    }
}

static void one_history(uint64_t seed) {
    world *it = calloc(1, sizeof *it);
    assert_non_null(it);
    it->luck = seed * UINT64_C(0x9e3779b97f4a7c15) + 1;
    begin(it);
    while (it->model.count < it->slips_wanted && it->exchanges < SLIPS_MOST) {
        if (random_below(&it->luck, 3))
            speak(it, random_below(&it->luck, (uint32_t)it->copies));
        else
            exchange(it);
    }
    exchange_everything(it);
    check_all_alike(it);
    check_again(it);
    model_free(&it->model);
    free(it);
}

static void copies_that_saw_the_same_are_the_same(void **state) {
    (void)state;
    for (uint64_t seed = 1; seed <= HISTORIES; seed++)
        one_history(seed);
    unsetenv("SOURCE_DATE_EPOCH");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(copies_that_saw_the_same_are_the_same),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
