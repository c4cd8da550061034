/* What a merge tells of standings, over random plates, stamps and opinions: it looks only at what can have
 * changed, and must tell what a comparison of all standings, as they were and as they are, comes to. The
 * source is the definition (spec/exchange.md): a stamp is told where what stands of it after differs from
 * what stood before. */
#include "exchange/merge.h"

#include "exchange/support.h"
#include "rounds.h"

#ifdef __SANITIZE_ADDRESS__
enum { HISTORIES = 60 };
#else
enum { HISTORIES = ROUNDS_OF(300) };
#endif
enum { ITEMS = 6, STAMPS = 9, CLAIMS = 24, PEOPLE = 3, MATCHES = 3, PLATES = 2 };

#define ID "%08x-0000-4000-8000-000000000000"

typedef struct scene {
    uint64_t luck;
    glassine_draft *draft;
    unsigned clock;
} scene;

static uint32_t any(scene *it, uint32_t below) {
    return random_below(&it->luck, below);
}

/* A slip by one of the people, later than all others; it follows what stood on the record before. */
static void say(scene *it, uint32_t by, const char *type, uint32_t number, const char *set) {
    char record[80], person[80], at[GL_TIME_SIZE];
    glassine_bundle *bundle = it->draft->bundle;
    gl_digest *after = NULL;
    size_t count = 0;
    snprintf(record, sizeof record, "%s/" ID, type, number);
    snprintf(person, sizeof person, "contributor/" ID, by);
    gl_time_print(1772359200 + it->clock++, at);
    glassine_record *there = glassine_bundle_record(bundle, gl_span_of(record), gl_span_of(person));
    if (!there)
        there = glassine_bundle_record(bundle, gl_span_of(record), GL_NO_SPAN);
    if (there && (there->author == GL_NONE || gl_span_is(glassine_record_author(bundle, there), person)))
        MUST(gl_reading_heads(bundle->store, there->subject, there->author, GLASSINE_SHARED, bundle->arena,
                              &after, &count, &error));
    gl_slip_parts parts = {.after = after,
                           .after_count = count,
                           .at = gl_span_of(at),
                           .by = gl_span_of(person),
                           .record = gl_span_of(record),
                           .reach = GLASSINE_SHARED,
                           .set = gl_span_of(set)};
    gl_buf line = GL_BUF_EMPTY;
    bool added;
    gl_slip_write(&parts, &line);
    MUST(gl_draft_add_line(it->draft, gl_buf_span(&line), "test", &added, &error));
    MUST(gl_bundle_index(bundle, &error));
    gl_buf_free(&line);
}

static void say_stamp(scene *it, uint32_t by, uint32_t number) {
    char set[400];
    snprintf(set, sizeof set,
             "{\"column\":%u,\"design\":\"design/" ID "\",\"item\":\"item/" ID "\",\"row\":%u%s}",
             1 + number % 3, any(it, 4) == 0, number % ITEMS, 1 + number / ITEMS,
             any(it, 3) ? "" : ",\"selvedge\":[\"left\"]");
    say(it, by, "stamp", number, set);
}

/* Where, perhaps because of other claims and matches, perhaps instead of a claim. */
static void say_claim(scene *it, uint32_t by, uint32_t number) {
    static const char *const places[] = {"row 2", "5", "5", "5", "5", "not 7", "7", "any"};
    char set[700];
    int length = 0;
    length += snprintf(set, sizeof set, "{");
    if (any(it, 2) == 0)
        length += snprintf(set + length, sizeof set - (size_t)length, "\"basis\":[\"%s/" ID "\"],",
                           any(it, 6) ? "claim" : "match", any(it, any(it, 2) ? CLAIMS : MATCHES));
    length += snprintf(set + length, sizeof set - (size_t)length, "\"confidence\":\"%s\",",
                       any(it, 6) ? "certain" : "possible");
    if (any(it, 6) == 0)
        length += snprintf(set + length, sizeof set - (size_t)length, "\"instead_of\":\"claim/" ID "\",",
                           any(it, CLAIMS));
    length += snprintf(set + length, sizeof set - (size_t)length, "\"plates\":[\"plate/" ID "\"],",
                       any(it, 5) == 0);
    snprintf(set + length, sizeof set - (size_t)length, "\"positions\":\"%s\",\"stamp\":\"stamp/" ID "\"%s}",
             places[any(it, COUNT(places))], number % STAMPS, any(it, 8) ? "" : ",\"withdrawn\":true");
    say(it, by, "claim", number, set);
}

static void say_match(scene *it, uint32_t by, uint32_t number) {
    char set[400];
    snprintf(set, sizeof set,
             "{\"across\":%u,\"relation\":\"%s\",\"stamps\":[\"stamp/" ID "\",\"stamp/" ID "\"]}", any(it, 2),
             any(it, 2) ? "same" : "neighbour", any(it, STAMPS), any(it, STAMPS));
    say(it, by, "match", number, set);
}

static void say_plate(scene *it, uint32_t number, uint32_t rows) {
    char set[300];
    snprintf(set, sizeof set, "{\"columns\":3,\"design\":\"design/" ID "\",\"label\":\"%u\",\"rows\":%u}",
             number / 2, number + 1, rows);
    say(it, 0, "plate", number, set);
}

/* The mark in the margin that is known, or one that is not, on a stamp or on an item. */
static void say_seen(scene *it, uint32_t by, uint32_t number) {
    char set[300], item[80] = "", mark[80] = "", stamp[80] = "";
    if (any(it, 2))
        snprintf(item, sizeof item, ",\"item\":\"item/" ID "\"", any(it, ITEMS));
    else
        snprintf(stamp, sizeof stamp, ",\"stamp\":\"stamp/" ID "\"", any(it, STAMPS));
    if (any(it, 4))
        snprintf(mark, sizeof mark, ",\"mark\":\"mark/" ID "\"", 0);
    snprintf(set, sizeof set, "{\"appearance\":\"dot\"%s%s%s,\"x\":-60,\"y\":500}", item, mark, stamp);
    say(it, by, "observation", number, set);
}

/* Something of what bears on standings; now and then something that bears on all of them. */
static void say_something(scene *it) {
    char set[300];
    uint32_t by = any(it, PEOPLE), number = any(it, ITEMS);
    switch (any(it, 24)) {
    case 0:
        say_plate(it, any(it, PLATES), 4 + any(it, 2));
        break;
    case 1:
        snprintf(set, sizeof set, "{\"records\":[\"stamp/" ID "\",\"stamp/" ID "\"]}", any(it, STAMPS),
                 any(it, STAMPS));
        say(it, 0, "join", any(it, 2), set);
        break;
    case 2:
        snprintf(set, sizeof set, "{\"set_aside\":%s}", any(it, 2) ? "true" : "false");
        say(it, 0, any(it, 2) ? "item" : "stamp", number, set);
        break;
    case 3:
    case 4:
        say_match(it, by, any(it, MATCHES));
        break;
    case 5:
        snprintf(set, sizeof set,
                 "{\"basis\":[\"claim/" ID "\"],\"positions\":\"5\",\"stamp\":\"stamp/" ID "\"}",
                 any(it, CLAIMS), any(it, STAMPS));
        say(it, by, "conclusion", number, set);
        break;
    case 6:
        say_seen(it, by, number);
        break;
    case 7:
    case 8:
        say_stamp(it, by, any(it, STAMPS));
        break;
    default:
        say_claim(it, by, any(it, CLAIMS));
    }
}

static void say_much(scene *it, const char *path, uint32_t count) {
    saying_session on = begin_saying(path, NULL);
    it->draft = on.draft;
    for (uint32_t i = 0; i < count; i++)
        say_something(it);
    end_saying(&on);
}

static void begin(scene *it, const char *path, uint32_t more) {
    char keeper[80], set[200];
    gl_make make;
    snprintf(keeper, sizeof keeper, "contributor/" ID, 0);
    gl_about about = {.keeper = keeper, .title = (char *)"Sorrel Islands"};
    unlink(path);
    MUST(gl_make_new(&make, path, &about, &error));
    it->draft = make.draft;
    for (uint32_t i = 0; i < PEOPLE; i++) {
        snprintf(set, sizeof set, "{\"name\":\"Person %u\"}", i);
        say(it, i, "contributor", i, set);
    }
    say(it, 0, "design", 0, "{\"label\":\"KF\"}");
    say(it, 0, "design", 1, "{\"label\":\"HN\"}");
    for (uint32_t i = 0; i < PLATES; i++)
        say_plate(it, i, 4);
    snprintf(set, sizeof set,
             "{\"appearance\":\"dot\",\"plate\":\"plate/" ID "\",\"positions\":\"5\",\"x\":-60,\"y\":500}",
             0);
    say(it, 0, "mark", 0, set);
    for (uint32_t i = 0; i < ITEMS; i++) {
        snprintf(set, sizeof set, "{\"label\":\"H-%u\"}", (i * 5) % ITEMS);
        say(it, 0, "item", i, set);
    }
    for (uint32_t i = 0; i < STAMPS; i++)
        say_stamp(it, 0, i);
    for (uint32_t i = 0; i < more; i++)
        say_something(it);
    MUST(glassine_draft_save(make.draft, "begun", &error));
    MUST(gl_make_publish(&make, false, &error));
    gl_make_free(&make);
}

static void add_told(gl_buf *out, gl_span stamp, const char *was, const char *is) {
    gl_buf_printf(out, "%.*s: %s -> %s\n", GL_SPAN_ARGS(stamp), was ? was : "not there", is);
}

static void note(void *context, glassine_bundle *bundle, const glassine_merge_note *met) {
    if (met->met == GLASSINE_MET_STANDING)
        add_told(context, glassine_record_key(bundle, met->record), met->before, met->text);
}

static const char *shown(glassine_standings *all, size_t at) {
    static char texts[2][1024];
    static unsigned next;
    char *text = texts[next++ % 2];
    glassine_stamp_standing is = glassine_standings_at(all, at);
    const char *places =
        strcmp(is.standing, "unplaced") == 0 || !is.count ? "" : glassine_standings_shown(all, at, 6);
    snprintf(text, sizeof texts[0], "%s%s%s", is.standing, *places ? ": " : "", places);
    return text;
}

/* All standings of two bundles, compared. */
static void compare(const char *before, const char *after, gl_buf *out) {
    glassine_bundle *a = opened(before, GLASSINE_READ), *b = opened(after, GLASSINE_READ);
    glassine_standings *was, *is;
    MUST(glassine_standings_new(a, NULL, &was, &error));
    MUST(glassine_standings_new(b, NULL, &is, &error));
    for (size_t i = 0; i < glassine_standings_count(is); i++) {
        glassine_record *stamp = glassine_standings_at(is, i).stamp;
        glassine_record *earlier = glassine_bundle_record(a, glassine_record_id(b, stamp), GL_NO_SPAN);
        size_t at = earlier ? glassine_standings_find(was, earlier) : SIZE_MAX;
        const char *now = shown(is, i), *then = at == SIZE_MAX ? NULL : shown(was, at);
        if (strcmp(now, then ? then : "unplaced") != 0)
            add_told(out, glassine_record_key(b, stamp), then, now);
    }
    glassine_standings_free(was);
    glassine_standings_free(is);
    glassine_bundle_close(a);
    glassine_bundle_close(b);
}

/* Does anything stand elsewhere once `other` is merged into `one`? */
static bool merge_tells_all(const char *one, const char *other) {
    const char *before = in_folder("before.glassine");
    copy_file(one, before);
    gl_buf told = GL_BUF_EMPTY, wanted = GL_BUF_EMPTY;
    gl_buf_add_text(&told, "");
    gl_buf_add_text(&wanted, "");
    glassine_merge_options options = {.tell = note, .context = &told};
    saying_session on = begin_saying(one, NULL);
    MUST(glassine_merge(on.draft, &other, 1, &options, NULL, &error));
    glassine_draft_free(on.draft);
    glassine_bundle_close(on.bundle);
    compare(before, one, &wanted);
    assert_string_equal(told.text, wanted.text);
    bool moved = told.length > 0;
    gl_buf_free(&told);
    gl_buf_free(&wanted);
    return moved;
}

static bool one_history(uint64_t seed) {
    scene it = {.luck = seed * UINT64_C(0x9e3779b97f4a7c15) + 1};
    const char *one = in_folder("one.glassine"), *other = in_folder("other.glassine");
    begin(&it, one, any(&it, 20));
    copy_file(one, other);
    say_much(&it, other, 1 + any(&it, 6));
    if (any(&it, 2))
        say_much(&it, one, 1 + any(&it, 6));
    return merge_tells_all(one, other);
}

static void standings_that_moved_are_told_all_of_them(void **state) {
    size_t moved = 0;
    (void)state;
    for (uint64_t seed = 1; seed <= HISTORIES; seed++)
        moved += one_history(seed);
    assert_true(moved > HISTORIES / 2); /* it is no test of nothing */
}

static void say_placed(scene *it, uint32_t by, uint32_t number, uint32_t stamp, const char *on,
                       uint32_t basis) {
    char set[400];
    snprintf(set, sizeof set,
             "{\"basis\":[\"%s/" ID "\"],\"plates\":[\"plate/" ID
             "\"],\"positions\":\"5\",\"stamp\":\"stamp/" ID "\"}",
             on, basis, 0, stamp);
    say(it, by, "claim", number, set);
}

/* Two say the same of a stamp; that one of them rests on the other follows from a claim on another stamp. */
static void a_claim_in_between_is_looked_through(void **state) {
    enum { FIRST = 100, SECOND, BETWEEN, NOWHERE };
    scene it = {.luck = 1};
    const char *one = in_folder("one.glassine"), *other = in_folder("other.glassine");
    (void)state;
    begin(&it, one, 0);
    saying_session on = begin_saying(one, NULL);
    it.draft = on.draft;
    say_placed(&it, 1, FIRST, 5, "claim", BETWEEN);
    say_placed(&it, 2, SECOND, 5, "claim", NOWHERE);
    say_placed(&it, 0, BETWEEN, 4, "claim", NOWHERE);
    end_saying(&on);
    copy_file(one, other);
    on = begin_saying(other, NULL);
    it.draft = on.draft;
    say_placed(&it, 0, BETWEEN, 4, "claim", SECOND);
    end_saying(&on);
    assert_true(merge_tells_all(one, other));
}

/* The same, where what comes is somebody's conclusion alone. */
static void a_conclusion_in_between_is_looked_through(void **state) {
    enum { FIRST = 100, SECOND, BETWEEN, NOWHERE };
    scene it = {.luck = 1};
    char set[300];
    const char *one = in_folder("one.glassine"), *other = in_folder("other.glassine");
    (void)state;
    begin(&it, one, 0);
    saying_session on = begin_saying(one, NULL);
    it.draft = on.draft;
    say_placed(&it, 1, FIRST, 5, "conclusion", BETWEEN);
    say_placed(&it, 2, SECOND, 5, "claim", NOWHERE);
    end_saying(&on);
    copy_file(one, other);
    on = begin_saying(other, NULL);
    it.draft = on.draft;
    snprintf(set, sizeof set, "{\"basis\":[\"claim/" ID "\"],\"positions\":\"5\",\"stamp\":\"stamp/" ID "\"}",
             SECOND, 4);
    say(&it, 0, "conclusion", BETWEEN, set);
    end_saying(&on);
    assert_true(merge_tells_all(one, other));
}

/* The last slip of the draft is signed. */
static void sign_last(scene *it, const glassine_key *key) {
    const gl_store *store = it->draft->bundle->store;
    gl_buf line = GL_BUF_EMPTY;
    assert_true(gl_signature_write(key, &gl_store_at(store, gl_store_count(store) - 1)->digest, &line));
    gl_span kept = gl_arena_copy(it->draft->bundle->arena, gl_buf_span(&line));
    MUST(gl_draft_add_signature(it->draft, kept, &error));
    gl_buf_free(&line);
}

/* What did not count, since its author signs, does once it is signed: a slip that was here, and nothing else comes. */
static void a_signature_alone_moves_a_stamp(void **state) {
    enum { CLAIM = 100, NOWHERE };
    scene it = {.luck = 3};
    char set[200];
    const char *one = in_folder("one.glassine"), *other = in_folder("other.glassine");
    glassine_key *key;
    (void)state;
    MUST(glassine_key_new(&key, &error));
    snprintf(set, sizeof set, "{\"key\":\"%s\"}", glassine_key_public(key));
    begin(&it, one, 0);
    saying_session on = begin_saying(one, NULL);
    it.draft = on.draft;
    say(&it, 1, "contributor", 1, set);
    sign_last(&it, key);
    end_saying(&on);
    on = begin_saying(one, NULL);
    it.draft = on.draft;
    say_placed(&it, 1, CLAIM, 5, "claim", NOWHERE);
    end_saying(&on);
    copy_file(one, other);
    on = begin_saying(other, NULL);
    it.draft = on.draft;
    sign_last(&it, key);
    end_saying(&on);
    assert_true(merge_tells_all(one, other));
    glassine_key_free(key);
}

/* Who looks on, and what was told of standings. */
typedef struct looking {
    bool stops;
    unsigned told;
    uint64_t done, total;
} looking;

static bool look(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    looking *it = context;
    if (strcmp(doing, "working out standings") != 0)
        return true;
    assert_string_equal(unit, "records");
    assert_true(done <= total);
    it->told++;
    it->done = done;
    it->total = total;
    return !it->stops;
}

/* A merge into `one` that brings something to `other`, looked at by `it`. */
static glassine_status merge_watched(const char *one, const char *other, looking *it) {
    const glassine_watch watch = {look, it};
    const glassine_options watched = {.watch = &watch};
    gl_buf told = GL_BUF_EMPTY;
    glassine_merge_options options = {.tell = note, .context = &told};
    glassine_bundle *bundle;
    glassine_draft *draft;
    MUST(glassine_bundle_open(one, GLASSINE_WRITE, &watched, &bundle, &error));
    MUST(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    glassine_status status = glassine_merge(draft, &other, 1, &options, NULL, &error);
    gl_buf_free(&told);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    return status;
}

/* They are counted in records (spec/commands.md: what is done, how much of how much), and stopping changes nothing. */
static void whoever_looks_on_is_told_and_may_stop(void **state) {
    scene it = {.luck = 7};
    looking stopping = {.stops = true}, going_on = {.stops = false};
    const char *one = in_folder("one.glassine"), *other = in_folder("other.glassine"),
               *kept = in_folder("kept.glassine");
    (void)state;
    begin(&it, one, 3);
    copy_file(one, other);
    copy_file(one, kept);
    saying_session on = begin_saying(other, NULL);
    it.draft = on.draft;
    say_claim(&it, 1, 5);
    end_saying(&on);
    assert_int_equal(merge_watched(one, other, &stopping), GLASSINE_SYSTEM);
    assert_non_null(strstr(error.message, "nothing was changed"));
    gl_buf now = GL_BUF_EMPTY, then = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(one, (size_t)1 << 28, &now), 0);
    assert_int_equal(gl_file_read_all(kept, (size_t)1 << 28, &then), 0);
    assert_true(gl_span_equal(gl_buf_span(&now), gl_buf_span(&then)));
    gl_buf_free(&now);
    gl_buf_free(&then);
    assert_true(stopping.told > 0);
    assert_int_equal(merge_watched(one, other, &going_on), GLASSINE_OK);
    assert_true(going_on.told > 0);
    assert_true(going_on.total > 0);
    assert_int_equal(going_on.done, going_on.total);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_conclusion_in_between_is_looked_through),
        cmocka_unit_test(a_claim_in_between_is_looked_through),
        cmocka_unit_test(standings_that_moved_are_told_all_of_them),
        cmocka_unit_test(a_signature_alone_moves_a_stamp),
        cmocka_unit_test(whoever_looks_on_is_told_and_may_stop),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
