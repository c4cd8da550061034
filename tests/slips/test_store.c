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

/* What the store says of its first `count` lines, against a count over the lines' parts. */
static void check_against_lines(fixture *f, uint32_t count) {
    assert_int_equal(gl_store_count(f->store), count);
    for (uint32_t i = 0; i < count; i++) {
        gl_digest digest = made_digest(line_of(f->arena, i));
        assert_int_equal(gl_store_find(f->store, &digest), i);
        gl_slip_view view;
        gl_slip_look(gl_store_line(f->store, i), &view);
        const gl_slip *slip = gl_store_at(f->store, i);
        glassine_reach reach;
        assert_true(gl_reach_parse(view.reach, &reach));
        assert_int_equal(slip->reach, reach);
        assert_true(gl_span_equal(gl_store_person(f->store, slip->author), gl_json_raw(view.by)));
        assert_true(gl_span_equal(gl_store_record(f->store, slip->record)->id, gl_json_raw(view.record)));
    }
    uint32_t on_records = 0, voices = 0, by_voices = 0;
    for (uint32_t r = 0; r < gl_store_records(f->store); r++) {
        const gl_subject *subject = gl_store_record(f->store, r);
        assert_int_equal(gl_store_record_find(f->store, subject->id), r);
        uint32_t left = subject->count;
        for (uint32_t s = subject->last; s != GL_NONE; s = gl_store_at(f->store, s)->previous, on_records++) {
            assert_int_equal(gl_store_at(f->store, s)->record, r);
            assert_true(gl_store_at(f->store, s)->previous == GL_NONE ||
                        gl_store_at(f->store, s)->previous < s);
            left--;
        }
        assert_int_equal(left, 0);
        assert_true(subject->count > 0);
        for (uint32_t v = subject->voice; v != GL_NONE; v = gl_store_voice(f->store, v)->next, voices++) {
            const gl_voice *voice = gl_store_voice(f->store, v);
            assert_int_equal(voice->record, r);
            assert_int_equal(gl_store_voice_find(f->store, r, voice->author), v);
            left = voice->count;
            for (uint32_t s = voice->last; s != GL_NONE;
                 s = gl_store_at(f->store, s)->own_previous, by_voices++) {
                assert_int_equal(gl_store_at(f->store, s)->author, voice->author);
                left--;
            }
            assert_int_equal(left, 0);
        }
    }
    assert_int_equal(on_records, count);
    assert_int_equal(by_voices, count);
    assert_true(voices >= gl_store_records(f->store));
    for (uint32_t p = 0; p < gl_store_people(f->store); p++)
        assert_int_equal(gl_store_person_find(f->store, gl_store_person(f->store, p)), p);
}

static void what_was_cut_off_was_never_there(void **state) {
    fixture *f = *state;
    uint64_t random = 11;
    uint32_t count = 0;
    gl_digest digest = made_digest(line_of(f->arena, 0));
    for (int step = 0; step < 60; step++) {
        uint32_t more = made_random(&random, 60), cut;
        for (uint32_t i = 0; i < more; i++, count++)
            assert_int_equal(made_add(f->store, line_of(f->arena, count)), count);
        check_against_lines(f, count);
        cut = made_random(&random, 3) == 0 ? 0 : made_random(&random, count + 1);
        gl_digest gone = made_digest(line_of(f->arena, cut));
        gl_store_cut(f->store, cut);
        assert_int_equal(gl_store_find(f->store, &gone), GL_NONE);
        count = cut;
        check_against_lines(f, count);
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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_slip_is_there_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_limit_refuses_and_changes_nothing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_was_cut_off_was_never_there, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_digest_minds_the_set_and_not_the_order, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
