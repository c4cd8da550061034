/* Whose word counts: cases after spec/signatures.md, each a log of editions made here, with keys made here.
 */
#include "slips/made.h"

#include "slips/log.h"
#include "slips/trust.h"

#define KEEPER ADA
#define MOST 64

typedef struct world {
    gl_arena *arena;
    gl_store *store;
    gl_log *log;
    gl_trust *trust;
    gl_buf open, segments[MOST]; /* the edition being written; those that are closed */
    size_t closed;
    uint32_t slips;
    gl_span lines[MOST];
    uint32_t count; /* of lines */
    glassine_key *keys[5];
} world;

static void begin(world *w) {
    *w = (world){.arena = gl_arena_new(), .store = gl_store_new()};
    w->log = gl_log_new(w->store);
    w->trust = gl_trust_new(w->store, w->log);
    gl_trust_keeper(w->trust, gl_span_of(KEEPER));
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(glassine_key_new(&w->keys[i], NULL), GLASSINE_OK);
}

static void end(world *w) {
    for (size_t i = 0; i < 5; i++)
        glassine_key_free(w->keys[i]);
    gl_trust_free(w->trust);
    gl_log_free(w->log);
    gl_store_free(w->store);
    for (size_t i = 0; i < w->closed; i++)
        gl_buf_free(&w->segments[i]);
    gl_buf_free(&w->open);
    gl_arena_free(w->arena);
}

/* Adds a slip to the edition being written; returns its number in the log. */
static uint32_t say_via(world *w, const char *by, const char *via, const char *record, const char *set,
                        const char *clear, gl_digest *after) {
    char at[32];
    snprintf(at, sizeof at, "2026-03-01T10:%02u:00Z", w->count);
    gl_slip_parts parts = {.after = after,
                           .after_count = after != NULL,
                           .at = gl_span_of(at),
                           .by = gl_span_of(by),
                           .record = gl_span_of(record),
                           .set = gl_span_of(set),
                           .clear = gl_span_of(clear),
                           .via = gl_span_of(via)};
    gl_buf line = GL_BUF_EMPTY;
    gl_slip_write(&parts, &line);
    w->lines[w->count] = gl_arena_copy(w->arena, gl_buf_span(&line));
    gl_buf_add(&w->open, gl_buf_span(&line));
    gl_buf_add_char(&w->open, '\n');
    gl_buf_free(&line);
    w->slips++;
    return w->count++;
}

static uint32_t say(world *w, const char *by) {
    return say_via(w, by, NULL, ITEM, "{\"label\":\"H-014\"}", NULL, NULL);
}

/* Key number `key` (and `before`, where that is not -1) in the contributor's own name. */
static uint32_t give_key(world *w, const char *by, const char *of, int key, int before) {
    char set[256];
    if (before < 0)
        snprintf(set, sizeof set, "{\"key\":\"%s\"}", glassine_key_public(w->keys[key]));
    else
        snprintf(set, sizeof set, "{\"key\":\"%s\",\"key_before\":\"%s\"}", glassine_key_public(w->keys[key]),
                 glassine_key_public(w->keys[before]));
    return say_via(w, by, NULL, of, set, NULL, NULL);
}

static void sign(world *w, uint32_t slip, int key) {
    gl_digest of = made_digest(w->lines[slip]);
    assert_true(gl_signature_write(w->keys[key], &of, &w->open));
    gl_buf_add_char(&w->open, '\n');
}

/* A signature of `key` that was made over another slip. */
static void sign_wrongly(world *w, uint32_t slip, uint32_t other, int key) {
    gl_digest of = made_digest(w->lines[slip]), not_of = made_digest(w->lines[other]);
    char right[GL_HEX_SIZE];
    gl_buf line = GL_BUF_EMPTY;
    assert_true(gl_signature_write(w->keys[key], &not_of, &line));
    gl_digest_hex(&of, right);
    memcpy(strstr(line.text, "\"of\":\"") + 6, right, 64);
    gl_buf_add(&w->open, gl_buf_span(&line));
    gl_buf_add_char(&w->open, '\n');
    gl_buf_free(&line);
}

/* Closes the edition and reads it. `key`: what the edition line names, -1: none. */
static void save(world *w, const char *by, int key) {
    uint32_t number = gl_log_editions(w->log) + 1;
    gl_edition_parts parts = {.edition = number,
                              .at = GL_SPAN("2026-03-01T12:00:00Z"),
                              .by = gl_span_of(by),
                              .note = GL_SPAN(""),
                              .tool = GL_SPAN("test"),
                              .key = key < 0 ? GL_NO_SPAN : gl_span_of(glassine_key_public(w->keys[key])),
                              .slips = w->slips,
                              .brings = GL_SPAN("[]")};
    glassine_error error;
    assert_int_equal(gl_log_close(w->log, gl_buf_span(&w->open), &parts, &w->open, &error), GLASSINE_OK);
    w->segments[w->closed] = w->open;
    w->open = GL_BUF_EMPTY;
    if (gl_log_read(w->log, gl_buf_span(&w->segments[w->closed]), number, number, 0, NULL, NULL, &error))
        fail_msg("%s: %s", error.place, error.message);
    w->closed++;
    gl_trust_changed(w->trust);
}

static void is_word(world *w, uint32_t slip, glassine_word right) {
    int word = gl_trust_word(w->trust, slip);
    if (word != (int)right)
        fail_msg("slip %u is %s, and not %s", slip, glassine_word_name((glassine_word)word),
                 glassine_word_name(right));
    assert_int_equal(gl_trust_counts(w->trust, slip), right != GLASSINE_WORD_UNSIGNED);
}

static const gl_signer *signer(world *w, const char *who) {
    return gl_trust_signer(w->trust, gl_store_person_find(w->store, gl_span_of(who)));
}

#define PLAIN GLASSINE_WORD_PLAIN
#define SIGNED GLASSINE_WORD_SIGNED
#define VOUCHED GLASSINE_WORD_VOUCHED
#define UNSIGNED GLASSINE_WORD_UNSIGNED

/* --------------------------------------------------------------------------------------------- the cases */

static void where_nobody_signs_everything_counts(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t one = say(&w, ADA), two = say(&w, BEN);
    give_key(&w, BEN, BEN, 0, -1); /* without its signature: no key */
    sign(&w, two, 1);
    save(&w, ADA, -1);
    is_word(&w, one, PLAIN);
    is_word(&w, two, PLAIN);
    assert_int_equal(signer(&w, BEN)->since, GL_NONE);
    assert_int_equal(signer(&w, BEN)->keys[0].way, GL_KEY_NOT_HELD);
    end(&w);
}

static void from_the_first_key_on_a_signature_is_wanted(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t earlier = say(&w, BEN);
    save(&w, ADA, -1);
    uint32_t key = give_key(&w, BEN, BEN, 0, -1), with = say(&w, BEN), without = say(&w, BEN),
             cat = say(&w, CAT);
    sign(&w, key, 0);
    sign(&w, with, 0);
    save(&w, ADA, -1);
    uint32_t later = say(&w, BEN), forged = say(&w, BEN), swapped = say(&w, BEN);
    sign(&w, forged, 1);
    sign_wrongly(&w, swapped, with, 0);
    save(&w, ADA, -1);
    is_word(&w, earlier, PLAIN);
    is_word(&w, key, SIGNED);
    is_word(&w, with, SIGNED);
    is_word(&w, without, UNSIGNED);
    is_word(&w, later, UNSIGNED);
    is_word(&w, forged, UNSIGNED);
    is_word(&w, swapped, UNSIGNED);
    is_word(&w, cat, PLAIN);
    assert_int_equal(signer(&w, BEN)->since, 2);
    /* A signature may come later. */
    sign(&w, later, 0);
    save(&w, ADA, -1);
    is_word(&w, later, SIGNED);
    end(&w);
}

static void the_key_seen_first_stays(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t key = give_key(&w, BEN, BEN, 0, -1);
    sign(&w, key, 0);
    save(&w, ADA, -1);
    uint32_t rival = give_key(&w, BEN, BEN, 1, -1), said = say(&w, BEN),
             stolen = give_key(&w, BEN, BEN, 2, 0);
    sign(&w, rival, 1);
    sign(&w, key, 1); /* as if the first one were a change from it */
    sign(&w, said, 1);
    sign(&w, stolen, 2); /* but not by the key that it says it takes the place of */
    save(&w, ADA, -1);
    is_word(&w, rival, UNSIGNED);
    is_word(&w, said, UNSIGNED);
    is_word(&w, stolen, UNSIGNED);
    assert_int_equal(signer(&w, BEN)->counting_count, 1);
    assert_int_equal(signer(&w, BEN)->keys[1].way, GL_KEY_RIVAL);
    assert_int_equal(signer(&w, BEN)->keys[2].way, GL_KEY_NOT_HELD);
    end(&w);
}

static void of_keys_seen_together_each_counts(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t one = give_key(&w, BEN, BEN, 0, -1), other = give_key(&w, BEN, BEN, 1, -1);
    uint32_t said = say(&w, BEN), says = say(&w, BEN), without = say(&w, BEN);
    sign(&w, one, 0);
    sign(&w, other, 1);
    sign(&w, said, 0);
    sign(&w, says, 1);
    save(&w, ADA, -1);
    is_word(&w, said, SIGNED);
    is_word(&w, says, SIGNED);
    is_word(&w, without, UNSIGNED);
    assert_int_equal(signer(&w, BEN)->together, 2);
    /* Until the keeper says which. */
    give_key(&w, ADA, BEN, 1, -1);
    save(&w, ADA, -1);
    is_word(&w, said, UNSIGNED);
    is_word(&w, says, SIGNED);
    end(&w);
}

static void a_change_wants_both_signatures(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t first = give_key(&w, BEN, BEN, 0, -1);
    sign(&w, first, 0);
    save(&w, ADA, -1);
    uint32_t second = give_key(&w, BEN, BEN, 1, 0), half = give_key(&w, BEN, BEN, 2, 0);
    sign(&w, second, 0);
    sign(&w, second, 1);
    sign(&w, half, 0);
    save(&w, ADA, -1);
    uint32_t third = give_key(&w, BEN, BEN, 3, 1), late = give_key(&w, BEN, BEN, 4, 0);
    uint32_t by_first = say(&w, BEN), by_third = say(&w, BEN), by_late = say(&w, BEN);
    sign(&w, third, 1);
    sign(&w, third, 3);
    sign(&w, late, 0);
    sign(&w, late, 4);
    sign(&w, by_first, 0);
    sign(&w, by_third, 3);
    sign(&w, by_late, 4);
    save(&w, ADA, -1);
    is_word(&w, by_first, SIGNED);
    is_word(&w, by_third, SIGNED);
    is_word(&w, by_late, UNSIGNED); /* a second change from the same key, seen later */
    is_word(&w, half, SIGNED);      /* by the key before; what it gives does not count */
    assert_int_equal(signer(&w, BEN)->counting_count, 3);
    end(&w);
}

static void changes_count_in_whatever_order_they_lie(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t third = give_key(&w, BEN, BEN, 2, 1), second = give_key(&w, BEN, BEN, 1, 0);
    uint32_t by_first = say(&w, BEN), by_third = say(&w, BEN);
    sign(&w, third, 1);
    sign(&w, third, 2);
    sign(&w, second, 0);
    sign(&w, second, 1);
    sign(&w, by_first, 0); /* whose own slip is not here */
    sign(&w, by_third, 2);
    save(&w, ADA, -1);
    is_word(&w, by_first, SIGNED);
    is_word(&w, by_third, SIGNED);
    assert_int_equal(signer(&w, BEN)->together, 1);
    end(&w);
}

static void the_keepers_word_decides(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t evil = give_key(&w, BEN, BEN, 1, -1), forged = say(&w, BEN);
    sign(&w, evil, 1);
    sign(&w, forged, 1);
    save(&w, ADA, -1);
    uint32_t bens = say(&w, BEN), true_key = give_key(&w, BEN, BEN, 0, -1);
    sign(&w, bens, 0);
    sign(&w, true_key, 0);
    save(&w, ADA, -1);
    is_word(&w, bens, UNSIGNED);
    uint32_t word = give_key(&w, ADA, BEN, 0, -1);
    uint32_t cats = give_key(&w, CAT, BEN, 1, -1); /* is nobody's business */
    save(&w, ADA, -1);
    is_word(&w, word, PLAIN);
    is_word(&w, cats, PLAIN);
    is_word(&w, bens, SIGNED);
    assert_true(signer(&w, BEN)->by_word);
    assert_int_equal(signer(&w, BEN)->since, 2);
    /* "Does not sign": then everything in that name counts. */
    gl_digest after = made_digest(w.lines[word]);
    say_via(&w, ADA, NULL, BEN, "{}", "[\"key\"]", &after);
    uint32_t without = say(&w, BEN);
    save(&w, ADA, -1);
    is_word(&w, without, PLAIN);
    is_word(&w, bens, PLAIN);
    end(&w);
}

static void nobody_becomes_keeper_by_a_slip(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t forged_key = give_key(&w, ADA, ADA, 1, -1), forged = say(&w, ADA);
    sign(&w, forged_key, 1);
    sign(&w, forged, 1);
    save(&w, ADA, -1);
    uint32_t own = say(&w, ADA);
    save(&w, ADA, -1);
    is_word(&w, own, PLAIN); /* the keeper does not sign, whatever a slip says */
    assert_int_equal(signer(&w, ADA)->since, GL_NONE);
    uint32_t key = give_key(&w, ADA, ADA, 0, -1), with = say(&w, ADA);
    sign(&w, key, 0);
    sign(&w, with, 0);
    save(&w, ADA, 0);
    uint32_t without = say(&w, ADA), evil = say(&w, ADA);
    sign(&w, evil, 1);
    save(&w, BEN, 1); /* somebody else's edition names somebody else's key */
    is_word(&w, own, PLAIN);
    is_word(&w, with, SIGNED);
    is_word(&w, without, UNSIGNED);
    is_word(&w, evil, UNSIGNED);
    assert_int_equal(signer(&w, ADA)->since, 3);
    end(&w);
}

static void a_key_that_came_first_silences_nothing_of_the_keepers(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t early = say(&w, ADA), key = give_key(&w, ADA, ADA, 0, -1);
    sign(&w, key, 0);
    save(&w, BEN, -1); /* somebody sends the keeper a copy */
    is_word(&w, early, PLAIN);
    assert_int_equal(signer(&w, ADA)->since, GL_NONE);
    uint32_t with = say(&w, ADA), without = say(&w, ADA);
    sign(&w, with, 0);
    save(&w, ADA, 0);
    is_word(&w, early, PLAIN);
    is_word(&w, with, SIGNED);
    is_word(&w, without, UNSIGNED);
    assert_int_equal(signer(&w, ADA)->since, 2);
    end(&w);
}

static void the_keeper_vouches(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t bens_key = give_key(&w, BEN, BEN, 1, -1);
    sign(&w, bens_key, 1);
    uint32_t early = say_via(&w, BEN, ADA, ITEM, "{}", NULL, NULL),
             cat = say_via(&w, BEN, CAT, ITEM, "{}", NULL, NULL);
    save(&w, ADA, -1);
    is_word(&w, early, VOUCHED); /* by name, as long as the keeper does not sign */
    is_word(&w, cat, UNSIGNED);
    uint32_t key = give_key(&w, ADA, ADA, 0, -1);
    uint32_t with = say_via(&w, BEN, ADA, ITEM, "{\"rate\":\"2d\"}", NULL, NULL);
    uint32_t without = say_via(&w, BEN, ADA, ITEM, "{\"rate\":\"4d\"}", NULL, NULL),
             signed_only = say(&w, BEN);
    sign(&w, key, 0);
    sign(&w, with, 0);
    sign(&w, signed_only, 0);
    save(&w, ADA, 0);
    is_word(&w, early, VOUCHED);
    is_word(&w, with, VOUCHED);
    is_word(&w, without, UNSIGNED);
    is_word(&w, signed_only, VOUCHED);
    end(&w);
}

static void spoken_slips_count_until_they_are_judged(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t key = give_key(&w, BEN, BEN, 0, -1);
    sign(&w, key, 0);
    save(&w, ADA, -1);
    glassine_error error;
    uint32_t slip;
    bool added;
    uint32_t spoken = say(&w, BEN);
    assert_int_equal(gl_store_add(w.store, w.lines[spoken], 2, NULL, &slip, &added, &error), GLASSINE_OK);
    assert_int_equal(gl_trust_counts(w.trust, slip), 0);
    assert_true(gl_trust_spoken(w.trust, slip));
    assert_int_equal(gl_trust_counts(w.trust, slip), 1);
    assert_int_equal(gl_trust_word(w.trust, slip), UNSIGNED);
    /* A signature that is in no log yet. */
    gl_buf line = GL_BUF_EMPTY;
    gl_digest of = made_digest(w.lines[spoken]);
    assert_true(gl_signature_write(w.keys[0], &of, &line));
    assert_true(gl_trust_add(w.trust, gl_buf_span(&line), false));
    gl_trust_changed(w.trust);
    assert_int_equal(gl_trust_word(w.trust, slip), SIGNED);
    gl_trust_drop_added(w.trust);
    assert_int_equal(gl_trust_word(w.trust, slip), UNSIGNED);
    gl_store_cut(w.store, 1);
    gl_trust_cut(w.trust, 1);
    is_word(&w, key, SIGNED);
    gl_buf_free(&line);
    end(&w);
}

/* So many wrong signatures of the right key are looked at, and the right one among the first of them is
 * found. */
static void wrong_signatures_hide_no_right_one(void **state) {
    (void)state;
    world w;
    begin(&w);
    uint32_t key = give_key(&w, BEN, BEN, 0, -1), said = say(&w, BEN);
    sign(&w, key, 0);
    sign(&w, said, 0);
    for (int i = 0; i < 3; i++)
        sign_wrongly(&w, said, key, 0);
    for (int i = 0; i < 50; i++)
        sign(&w, said, 1 + i % 4); /* strangers' signatures cost nothing */
    save(&w, ADA, -1);
    is_word(&w, said, SIGNED);
    assert_int_equal(gl_trust_signatures(w.trust), 55);
    size_t wrong = 0;
    for (size_t i = 0; i < 55; i++)
        wrong += gl_trust_fits(w.trust, i) == 0;
    assert_int_equal(wrong, 3);
    end(&w);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(where_nobody_signs_everything_counts),
        cmocka_unit_test(from_the_first_key_on_a_signature_is_wanted),
        cmocka_unit_test(the_key_seen_first_stays),
        cmocka_unit_test(of_keys_seen_together_each_counts),
        cmocka_unit_test(a_change_wants_both_signatures),
        cmocka_unit_test(changes_count_in_whatever_order_they_lie),
        cmocka_unit_test(the_keepers_word_decides),
        cmocka_unit_test(nobody_becomes_keeper_by_a_slip),
        cmocka_unit_test(a_key_that_came_first_silences_nothing_of_the_keepers),
        cmocka_unit_test(the_keeper_vouches),
        cmocka_unit_test(spoken_slips_count_until_they_are_judged),
        cmocka_unit_test(wrong_signatures_hide_no_right_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
