#include "slips/made.h"
#include "slips/members.h"

typedef struct fixture {
    gl_arena *arena;
    gl_store *store;
} fixture;

static int set_up(void **state) {
    fixture *f = malloc(sizeof *f);
    *f = (fixture){gl_arena_new(), gl_store_new()};
    *state = f;
    return f->arena && f->store ? 0 : 1;
}

static int tear_down(void **state) {
    fixture *f = *state;
    gl_store_free(f->store);
    gl_arena_free(f->arena);
    free(f);
    return 0;
}

/* The i-th of a family of lines over eight records, three people and three reaches. */
static gl_span line_of(gl_arena *arena, uint32_t i) {
    static const char *const people[] = {ADA, BEN, CAT};
    char record[64], set[64];
    snprintf(record, sizeof record, "item/%08x-0000-4000-8000-000000000000", i * 7919 % 8);
    snprintf(set, sizeof set, "{\"n\":%u}", i);
    return made_slip(arena, NULL, 0, "2026-03-01T10:00:00Z", people[i / 5 % 3], (glassine_reach)(i % 3),
                     record, set, NULL);
}

static void a_slip_is_there_once(void **state) {
    fixture *f = *state;
    gl_span line = line_of(f->arena, 1), copy = gl_arena_copy(f->arena, line);
    uint32_t slip;
    bool added;
    assert_int_equal(made_add(f->store, line), 0);
    assert_int_equal(gl_store_add(f->store, copy, 2, NULL, &slip, &added, NULL), GLASSINE_OK);
    assert_false(added);
    assert_int_equal(slip, 0);
    assert_int_equal(gl_store_count(f->store), 1);
    assert_int_equal(gl_store_at(f->store, 0)->edition, 1);
    assert_ptr_equal(gl_store_line(f->store, 0).text, line.text);
}

static void the_limit_refuses_and_changes_nothing(void **state) {
    fixture *f = *state;
    glassine_limits limits = {.slips = 2};
    glassine_error error = {0};
    uint32_t slip;
    bool added;
    for (uint32_t i = 0; i < 2; i++)
        assert_int_equal(gl_store_add(f->store, line_of(f->arena, i), 1, &limits, &slip, &added, &error),
                         GLASSINE_OK);
    assert_int_equal(gl_store_add(f->store, line_of(f->arena, 9), 1, &limits, &slip, &added, &error),
                     GLASSINE_REFUSED);
    assert_string_equal(error.rule, "L021");
    assert_int_equal(gl_store_count(f->store), 2);
    assert_int_equal(gl_store_add(f->store, line_of(f->arena, 1), 1, &limits, &slip, &added, &error),
                     GLASSINE_OK);
    assert_false(added);
}

/* What the store says of its `count` lines, against a count over the lines' parts. */
static void check_against_lines(const gl_store *store, const gl_span *lines, uint32_t count) {
    assert_int_equal(gl_store_count(store), count);
    for (uint32_t i = 0; i < count; i++) {
        gl_digest digest = made_digest(lines[i]);
        assert_int_equal(gl_store_find(store, &digest), i);
        gl_slip_view view;
        gl_slip_look(gl_store_line(store, i), &view);
        const gl_slip *slip = gl_store_at(store, i);
        glassine_reach reach;
        assert_true(gl_reach_parse(view.reach, &reach));
        assert_int_equal(slip->reach, reach);
        assert_true(gl_span_equal(gl_store_person(store, slip->author), gl_json_raw(view.by)));
        assert_true(gl_span_equal(gl_store_record(store, slip->record)->id, gl_json_raw(view.record)));
    }
    uint32_t on_records = 0, voices = 0, by_voices = 0;
    for (uint32_t r = 0; r < gl_store_records(store); r++) {
        const gl_subject *subject = gl_store_record(store, r);
        assert_int_equal(gl_store_record_find(store, subject->id), r);
        uint32_t left = subject->count;
        for (uint32_t s = subject->last; s != GL_NONE; s = gl_store_at(store, s)->previous, on_records++) {
            assert_int_equal(gl_store_at(store, s)->record, r);
            assert_true(gl_store_at(store, s)->previous == GL_NONE || gl_store_at(store, s)->previous < s);
            left--;
        }
        assert_int_equal(left, 0);
        assert_true(subject->count > 0);
        for (uint32_t v = subject->voice; v != GL_NONE; v = gl_store_voice(store, v)->next, voices++) {
            const gl_voice *voice = gl_store_voice(store, v);
            assert_int_equal(voice->record, r);
            assert_int_equal(gl_store_voice_find(store, r, voice->author), v);
            left = voice->count;
            for (uint32_t s = voice->last; s != GL_NONE;
                 s = gl_store_at(store, s)->own_previous, by_voices++) {
                assert_int_equal(gl_store_at(store, s)->author, voice->author);
                left--;
            }
            assert_int_equal(left, 0);
        }
    }
    assert_int_equal(on_records, count);
    assert_int_equal(by_voices, count);
    assert_true(voices >= gl_store_records(store));
    for (uint32_t p = 0; p < gl_store_people(store); p++)
        assert_int_equal(gl_store_person_find(store, gl_store_person(store, p)), p);
}

static void what_was_cut_off_was_never_there(void **state) {
    enum { STEPS = 60, STEP = 60 };
    static gl_span lines[STEPS * STEP];
    fixture *f = *state;
    uint64_t random = 11;
    uint32_t count = 0;
    for (uint32_t i = 0; i < STEPS * STEP; i++)
        lines[i] = line_of(f->arena, i);
    gl_digest digest = made_digest(lines[0]);
    for (int step = 0; step < STEPS; step++) {
        uint32_t more = made_random(&random, STEP), cut;
        for (uint32_t i = 0; i < more; i++, count++)
            assert_int_equal(made_add(f->store, lines[count]), count);
        check_against_lines(f->store, lines, count);
        cut = made_random(&random, 3) == 0 ? 0 : made_random(&random, count + 1);
        gl_digest gone = made_digest(lines[cut]);
        gl_store_cut(f->store, cut);
        assert_int_equal(gl_store_find(f->store, &gone), GL_NONE);
        count = cut;
        check_against_lines(f->store, lines, count);
    }
    gl_store_cut(f->store, 0);
    assert_int_equal(gl_store_find(f->store, &digest), GL_NONE);
    assert_int_equal(gl_store_records(f->store), 0);
    assert_int_equal(gl_store_people(f->store), 0);
    assert_int_equal(gl_store_record_find(f->store, GL_SPAN(ITEM)), GL_NONE);
    assert_int_equal(gl_store_person_find(f->store, GL_SPAN(ADA)), GL_NONE);
}

static void the_digest_minds_the_set_and_not_the_order(void **state) {
    fixture *f = *state;
    gl_digest empty, forth, back, less;
    /* SHA-256 of no bytes: NIST CAVP, SHA256ShortMsg, Len = 0. */
    char hex[GL_HEX_SIZE];
    assert_int_equal(gl_store_digest(f->store, &empty, NULL), GLASSINE_OK);
    gl_digest_hex(&empty, hex);
    assert_string_equal(hex, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    for (uint32_t i = 0; i < 50; i++)
        made_add(f->store, line_of(f->arena, i));
    assert_int_equal(gl_store_digest(f->store, &forth, NULL), GLASSINE_OK);
    gl_store_cut(f->store, 0);
    for (uint32_t i = 50; i-- > 1;)
        made_add(f->store, line_of(f->arena, i));
    assert_int_equal(gl_store_digest(f->store, &less, NULL), GLASSINE_OK);
    made_add(f->store, line_of(f->arena, 0));
    assert_int_equal(gl_store_digest(f->store, &back, NULL), GLASSINE_OK);
    assert_true(gl_digest_equal(&forth, &back));
    assert_false(gl_digest_equal(&forth, &less));
}

/* ---- many: slips lie in chunks, which stores that grew from one have in common ---- */

/* As CHUNK_BITS in store.c has it. */
enum { CHUNK = 1 << 17, MOST = 2 * CHUNK + 3000 };

/* The lines of the tests below, made once: on records of one slip and of many, by few people and by ever more. */
static gl_arena *many_arena;
static gl_span *many;
static gl_digest *many_digests;

static gl_span line_of_many(gl_arena *arena, uint32_t i, uint64_t *random) {
    char record[64], person[64], set[64];
    uint32_t by = made_random(random, 3) ? made_random(random, 4) : made_random(random, 10 + i / 4000);
    snprintf(record, sizeof record, "item/%08x-0000-4000-8000-000000000000",
             made_random(random, 3) ? i / 2 : made_random(random, 2000));
    snprintf(person, sizeof person, "contributor/%08x-0000-4000-8000-000000000000", by);
    snprintf(set, sizeof set, "{\"n\":%u}", i);
    return made_slip(arena, NULL, 0, "2026-03-01T10:00:00Z", person, (glassine_reach)(i % 3), record, set,
                     NULL);
}

static int make_many(void **state) {
    uint64_t random = 5;
    (void)state;
    gl_hash *hash = gl_hash_new();
    many_arena = gl_arena_new();
    many = GL_ARENA_ARRAY(many_arena, gl_span, MOST);
    many_digests = GL_ARENA_ARRAY(many_arena, gl_digest, MOST);
    for (uint32_t i = 0; i < MOST; i++) {
        many[i] = line_of_many(many_arena, i, &random);
        many_digests[i] = gl_hash_once(hash, many[i].text, many[i].length);
    }
    gl_hash_free(hash);
    return gl_arena_failed(many_arena);
}

static int free_many(void **state) {
    (void)state;
    gl_arena_free(many_arena);
    return 0;
}

/* Adds the line, which must be new, and gets the next number. */
static void add_one(gl_store *store, uint32_t line) {
    uint32_t slip, count = gl_store_count(store);
    bool added;
    assert_int_equal(gl_store_add_known(store, many[line], &many_digests[line], 1 + line / 1000, NULL, &slip,
                                        &added, NULL),
                     GLASSINE_OK);
    assert_true(added);
    assert_int_equal(slip, count);
}

/* Adds the lines from `from` up to `end` to both, the last one first. */
static void add_backwards(gl_store *one, gl_store *other, uint32_t from, uint32_t end) {
    for (uint32_t line = end; line-- > from;) {
        add_one(one, line);
        add_one(other, line);
    }
}

/* Adds the lines from `from` up to `end`. */
static void add_run(gl_store *store, uint32_t from, uint32_t end) {
    for (uint32_t i = from; i < end; i++)
        add_one(store, i);
}

static gl_store *store_of_first(uint32_t count) {
    gl_store *store = gl_store_new();
    assert_non_null(store);
    add_run(store, 0, count);
    return store;
}

/* Of many each is compared, and these are looked up: the last ones, and a part of the others. */
static bool is_looked_up(uint32_t number, uint32_t count) {
    return number % 7 == 0 || count - number < 3000;
}

static void slips_are_as(const gl_store *store, const gl_store *wanted) {
    uint32_t count = gl_store_count(wanted), next = 0;
    assert_int_equal(gl_store_count(store), count);
    for (uint32_t i = 0; i < count; i++) {
        const gl_slip *a = gl_store_at(store, i), *b = gl_store_at(wanted, i);
        if (a->line != b->line || a->length != b->length || a->record != b->record ||
            a->author != b->author || a->previous != b->previous || a->own_previous != b->own_previous ||
            a->edition != b->edition || a->reach != b->reach || !gl_digest_equal(&a->digest, &b->digest))
            fail_msg("slip %u of %u is another one", i, count);
        assert_int_equal(gl_store_find_next(store, &b->digest, &next), i);
        if (is_looked_up(i, count))
            assert_int_equal(gl_store_find(store, &b->digest), i);
    }
}

static void voices_are_as(const gl_store *store, const gl_store *wanted, uint32_t record) {
    uint32_t v = gl_store_record(wanted, record)->voice;
    assert_int_equal(gl_store_record(store, record)->voice, v);
    assert_int_equal(gl_store_record(store, record)->first_voice,
                     gl_store_record(wanted, record)->first_voice);
    for (; v != GL_NONE; v = gl_store_voice(wanted, v)->next) {
        const gl_voice *a = gl_store_voice(store, v), *b = gl_store_voice(wanted, v);
        assert_memory_equal(a, b, sizeof *a); /* five numbers */
        assert_int_equal(gl_store_voice_find(store, record, b->author), v);
    }
    for (uint32_t p = 0; p < gl_store_people(wanted) && record % 64 == 0; p++)
        assert_int_equal(gl_store_voice_find(store, record, p), gl_store_voice_find(wanted, record, p));
}

/* Both say the same, to the numbers, of all that can be asked of a store. */
static void is_as(const gl_store *store, const gl_store *wanted) {
    slips_are_as(store, wanted);
    assert_int_equal(gl_store_records(store), gl_store_records(wanted));
    for (uint32_t r = 0; r < gl_store_records(wanted); r++) {
        const gl_subject *a = gl_store_record(store, r), *b = gl_store_record(wanted, r);
        assert_int_equal(a->last, b->last);
        assert_int_equal(a->count, b->count);
        assert_true(gl_span_equal(a->id, b->id));
        if (is_looked_up(r, gl_store_records(wanted)))
            assert_int_equal(gl_store_record_find(store, b->id), r);
        voices_are_as(store, wanted, r);
    }
    assert_int_equal(gl_store_people(store), gl_store_people(wanted));
    for (uint32_t p = 0; p < gl_store_people(wanted); p++) {
        assert_true(gl_span_equal(gl_store_person(store, p), gl_store_person(wanted, p)));
        assert_int_equal(gl_store_person_find(store, gl_store_person(wanted, p)), p);
    }
}

/* It knows nothing of what the other one has beyond it. */
static void knows_no_more(const gl_store *store, const gl_store *larger) {
    for (uint32_t i = gl_store_count(store); i < gl_store_count(larger); i += 1 + i % 7)
        assert_int_equal(gl_store_find(store, &gl_store_at(larger, i)->digest), GL_NONE);
    for (uint32_t r = gl_store_records(store); r < gl_store_records(larger); r += 1 + r % 7)
        assert_int_equal(gl_store_record_find(store, gl_store_record(larger, r)->id), GL_NONE);
    for (uint32_t p = gl_store_people(store); p < gl_store_people(larger); p++)
        assert_int_equal(gl_store_person_find(store, gl_store_person(larger, p)), GL_NONE);
}

static void chunks_are_not_seen(void **state) {
    (void)state;
    gl_store *store = store_of_first(CHUNK + 3000);
    check_against_lines(store, many, CHUNK + 3000);
    gl_store_free(store);
}

static int by_number(const void *a, const void *b) {
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

/* About the ends of chunks, and anywhere. */
static void a_store_as_it_was_is_made_of_those_lines_alone(void **state) {
    uint32_t counts[] = {0, CHUNK - 1, CHUNK, CHUNK + 1, 2 * CHUNK, 2 * CHUNK + 1, MOST, 0};
    enum { COUNTS = sizeof counts / sizeof counts[0], RANDOM = 1 };
    uint64_t random = 17;
    (void)state;
    for (size_t i = COUNTS - RANDOM; i < COUNTS; i++)
        counts[i] = made_random(&random, MOST);
    qsort(counts, COUNTS, sizeof counts[0], by_number);
    gl_store *whole = store_of_first(MOST), *alone = gl_store_new();
    for (size_t i = 0; i < COUNTS; i++) {
        add_run(alone, gl_store_count(alone), counts[i]);
        gl_store *before = gl_store_before(whole, counts[i]);
        gl_store *beginning = gl_store_beginning(whole, counts[i]);
        is_as(before, alone);
        is_as(beginning, alone);
        knows_no_more(before, whole);
        knows_no_more(beginning, whole);
        gl_store_free(before);
        gl_store_free(beginning);
    }
    is_as(whole, alone);
    gl_store_free(alone);
    gl_store_free(whole);
}

/* What came to the whole after the beginning is new to it, and comes in another order. */
static void a_beginning_goes_on_by_itself(void **state) {
    enum { WHOLE = CHUNK + 2000, LATER = WHOLE + 2000 };
    static const uint32_t counts[] = {0, 700, CHUNK - 500, CHUNK, CHUNK + 1};
    (void)state;
    gl_store *whole = store_of_first(WHOLE), *as_before = store_of_first(WHOLE);
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        uint32_t later = counts[i] < CHUNK - 500 ? counts[i] + 3000 : LATER;
        gl_store *beginning = gl_store_beginning(whole, counts[i]), *alone = store_of_first(counts[i]);
        add_backwards(beginning, alone, counts[i], later);
        is_as(beginning, alone);
        gl_store_free(beginning);
        gl_store_free(alone);
    }
    is_as(whole, as_before);
    gl_store_free(as_before);
    gl_store_free(whole);
}

/* Where the whole was within its first chunk, at the end of one, behind it, or had asked for more; it is cut back as far
 * as it may be, too, and goes on otherwise. */
static void a_beginning_stays_what_it_was(void **state) {
    static const struct {
        uint32_t whole, count, reserved;
    } cases[] = {{1000, 300, 0},        {CHUNK - 1, CHUNK - 1, 0}, {CHUNK, CHUNK, 0},
                 {CHUNK + 9, CHUNK, 0}, {CHUNK + 9, CHUNK + 4, 0}, {1000, 999, 2 * CHUNK + 5}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        uint32_t whole_count = cases[i].whole, count = cases[i].count;
        gl_store *whole = gl_store_new(), *alone = store_of_first(count);
        assert_true(gl_store_reserve(whole, cases[i].reserved));
        add_run(whole, 0, whole_count);
        gl_store *beginning = gl_store_beginning(whole, count);
        add_run(whole, whole_count, whole_count + 1500);
        is_as(beginning, alone);
        gl_store_cut(whole, count);
        is_as(beginning, alone);
        for (uint32_t line = whole_count + 2000; line-- > whole_count;)
            add_one(whole, line);
        is_as(beginning, alone);
        gl_store_free(beginning);
        gl_store_free(alone);
        gl_store_free(whole);
    }
}

/* Cut into what it has in common with the whole, it goes on in memory of its own. */
static void a_beginning_that_is_cut_leaves_the_whole_alone(void **state) {
    static const uint32_t counts[] = {0, 700, CHUNK - 1, CHUNK, CHUNK + 1};
    (void)state;
    gl_store *whole = store_of_first(2 * CHUNK + 9), *as_before = store_of_first(2 * CHUNK + 9);
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        gl_store *beginning = gl_store_beginning(whole, 2 * CHUNK + 5), *alone = store_of_first(counts[i]);
        gl_store_cut(beginning, counts[i]);
        is_as(beginning, alone);
        add_backwards(beginning, alone, counts[i], counts[i] + 2000);
        is_as(beginning, alone);
        gl_store_free(beginning);
        gl_store_free(alone);
    }
    is_as(whole, as_before);
    gl_store_free(as_before);
    gl_store_free(whole);
}

static void many_are_cut_off_and_others_come(void **state) {
    static const uint32_t cuts[] = {CHUNK + 1, CHUNK, CHUNK - 400, 0};
    (void)state;
    gl_store *store = gl_store_new();
    for (size_t i = 0; i < sizeof cuts / sizeof cuts[0]; i++) {
        add_run(store, gl_store_count(store), CHUNK + 500);
        gl_store_cut(store, cuts[i]);
        gl_store *alone = store_of_first(cuts[i]);
        is_as(store, alone);
        add_backwards(store, alone, CHUNK + 500, CHUNK + 1500);
        is_as(store, alone);
        gl_store_cut(store, cuts[i]);
        gl_store_free(alone);
    }
    gl_store_free(store);
}

/* What is asked for before the store grows, while it does, and after: exact, too little, far too much, more than there
 * can be. */
static void asking_for_memory_is_not_seen(void **state) {
    static const uint32_t asked[] = {0, CHUNK - 1, CHUNK, CHUNK + 600, 4 * CHUNK, GL_NONE};
    enum { ASKED = sizeof asked / sizeof asked[0], FIRST = 50, FULL = CHUNK + 600 };
    (void)state;
    gl_store *few = store_of_first(FIRST), *full = store_of_first(FULL);
    for (size_t i = 0; i < ASKED; i++) {
        gl_store *store = gl_store_new();
        assert_true(gl_store_reserve(store, asked[i]));
        assert_int_equal(gl_store_count(store), 0);
        assert_int_equal(gl_store_find(store, &many_digests[0]), GL_NONE);
        add_run(store, 0, FIRST);
        is_as(store, few);
        assert_true(gl_store_reserve(store, asked[ASKED - 1 - i]));
        assert_true(gl_store_reserve(store, GL_NONE - FIRST));
        is_as(store, few);
        add_run(store, FIRST, FULL);
        assert_true(gl_store_reserve(store, asked[i]));
        is_as(store, full);
        gl_store *before = gl_store_before(store, FIRST), *beginning = gl_store_beginning(store, FIRST);
        is_as(before, few);
        is_as(beginning, few);
        gl_store_free(before);
        gl_store_free(beginning);
        gl_store_free(store);
    }
    gl_store_free(few);
    gl_store_free(full);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_slip_is_there_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_limit_refuses_and_changes_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_was_cut_off_was_never_there, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_digest_minds_the_set_and_not_the_order, set_up, tear_down),
        cmocka_unit_test(chunks_are_not_seen),
        cmocka_unit_test(a_store_as_it_was_is_made_of_those_lines_alone),
        cmocka_unit_test(a_beginning_goes_on_by_itself),
        cmocka_unit_test(a_beginning_that_is_cut_leaves_the_whole_alone),
        cmocka_unit_test(a_beginning_stays_what_it_was),
        cmocka_unit_test(many_are_cut_off_and_others_come),
        cmocka_unit_test(asking_for_memory_is_not_seen),
    };
    return cmocka_run_group_tests(tests, make_many, free_many);
}
