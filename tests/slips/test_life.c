/* What every change found, against the definition word by word, on random slips; and large shapes. */
#include "slips/life.h"
#include "slips/world.h"

static int number_of(const world *w, const gl_store *store, uint32_t slip) {
    for (int i = 0; i < w->count; i++)
        if (gl_digest_equal(&w->parts[i].digest, &gl_store_at(store, slip)->digest))
            return i;
    fail();
    return -1;
}

/* Does it stand among what `slip` follows: touching, and followed by no other touching one of these? */
static bool is_found(const world *w, const reference *r, int slip, int other, int field) {
    int reach = w->parts[slip].reach;
    if (!r->follows[slip][other] || !touches(w, r, other, field, reach))
        return false;
    for (int i = 0; i < w->count; i++)
        if (r->follows[slip][i] && touches(w, r, i, field, reach) && r->follows[i][other])
            return false;
    return true;
}

static gl_fate fate_of(const world *w, const reference *r, int slip, int field) {
    int reach = w->parts[slip].reach;
    if (w->parts[slip].silent)
        return GL_UNCOUNTED;
    if (!stands(w, r, slip, field, reach))
        return GL_FOLLOWED;
    for (int i = 0; i < w->count; i++)
        if (stands(w, r, i, field, reach) && w->parts[i].value[field] != w->parts[slip].value[field])
            return GL_CONTESTED;
    return GL_STANDS;
}

static void compare_change(const world *w, const reference *r, const gl_store *store,
                           const gl_change *change) {
    int slip = number_of(w, store, change->slip), field = change->name.text[1] - '0', wanted = 0;
    assert_int_equal(change->reach, w->parts[slip].reach);
    assert_int_equal(change->value.text != NULL, w->parts[slip].value[field] > 0);
    assert_int_equal(change->fate, fate_of(w, r, slip, field));
    for (int i = 0; i < w->count; i++)
        wanted += is_found(w, r, slip, i, field);
    assert_int_equal(change->from_total, wanted);
    assert_int_equal(change->from_count, wanted < GL_FROM_MOST ? wanted : GL_FROM_MOST);
    for (uint32_t i = 0; i < change->from_count; i++) {
        int found = number_of(w, store, change->from[i].slip);
        assert_true(is_found(w, r, slip, found, field));
        assert_int_equal(change->from[i].text != NULL, w->parts[found].value[field] > 0);
        for (uint32_t k = 0; k < i; k++)
            assert_int_not_equal(change->from[k].slip, change->from[i].slip);
    }
}

/* Every change of every slip once, the slips in the order of the history. */
static void compare_life(const world *w, const gl_store *store, int record, int author) {
    uint32_t number = gl_store_record_find(store, gl_span_of(records[record])), person = GL_NONE, *order;
    if (author >= 0)
        person = gl_store_person_find(store, gl_span_of(people[author]));
    if (number == GL_NONE || (author >= 0 && person == GL_NONE))
        return;
    reference r = refer(w, record, author);
    gl_arena *arena = gl_arena_new();
    gl_change *changes;
    size_t count, slips, at = 0, wanted = 0;
    assert_int_equal(gl_life_make(store, number, person, arena, &changes, &count, NULL), GLASSINE_OK);
    assert_int_equal(gl_reading_order(store, number, person, arena, &order, &slips, NULL), GLASSINE_OK);
    for (int i = 0; i < w->count; i++)
        for (int f = 0; r.ours[i] && f < FIELDS; f++)
            wanted += w->parts[i].value[f] >= 0;
    assert_int_equal(count, wanted);
    for (size_t i = 0; i < count; i++) {
        while (at < slips && order[at] != changes[i].slip)
            at++;
        assert_true(at < slips);
        compare_change(w, &r, store, &changes[i]);
    }
    gl_arena_free(arena);
}

static void lives_are_those_of_the_definition(void **state) {
    (void)state;
    uint64_t random = 4242;
    for (int round = 0; round < 3000; round++) {
        world w = {.arena = gl_arena_new()};
        make_world(&w, &random);
        int order[MOST];
        for (int i = 0; i < w.count; i++)
            order[i] = i;
        for (int i = w.count; i > 1; i--) {
            int other = (int)made_random(&random, (uint32_t)i), kept = order[i - 1];
            order[i - 1] = order[other];
            order[other] = kept;
        }
        gl_store *store = store_in_order(&w, order);
        for (int record = 0; record < 2; record++)
            for (int author = -1; author < 3; author++)
                compare_life(&w, store, record, author);
        gl_store_free(store);
        gl_arena_free(w.arena);
    }
}

/* A settling of more values than are kept says how many there were. */
static void a_settling_of_many_counts_them(void **state) {
    (void)state;
    gl_arena *arena = gl_arena_new();
    gl_store *store = gl_store_new();
    gl_digest heads[100];
    gl_change *changes;
    size_t count;
    for (uint32_t i = 0; i < 100; i++) {
        char set[32];
        snprintf(set, sizeof set, "{\"n\":%u}", i);
        gl_span line =
            made_slip(arena, NULL, 0, "2026-03-01T10:00:00Z", ADA, GLASSINE_SHARED, ITEM, set, NULL);
        heads[i] = gl_store_at(store, made_add(store, line))->digest;
    }
    gl_digest settled =
        gl_store_at(store, made_add(store, made_slip(arena, heads, 100, "2026-03-01T10:00:01Z", ADA,
                                                     GLASSINE_SHARED, ITEM, "{\"m\":1}", NULL)))
            ->digest;
    made_add(store, made_slip(arena, &settled, 1, "2026-03-01T10:00:02Z", ADA, GLASSINE_SHARED, ITEM,
                              "{\"n\":7}", NULL));
    assert_int_equal(gl_life_make(store, 0, GL_NONE, arena, &changes, &count, NULL), GLASSINE_OK);
    assert_int_equal(count, 102);
    assert_int_equal(changes[101].from_count, GL_FROM_MOST);
    assert_int_equal(changes[101].from_total, 100);
    assert_int_equal(changes[101].fate, GL_STANDS);
    assert_int_equal(changes[0].fate, GL_FOLLOWED);
    gl_store_free(store);
    gl_arena_free(arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lives_are_those_of_the_definition),
        cmocka_unit_test(a_settling_of_many_counts_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
