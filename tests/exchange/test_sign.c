/* Signing, from one person's bundle into another's and back (spec/signatures.md). Each person has a key of
 * their own; whoever forges has only the files. */
#include "support.h"

static glassine_key *keys[4];
enum { KEEPERS, BENS, EVIL, BENS_NEXT };

static int make_keys(void **state) {
    for (size_t i = 0; i < COUNT(keys); i++)
        if (glassine_key_new(&keys[i], NULL))
            return -1;
    return make_folder(state);
}

static int free_keys(void **state) {
    for (size_t i = 0; i < COUNT(keys); i++)
        glassine_key_free(keys[i]);
    return remove_folder(state);
}

#define NO_KEY (-1)

static saying_session begin(const char *path, const char *by, int key) {
    saying_session session = {.bundle = opened(path, GLASSINE_WRITE)};
    if (key >= 0)
        glassine_bundle_sign_with(session.bundle, keys[key], key == BENS_NEXT ? keys[BENS] : NULL);
    MUST(glassine_draft_new(session.bundle, by, NULL, &session.draft, &error));
    return session;
}

static char ben[64];

/* Keeper's bundle: Ben, a design with a plate, an item with a stamp. */
static const char *make_bundle(const char *name, int key) {
    const char *path = in_folder("%s", name);
    unlink(path);
    MUST(glassine_bundle_make_signed(path, "Kingfisher", "Keeper", key < 0 ? NULL : keys[key], &error));
    saying_session s = begin(path, NULL, key);
    glassine_record *record;
    const glassine_assignment person[] = {{"name", "Ben", NULL}};
    const glassine_assignment design[] = {{"label", "KF", NULL}};
    const glassine_assignment plate[] = {
        {"label", "1", NULL}, {"design", "KF", NULL}, {"rows", "12", NULL}, {"columns", "10", NULL}};
    const glassine_assignment item[] = {{"label", "H-014", NULL}};
    const glassine_assignment stamp[] = {{"item", "H-014", NULL}, {"design", "KF", NULL}};
    MUST(glassine_draft_enter(s.draft, "contributor", person, 1, NULL, &record, &error));
    snprintf(ben, sizeof ben, "%s", span_text(glassine_record_id(s.bundle, record)));
    MUST(glassine_draft_enter(s.draft, "design", design, 1, NULL, &record, &error));
    MUST(glassine_draft_enter(s.draft, "plate", plate, 4, NULL, &record, &error));
    MUST(glassine_draft_enter(s.draft, "item", item, 1, NULL, &record, &error));
    MUST(glassine_draft_enter(s.draft, "stamp", stamp, 2, NULL, &record, &error));
    end_saying(&s);
    return path;
}

static void claim(const char *path, const char *by, int key, const char *positions) {
    saying_session s = begin(path, by, key);
    glassine_record *record;
    const glassine_assignment fields[] = {
        {"stamp", "H-014", NULL}, {"plates", "1", NULL}, {"positions", positions, NULL}};
    MUST(glassine_draft_enter(s.draft, "claim", fields, 3, NULL, &record, &error));
    end_saying(&s);
}

static const char *dispatch_to(const char *path, const char *to, int key, const char *name) {
    static const char *const items[] = {"H-014"};
    const glassine_dispatch_options options = {.to = to, .items = items, .item_count = 1};
    const char *out = in_folder("%s", name);
    unlink(out);
    saying_session s = begin(path, NULL, key);
    MUST(glassine_dispatch(s.draft, &options, out, NULL, &error));
    glassine_draft_free(s.draft);
    glassine_bundle_close(s.bundle);
    return out;
}

static const char *reply_of(const char *path, int key, const char *name) {
    const char *out = in_folder("%s", name);
    unlink(out);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    if (key >= 0)
        glassine_bundle_sign_with(bundle, keys[key], NULL);
    MUST(glassine_reply(bundle, ben, NULL, out, NULL, &error));
    glassine_bundle_close(bundle);
    return out;
}

static void merge(const char *path, const char *source, int key) {
    saying_session s = begin(path, NULL, key);
    MUST(glassine_merge(s.draft, &source, 1, NULL, NULL, &error));
    glassine_draft_free(s.draft);
    glassine_bundle_close(s.bundle);
}

/* How many slips of the bundle are of that word; `by` NULL: anybody's. */
static size_t words(const char *path, const char *by, glassine_word word) {
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    size_t count = 0;
    for (uint32_t i = 0; i < glassine_bundle_slips(bundle); i++) {
        glassine_slip slip = glassine_bundle_slip(bundle, i);
        count += slip.word == word && (!by || strcmp(span_text(slip.by), by) == 0);
    }
    glassine_bundle_close(bundle);
    return count;
}

/* Claims on the stamp that say something, as "14,15". */
static const char *claims(const char *path) {
    static char list[256];
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_cursor *cursor;
    list[0] = '\0';
    MUST(glassine_cursor_new(bundle, "claim", false, &cursor, &error));
    for (glassine_record *one; (one = glassine_cursor_next(cursor));) {
        const char *positions = span_text(glassine_record_text(bundle, one, "positions"));
        if (*positions)
            snprintf(list + strlen(list), sizeof list - strlen(list), "%s%s", *list ? "," : "", positions);
    }
    glassine_cursor_free(cursor);
    glassine_bundle_close(bundle);
    return list;
}

#define PLAIN GLASSINE_WORD_PLAIN
#define SIGNED GLASSINE_WORD_SIGNED
#define VOUCHED GLASSINE_WORD_VOUCHED
#define UNSIGNED GLASSINE_WORD_UNSIGNED

/* --------------------------------------------------------------------------------------------- the cases */

static void everything_is_signed_as_it_is_written(void **state) {
    (void)state;
    const char *path = make_bundle("signed.glassine", KEEPERS);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    assert_int_equal(words(path, NULL, SIGNED), glassine_bundle_slips(bundle));
    assert_int_equal(glassine_bundle_slips(bundle), 8); /* with the one that says whose key it is */
    glassine_bundle_close(bundle);
}

static void an_answer_comes_back_signed(void **state) {
    (void)state;
    const char *path = make_bundle("keeper.glassine", KEEPERS);
    const char *sent = dispatch_to(path, "Ben", KEEPERS, "sent.glassine");
    assert_int_equal(words(sent, NULL, UNSIGNED), 0);
    assert_int_equal(words(sent, NULL, PLAIN), 0);
    claim(sent, NULL, BENS, "14");
    merge(path, reply_of(sent, BENS, "reply.glassine"), KEEPERS);
    assert_int_equal(words(path, NULL, UNSIGNED), 0);
    assert_int_equal(words(path, ben, SIGNED), 3); /* key, claim, returned */
    assert_string_equal(claims(path), "14");
    /* Replying twice says the same twice. */
    glassine_bundle *one = opened(in_folder("reply.glassine"), GLASSINE_READ);
    glassine_bundle *other = opened(reply_of(sent, BENS, "again.glassine"), GLASSINE_READ);
    char digest[65], again[65];
    glassine_bundle_digest(one, digest);
    glassine_bundle_digest(other, again);
    assert_string_equal(digest, again);
    glassine_bundle_close(one);
    glassine_bundle_close(other);
}

static void who_forges_an_answer_is_not_counted(void **state) {
    (void)state;
    static const int forgers[] = {NO_KEY, EVIL};
    for (size_t i = 0; i < COUNT(forgers); i++) {
        const char *path = make_bundle("keeper.glassine", KEEPERS);
        const char *sent = dispatch_to(path, "Ben", KEEPERS, "sent.glassine");
        claim(sent, NULL, BENS, "14");
        merge(path, reply_of(sent, BENS, "reply.glassine"), KEEPERS);
        const char *again = dispatch_to(path, "Ben", KEEPERS, "again.glassine");
        claim(again, ben, forgers[i], "77");
        size_t before = words(path, NULL, UNSIGNED);
        merge(path, reply_of(again, forgers[i], "forged.glassine"), KEEPERS);
        assert_int_equal(before, 0);
        assert_true(words(path, ben, UNSIGNED) >= 2); /* the claim and the event that returns it */
        assert_string_equal(claims(path), "14");
    }
}

static void a_key_is_changed_under_the_old_one(void **state) {
    (void)state;
    const char *path = make_bundle("keeper.glassine", KEEPERS);
    const char *sent = dispatch_to(path, "Ben", KEEPERS, "sent.glassine");
    claim(sent, NULL, BENS, "14");
    claim(sent, NULL, BENS_NEXT, "15");
    merge(path, reply_of(sent, BENS_NEXT, "reply.glassine"), KEEPERS);
    assert_int_equal(words(path, NULL, UNSIGNED), 0);
    assert_int_equal(words(path, ben, SIGNED), 5);
    /* Without the old one it is a rival. */
    const char *other = dispatch_to(path, "Ben", KEEPERS, "other.glassine");
    claim(other, NULL, EVIL, "16");
    merge(path, reply_of(other, EVIL, "evil.glassine"), KEEPERS);
    assert_true(words(path, ben, UNSIGNED) >= 2);
}

static void who_begins_to_sign_late_signs_what_was_said_before(void **state) {
    (void)state;
    const char *path = make_bundle("late.glassine", NO_KEY);
    assert_int_equal(words(path, NULL, PLAIN), 7);
    saying_session s = begin(path, NULL, KEEPERS);
    size_t count, left;
    MUST(glassine_draft_sign_earlier(s.draft, NULL, 0, &count, &left, &error));
    end_saying(&s);
    assert_int_equal(count, 7);
    assert_int_equal(words(path, NULL, SIGNED), 8);
    s = begin(path, NULL, KEEPERS);
    MUST(glassine_draft_sign_earlier(s.draft, NULL, 0, &count, &left, &error));
    end_saying(&s);
    assert_int_equal(count, 0);
    assert_int_equal(left, 0);
    /* Where that was not done, a dispatch of one edition holds all the same what counts. */
    path = make_bundle("later.glassine", NO_KEY);
    claim(path, ben, NO_KEY, "14");
    merge(path,
          (claim(dispatch_to(path, "Ben", KEEPERS, "sent.glassine"), NULL, BENS, "15"),
           reply_of(in_folder("sent.glassine"), BENS, "reply.glassine")),
          KEEPERS);
    assert_int_equal(words(path, NULL, UNSIGNED), 0);
    const char *sent = dispatch_to(path, "Ben", KEEPERS, "third.glassine");
    assert_int_equal(words(sent, NULL, UNSIGNED), 0);
    assert_int_equal(words(sent, ben, VOUCHED), 1);
    assert_string_equal(claims(sent), claims(path));
}

static void the_keeper_says_which_key_counts(void **state) {
    (void)state;
    const char *path = make_bundle("keeper.glassine", KEEPERS);
    const char *sent = dispatch_to(path, "Ben", KEEPERS, "sent.glassine");
    claim(sent, NULL, EVIL, "77"); /* seen first */
    merge(path, reply_of(sent, EVIL, "evil.glassine"), KEEPERS);
    sent = dispatch_to(path, "Ben", KEEPERS, "again.glassine");
    claim(sent, NULL, BENS, "14");
    merge(path, reply_of(sent, BENS, "reply.glassine"), KEEPERS);
    assert_string_equal(claims(path), "77");
    saying_session s = begin(path, ben, NO_KEY);
    glassine_record *record = glassine_bundle_record(s.bundle, gl_span_of(ben), GL_NO_SPAN);
    assert_int_equal(glassine_draft_trust(s.draft, record, glassine_key_public(keys[BENS]), &error),
                     GLASSINE_REFUSED);
    end_saying(&s);
    s = begin(path, NULL, KEEPERS);
    record = glassine_bundle_record(s.bundle, gl_span_of(ben), GL_NO_SPAN);
    assert_int_equal(glassine_draft_trust(s.draft, record, "ab", &error), GLASSINE_REFUSED);
    MUST(glassine_draft_trust(s.draft, record, glassine_key_public(keys[BENS]), &error));
    end_saying(&s);
    /* The reply's key and event; the claim was never signed, as it was made beside another key. */
    assert_int_equal(words(path, ben, SIGNED), 2);
    s = begin(path, NULL, KEEPERS);
    record = glassine_bundle_record(s.bundle, gl_span_of(ben), GL_NO_SPAN);
    MUST(glassine_draft_trust(s.draft, record, NULL, &error));
    end_saying(&s);
    assert_int_equal(words(path, ben, UNSIGNED), 0);
}

static void a_draft_shows_what_it_says_until_it_is_saved(void **state) {
    (void)state;
    const char *path = make_bundle("keeper.glassine", KEEPERS);
    saying_session s = begin(path, NULL, NO_KEY);
    glassine_record *item;
    bool changed;
    const glassine_assignment rate = {"rate", "2d", NULL};
    MUST(glassine_bundle_find(s.bundle, "item", "H-014", &item, &error));
    MUST(glassine_draft_revise(s.draft, item, &rate, 1, NULL, &changed, &error));
    assert_string_equal(span_text(glassine_record_text(s.bundle, item, "rate")), "2d");
    assert_int_equal(glassine_draft_unsigned(s.draft), 1);
    MUST(glassine_draft_save(s.draft, NULL, &error));
    assert_int_equal(glassine_record_text(s.bundle, item, "rate").length, 0);
    assert_int_equal(glassine_draft_unsigned(s.draft), 0);
    glassine_bundle_sign_with(s.bundle, keys[KEEPERS], NULL);
    MUST(glassine_draft_revise(s.draft, item, &rate, 1, "once more", &changed, &error));
    assert_int_equal(glassine_draft_unsigned(s.draft), 0);
    end_saying(&s);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    MUST(glassine_bundle_find(bundle, "item", "H-014", &item, &error));
    assert_string_equal(span_text(glassine_record_text(bundle, item, "rate")), "2d");
    glassine_bundle_close(bundle);
}

/* The machine's key is its owner's, whoever is said to speak. */
static void a_key_is_put_forward_in_one_name_only(void **state) {
    (void)state;
    const char *path = make_bundle("keeper.glassine", KEEPERS);
    claim(path, ben, KEEPERS, "14");
    assert_int_equal(words(path, ben, PLAIN), 1);
    assert_int_equal(words(path, ben, SIGNED), 0);
}

static void a_lost_key_of_the_keepers_is_replaced_by_hand(void **state) {
    (void)state;
    const char *path = make_bundle("keeper.glassine", KEEPERS);
    saying_session s = begin(path, NULL, BENS);
    glassine_record *record =
        glassine_bundle_record(s.bundle, gl_span_of(glassine_bundle_keeper(s.bundle)), GL_NO_SPAN);
    assert_int_equal(glassine_draft_trust(s.draft, record, glassine_key_public(keys[EVIL]), &error),
                     GLASSINE_REFUSED);
    MUST(glassine_draft_trust(s.draft, record, glassine_key_public(keys[BENS]), &error));
    end_saying(&s);
    claim(path, NULL, BENS, "14");
    assert_int_equal(words(path, NULL, UNSIGNED), 0);
    assert_int_equal(words(path, NULL, PLAIN), 0);
    assert_string_equal(claims(path), "14");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(everything_is_signed_as_it_is_written),
        cmocka_unit_test(an_answer_comes_back_signed),
        cmocka_unit_test(who_forges_an_answer_is_not_counted),
        cmocka_unit_test(a_key_is_changed_under_the_old_one),
        cmocka_unit_test(who_begins_to_sign_late_signs_what_was_said_before),
        cmocka_unit_test(the_keeper_says_which_key_counts),
        cmocka_unit_test(a_draft_shows_what_it_says_until_it_is_saved),
        cmocka_unit_test(a_key_is_put_forward_in_one_name_only),
        cmocka_unit_test(a_lost_key_of_the_keepers_is_replaced_by_hand),
    };
    return cmocka_run_group_tests(tests, make_keys, free_keys);
}
