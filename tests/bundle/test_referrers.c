/* Who refers to whom, and what that makes of labels: whether what is referred to was there before, comes later, goes away
 * with a draft and comes again, or is never there; and whether records are indexed by the thousand or one by one. */
#include "bundle/made.h"

#include <stdlib.h>

#include "bundle/names.h"
#include "random.h"

static glassine_record *say_item(glassine_bundle *bundle, unsigned number) {
    char id[80], set[80];
    snprintf(set, sizeof set, "{\"label\":\"H-%u\"}", number);
    return made_say(bundle, KEEPER, made_id("item", number, id), GLASSINE_SHARED, set);
}

/* A stamp says of which item it is, instead of what it said before. */
static glassine_record *say_stamp(glassine_bundle *bundle, unsigned number, unsigned item) {
    char id[80], of[80], set[160];
    snprintf(set, sizeof set, "{\"column\":%u,\"item\":\"%s\"}", number + 1, made_id("item", item, of));
    return made_say(bundle, KEEPER, made_id("stamp", number, id), GLASSINE_SHARED, set);
}

static glassine_record *stamp_of(glassine_bundle *bundle, unsigned number) {
    char id[80];
    return glassine_bundle_record(bundle, gl_span_of(made_id("stamp", number, id)), GL_NO_SPAN);
}

static size_t referrers(glassine_bundle *bundle, const char *type, unsigned number, const char *from,
                        glassine_record ***list) {
    char id[80];
    size_t count;
    assert_int_equal(
        gl_names_referrers(bundle, gl_span_of(made_id(type, number, id)), from, list, &count, NULL), 0);
    return count;
}

static void is_referred_to_by(glassine_bundle *bundle, unsigned item, glassine_record *one,
                              glassine_record *other) {
    glassine_record **list;
    size_t count = referrers(bundle, "item", item, "stamp", &list);
    assert_int_equal(count, (one != NULL) + (other != NULL));
    for (size_t i = 0; i < count; i++)
        assert_true(list[i] == one || list[i] == other);
    assert_true(count < 2 || list[0] != list[1]);
}

static void is_called(glassine_bundle *bundle, glassine_record *record, const char *wanted) {
    gl_span label = glassine_record_label(bundle, record);
    if (!gl_span_is(label, wanted))
        fail_msg("%.*s instead of %s", GL_SPAN_ARGS(label), wanted);
}

#define STRANGER "item/00000000" /* what stands for a label of one that is not there */

static void what_is_referred_to_may_come_later(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    glassine_record *before = say_stamp(bundle, 1, 7);
    is_referred_to_by(bundle, 7, before, NULL);
    is_called(bundle, before, STRANGER);
    say_item(bundle, 7);
    is_referred_to_by(bundle, 7, before, NULL);
    is_called(bundle, before, "H-7");
    glassine_record *after = say_stamp(bundle, 2, 7);
    is_referred_to_by(bundle, 7, before, after);
    is_called(bundle, before, "H-7.1");
    is_called(bundle, after, "H-7.2");
    say_stamp(bundle, 1, 7); /* it said so before and after the item came */
    is_referred_to_by(bundle, 7, before, after);
    say_stamp(bundle, 1, 8);
    is_referred_to_by(bundle, 7, after, NULL);
    is_referred_to_by(bundle, 8, before, NULL);
    is_called(bundle, before, STRANGER);
    is_called(bundle, after, "H-7");
    made_free(bundle);
}

/* Another item may get the number in the store that one had which is gone. */
static void what_a_draft_brought_goes_with_it(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    glassine_record *stamp = say_stamp(bundle, 1, 7);
    is_referred_to_by(bundle, 7, stamp, NULL);
    for (int round = 0; round < 3; round++) {
        uint32_t kept = gl_store_count(bundle->store);
        say_item(bundle, 7);
        glassine_record *more = say_stamp(bundle, 2, 7);
        is_referred_to_by(bundle, 7, stamp, more);
        is_called(bundle, stamp, "H-7.1");
        gl_bundle_cut(bundle, kept);
        is_referred_to_by(bundle, 7, stamp, NULL);
        is_called(bundle, stamp, STRANGER);
        say_item(bundle, 8);
        is_referred_to_by(bundle, 8, NULL, NULL);
        is_called(bundle, stamp, STRANGER);
        gl_bundle_cut(bundle, kept);
    }
    say_item(bundle, 7);
    is_referred_to_by(bundle, 7, stamp, NULL);
    is_called(bundle, stamp, "H-7");
    made_free(bundle);
}

/* An array refers to all that stands in it, strangers among them. */
static void each_element_of_an_array_refers(void **state) {
    (void)state;
    glassine_bundle *bundle = made_bundle();
    char one[80], other[80], match[80], set[200];
    glassine_record **list, *first = say_stamp(bundle, 1, 7), *found;
    snprintf(set, sizeof set, "{\"relation\":\"same\",\"stamps\":[\"%s\",\"%s\"]}", made_id("stamp", 1, one),
             made_id("stamp", 2, other));
    found = made_say(bundle, KEEPER, made_id("match", 1, match), GLASSINE_SHARED, set);
    for (int later = 0; later < 2; later++) {
        for (unsigned i = 1; i <= 2; i++) {
            assert_int_equal(referrers(bundle, "stamp", i, NULL, &list), 1);
            assert_ptr_equal(list[0], found);
        }
        assert_ptr_not_equal(say_stamp(bundle, 2, 7), first);
    }
    made_free(bundle);
}

/* ---- at random, with drafts that are dropped ---- */

enum { STEPS = 4000, ITEMS = 12, STAMPS = 30, NOWHERE = ITEMS };

/* What is so after a slip. */
typedef struct known {
    bool item[ITEMS];
    unsigned item_of[STAMPS]; /* NOWHERE: there is no such stamp */
} known;

static void check_item(glassine_bundle *bundle, const known *now, unsigned item) {
    glassine_record **list;
    char label[40];
    size_t wanted = 0, number = 0;
    for (unsigned i = 0; i < STAMPS; i++)
        wanted += now->item_of[i] == item;
    size_t count = referrers(bundle, "item", item, "stamp", &list);
    assert_int_equal(count, wanted);
    for (size_t i = 0; i < count; i++) {
        gl_span id = gl_record_id(bundle, list[i]);
        char digits[3] = {id.text[id.length - 2], id.text[id.length - 1], '\0'};
        assert_int_equal(now->item_of[strtoul(digits, NULL, 16)], item);
    }
    for (unsigned i = 0; i < STAMPS; i++) {
        if (now->item_of[i] != item)
            continue;
        number++; /* people count by column, which goes with the stamp's number */
        int length = now->item[item] ? snprintf(label, sizeof label, "H-%u", item)
                                     : snprintf(label, sizeof label, STRANGER);
        if (wanted > 1)
            snprintf(label + length, sizeof label - (size_t)length, ".%zu", number);
        is_called(bundle, stamp_of(bundle, i), label);
    }
}

/* A slip more, or some less. */
static void do_something(glassine_bundle *bundle, known *was, uint64_t *luck) {
    uint32_t slips = gl_store_count(bundle->store), chance = random_below(luck, 30);
    uint32_t item = random_below(luck, ITEMS), stamp = random_below(luck, STAMPS);
    if (chance == 0) {
        gl_bundle_cut(bundle, random_below(luck, 3) ? slips - slips / 8 : random_below(luck, slips + 1));
        return;
    }
    known *next = &was[slips + 1];
    *next = was[slips];
    if (chance < 4) {
        say_item(bundle, item);
        next->item[item] = true;
    } else {
        say_stamp(bundle, stamp, item);
        next->item_of[stamp] = item;
    }
}

static void whatever_comes_and_goes_they_are_found(void **state) {
    static known was[STEPS + 1]; /* by the number of slips */
    uint64_t luck = 3;
    (void)state;
    glassine_bundle *bundle = made_bundle();
    for (unsigned i = 0; i < STAMPS; i++)
        was[0].item_of[i] = NOWHERE;
    for (int step = 0; step < STEPS; step++) {
        do_something(bundle, was, &luck);
        if (random_below(&luck, 4) == 0)
            check_item(bundle, &was[gl_store_count(bundle->store)], random_below(&luck, ITEMS));
    }
    for (unsigned item = 0; item < ITEMS; item++)
        check_item(bundle, &was[gl_store_count(bundle->store)], item);
    made_free(bundle);
}

/* ---- many ---- */

/* More than are gathered by one job, and more than by all jobs at once (mentions.c). */
enum { MANY = 2600, VERY_MANY = 33000 };

typedef enum manner { ITEMS_FIRST, STAMPS_FIRST, BY_TURNS } manner;

/* The `i`-th of `count` stamps, two to an item, and their items. */
static void say_one_of_many(glassine_bundle *bundle, manner order, unsigned count, unsigned i) {
    unsigned items = count / 2;
    if (order == ITEMS_FIRST)
        i < items ? say_item(bundle, i) : say_stamp(bundle, i - items, (i - items) / 2);
    else if (order == STAMPS_FIRST)
        i < count ? say_stamp(bundle, i, i / 2) : say_item(bundle, i - count);
    else
        i % 3 == 1 ? say_item(bundle, i / 3) : say_stamp(bundle, i / 3 * 2 + i % 3 / 2, i / 3);
}

/* Where it is `asked`, somebody looks something up again and again meanwhile, so that few are indexed at a time. */
static glassine_bundle *with_many(unsigned count, manner order, bool asked) {
    glassine_bundle *bundle = made_bundle();
    glassine_record **list;
    size_t found;
    for (unsigned i = 0; i < count + count / 2; i++) {
        say_one_of_many(bundle, order, count, i);
        if (!asked || i % 50)
            continue;
        referrers(bundle, "item", i / 2, NULL, &list);
        assert_int_equal(gl_names_labelled(bundle, GL_SPAN("h-0"), NULL, &list, &found, NULL), 0);
    }
    return bundle;
}

static void check_many(glassine_bundle *bundle, unsigned stamps, bool with_items) {
    for (unsigned i = 0; i < stamps / 2; i++) {
        char label[40], called[48];
        glassine_record *one = stamp_of(bundle, 2 * i), *other = stamp_of(bundle, 2 * i + 1), **list;
        size_t count;
        is_referred_to_by(bundle, i, one, other);
        snprintf(label, sizeof label, with_items ? "H-%u" : STRANGER, i);
        snprintf(called, sizeof called, "%s.1", label);
        is_called(bundle, one, called);
        snprintf(called, sizeof called, "%s.2", label);
        is_called(bundle, other, called);
        label[0] = with_items ? 'h' : label[0];
        assert_int_equal(gl_names_labelled(bundle, gl_span_of(label), NULL, &list, &count, NULL), 0);
        assert_int_equal(count, with_items);
    }
    assert_false(bundle->failed);
}

static void many_are_found_as_few_are(void **state) {
    (void)state;
    for (int order = ITEMS_FIRST; order <= BY_TURNS; order++)
        for (int asked = 0; asked < 2; asked++) {
            glassine_bundle *bundle = with_many(MANY, (manner)order, asked);
            check_many(bundle, MANY, true);
            say_stamp(bundle, MANY, 0);
            gl_bundle_cut(bundle, gl_store_count(bundle->store) - 1);
            check_many(bundle, MANY, true);
            if (order == STAMPS_FIRST) {
                gl_bundle_cut(bundle, MANY);
                check_many(bundle, MANY, false);
            }
            made_free(bundle);
        }
}

static void very_many_are_found_too(void **state) {
    (void)state;
    glassine_bundle *bundle = with_many(VERY_MANY, BY_TURNS, false);
    check_many(bundle, VERY_MANY, true);
    made_free(bundle);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_referred_to_may_come_later),
        cmocka_unit_test(what_a_draft_brought_goes_with_it),
        cmocka_unit_test(each_element_of_an_array_refers),
        cmocka_unit_test(whatever_comes_and_goes_they_are_found),
        cmocka_unit_test(many_are_found_as_few_are),
        cmocka_unit_test(very_many_are_found_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
