/* Readings of random slips against a reference that is written from the definition (spec/readings.md), word
 * by word and quadratic, and knows the slips by their parts, not by their lines. */
#include "slips/reading.h"
#include "slips/world.h"

/* By value (cleared first), time, digest; values are single digits, which sort as their text does. */
static bool comes_before(const part *a, const part *b, int field) {
    if (a->value[field] != b->value[field])
        return a->value[field] < b->value[field];
    int order = strcmp(a->at, b->at);
    return order ? order < 0 : gl_digest_compare(&a->digest, &b->digest) < 0;
}

static int standing_sorted(const world *w, const reference *r, int field, int reach, int *sorted) {
    int count = 0;
    for (int i = 0; i < w->count; i++) {
        if (!stands(w, r, i, field, reach))
            continue;
        int at = count++;
        for (; at > 0 && comes_before(&w->parts[i], &w->parts[sorted[at - 1]], field); at--)
            sorted[at] = sorted[at - 1];
        sorted[at] = i;
    }
    return count;
}

static void compare_field(const world *w, const gl_store *store, const gl_read_field *field, int number,
                          const int *sorted, uint32_t count) {
    assert_int_equal(field->said_count, count);
    bool contested = false;
    for (uint32_t i = 0; i < count; i++) {
        const part *p = &w->parts[sorted[i]];
        char value[8];
        snprintf(value, sizeof value, "%d", p->value[number]);
        assert_true(gl_digest_equal(&gl_store_at(store, gl_read_said(field, i)->slip)->digest, &p->digest));
        if (p->value[number] == 0)
            assert_null(gl_read_value(field, i).text);
        else
            assert_true(gl_span_is(gl_read_value(field, i), value));
        contested = contested || p->value[number] != w->parts[sorted[0]].value[number];
    }
    assert_int_equal(field->contested, contested);
}

static void compare_reading(const world *w, const reference *r, const gl_store *store, uint32_t record,
                            uint32_t person) {
    gl_arena *arena = gl_arena_new();
    gl_reading reading;
    uint32_t stray, next = 0;
    assert_int_equal(gl_reading_make(store, record, person, arena, &reading, &stray, NULL), GLASSINE_OK);
    assert_int_equal(stray, r->stray);
    assert_int_equal(reading.incomplete, r->incomplete);
    for (int f = 0; f < FIELDS; f++) {
        for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
            int sorted[MOST], count = standing_sorted(w, r, f, reach, sorted);
            if (count == 0)
                continue;
            char name[8];
            snprintf(name, sizeof name, "f%d", f);
            assert_true(next < reading.field_count);
            const gl_read_field *field = &reading.fields[next++];
            assert_true(gl_span_is(gl_read_name(field), name));
            assert_int_equal(field->reach, reach);
            compare_field(w, store, field, f, sorted, (uint32_t)count);
        }
    }
    assert_int_equal(next, reading.field_count);
    gl_arena_free(arena);
}

static void compare_heads(const world *w, const reference *r, const gl_store *store, uint32_t record,
                          uint32_t person, int reach) {
    gl_digest wanted[MOST], *heads;
    size_t count = 0, found;
    for (int i = 0; i < w->count; i++) {
        bool latest = r->ours[i] && !w->parts[i].silent && w->parts[i].reach == reach;
        for (int j = 0; j < w->count; j++)
            latest = latest && !(r->follows[j][i] && !w->parts[j].silent);
        if (latest)
            wanted[count++] = w->parts[i].digest;
    }
    if (count)
        qsort(wanted, count, sizeof *wanted, made_digest_order);
    gl_arena *arena = gl_arena_new();
    assert_int_equal(
        gl_reading_heads(store, record, person, (glassine_reach)reach, arena, &heads, &found, NULL),
        GLASSINE_OK);
    assert_int_equal(found, count);
    for (size_t i = 0; i < count; i++)
        assert_true(gl_digest_equal(&heads[i], &wanted[i]));
    gl_arena_free(arena);
}

/* Takes, again and again, the earliest of those that follow nothing which is still left. */
static void compare_order(const world *w, reference r, const gl_store *store, uint32_t record,
                          uint32_t person) {
    gl_arena *arena = gl_arena_new();
    uint32_t *slips;
    size_t count, at = 0;
    assert_int_equal(gl_reading_order(store, record, person, arena, &slips, &count, NULL), GLASSINE_OK);
    for (;; at++) {
        int best = -1;
        for (int i = 0; i < w->count; i++) {
            bool ready = r.ours[i];
            for (int j = 0; j < w->count; j++)
                ready = ready && !(r.edge[i][j] && r.ours[j]);
            if (!ready)
                continue;
            int order = best < 0 ? -1 : strcmp(w->parts[i].at, w->parts[best].at);
            if (order < 0 ||
                (order == 0 && gl_digest_compare(&w->parts[i].digest, &w->parts[best].digest) < 0))
                best = i;
        }
        if (best < 0)
            break;
        assert_true(at < count);
        assert_true(gl_digest_equal(&gl_store_at(store, slips[at])->digest, &w->parts[best].digest));
        r.ours[best] = false;
    }
    assert_int_equal(at, count);
    gl_arena_free(arena);
}

static void compare_all(const world *w, const gl_store *store, int record, int author) {
    uint32_t number = gl_store_record_find(store, gl_span_of(records[record]));
    uint32_t person = author < 0 ? GL_NONE : gl_store_person_find(store, gl_span_of(people[author]));
    if (number == GL_NONE || (author >= 0 && person == GL_NONE))
        return;
    reference r = refer(w, record, author);
    compare_reading(w, &r, store, number, person);
    compare_order(w, r, store, number, person);
    for (int reach = 0; reach < GLASSINE_REACHES; reach++)
        compare_heads(w, &r, store, number, person, reach);
}

/* Every arrival order gives what the reference gives, so all give the same. */
static void readings_are_those_of_the_definition(void **state) {
    (void)state;
    uint64_t random = 2026;
    for (int round = 0; round < 2500; round++) {
        world w = {.arena = gl_arena_new()};
        make_world(&w, &random);
        int order[MOST];
        for (int i = 0; i < w.count; i++)
            order[i] = i;
        gl_digest first = {{0}};
        for (int shuffled = 0; shuffled < 3; shuffled++) {
            gl_store *store = store_in_order(&w, order);
            gl_digest digest;
            assert_int_equal(gl_store_digest(store, &digest, NULL), GLASSINE_OK);
            assert_true(shuffled == 0 || gl_digest_equal(&digest, &first));
            first = digest;
            for (int record = 0; record < 2; record++)
                for (int author = -1; author < 3; author++)
                    compare_all(&w, store, record, author);
            gl_store_free(store);
            for (int i = w.count - 1; i > 0; i--) {
                int j = (int)made_random(&random, (uint32_t)i + 1), kept = order[i];
                order[i] = order[j];
                order[j] = kept;
            }
        }
        gl_arena_free(w.arena);
    }
}

/* A slip made with what gl_reading_heads gives is followed by nothing and follows everything. */
static void a_slip_after_the_heads_settles_all(void **state) {
    (void)state;
    uint64_t random = 99;
    for (int round = 0; round < 300; round++) {
        world w = {.arena = gl_arena_new()};
        make_world(&w, &random);
        int order[MOST];
        for (int i = 0; i < w.count; i++)
            order[i] = i;
        gl_store *store = store_in_order(&w, order);
        uint32_t record = gl_store_record_find(store, GL_SPAN(ITEM));
        if (record != GL_NONE) {
            gl_digest *heads;
            size_t count;
            gl_reading reading;
            assert_int_equal(
                gl_reading_heads(store, record, GL_NONE, GLASSINE_SHARED, w.arena, &heads, &count, NULL),
                GLASSINE_OK);
            uint32_t last = made_add(store, made_slip(w.arena, heads, count, "2000-01-01T00:00:00Z", CAT,
                                                      GLASSINE_SHARED, ITEM, "{\"f0\":7}", "[\"f1\"]"));
            assert_int_equal(gl_reading_make(store, record, GL_NONE, w.arena, &reading, NULL, NULL),
                             GLASSINE_OK);
            for (uint32_t i = 0; i < reading.field_count; i++) {
                const gl_read_field *field = &reading.fields[i];
                if (field->reach != GLASSINE_SHARED ||
                    !(gl_span_is(gl_read_name(field), "f0") || gl_span_is(gl_read_name(field), "f1")))
                    continue;
                assert_int_equal(field->said_count, 1);
                assert_int_equal(gl_read_said(field, 0)->slip, last);
                assert_false(field->contested);
            }
        }
        gl_store_free(store);
        gl_arena_free(w.arena);
    }
}

/* ------------------------------------------------------------------------------------------ large shapes */

typedef struct large {
    gl_arena *arena;
    gl_store *store;
    gl_reading reading;
} large;

static large large_new(void) {
    return (large){.arena = gl_arena_new(), .store = gl_store_new()};
}

static gl_digest large_add(large *l, gl_digest *after, size_t count, const char *set) {
    gl_span line =
        made_slip(l->arena, after, count, "2026-03-01T10:00:00Z", ADA, GLASSINE_SHARED, ITEM, set, NULL);
    return gl_store_at(l->store, made_add(l->store, line))->digest;
}

static void large_read(large *l) {
    assert_int_equal(gl_reading_make(l->store, 0, GL_NONE, l->arena, &l->reading, NULL, NULL), GLASSINE_OK);
}

static void large_free(large *l) {
    gl_store_free(l->store);
    gl_arena_free(l->arena);
}

/* More fields than one pass over so many slips takes. */
static void a_chain_of_100000_over_3000_fields(void **state) {
    (void)state;
    const uint32_t slips = 100000, fields = 3000;
    large l = large_new();
    gl_digest last = {{0}};
    for (uint32_t i = 0; i < slips; i++) {
        char set[64];
        snprintf(set, sizeof set, "{\"f%04u\":%u}", i % fields, i);
        last = large_add(&l, &last, i ? 1 : 0, set);
    }
    gl_store_use_judge(l.store, (gl_store_judge){.record_fields = fields});
    large_read(&l);
    assert_int_equal(l.reading.field_count, fields);
    assert_false(l.reading.overfull);
    for (uint32_t f = 0; f < fields; f++) {
        const gl_read_field *field = &l.reading.fields[f];
        assert_int_equal(field->said_count, 1);
        assert_int_equal(gl_read_said(field, 0)->slip % fields, f);
        assert_true(gl_read_said(field, 0)->slip >= slips - fields);
    }
    uint32_t *order;
    size_t count;
    assert_int_equal(gl_reading_order(l.store, 0, GL_NONE, l.arena, &order, &count, NULL), GLASSINE_OK);
    assert_int_equal(count, slips);
    for (uint32_t i = 0; i < slips; i++)
        assert_int_equal(order[i], i);
    large_free(&l);
}

static bool knows_the_last(void *context, gl_span record, gl_span field) {
    (void)context;
    (void)record;
    return gl_span_is(field, "f2999");
}

/* Beyond the limit the first fields by name are read, and the one that the type has. */
static void fields_beyond_the_limit_are_left_out(void **state) {
    (void)state;
    large l = large_new();
    gl_digest last = {{0}};
    for (uint32_t i = 0; i < 6001; i++) { /* the last one is said once */
        char set[64];
        snprintf(set, sizeof set, "{\"f%04u\":%u}", i < 6000 ? i % 3000 : 9999, i);
        last = large_add(&l, &last, i ? 1 : 0, set);
    }
    gl_store_use_judge(l.store, (gl_store_judge){.knows = knows_the_last});
    large_read(&l);
    assert_true(l.reading.overfull);
    assert_int_equal(l.reading.field_count, 1002);
    assert_true(gl_span_is(gl_read_name(&l.reading.fields[0]), "f0000"));
    assert_true(gl_span_is(gl_read_name(&l.reading.fields[999]), "f0999"));
    assert_true(gl_span_is(gl_read_name(&l.reading.fields[1000]), "f2999"));
    assert_int_equal(gl_read_said(&l.reading.fields[1000], 0)->slip, 5999);
    assert_true(gl_span_is(gl_read_name(&l.reading.fields[1001]), "f9999"));
    large_free(&l);
}

static void a_star_of_10000_and_its_settling(void **state) {
    (void)state;
    const uint32_t rays = 10000;
    large l = large_new();
    gl_digest root = large_add(&l, NULL, 0, "{\"n\":0}");
    for (uint32_t i = 1; i <= rays; i++) {
        char set[64];
        snprintf(set, sizeof set, "{\"n\":%u}", i);
        large_add(&l, &root, 1, set);
    }
    large_read(&l);
    assert_int_equal(l.reading.field_count, 1);
    assert_true(l.reading.fields[0].contested);
    assert_int_equal(l.reading.fields[0].said_count, rays);
    gl_digest *heads;
    size_t count;
    assert_int_equal(gl_reading_heads(l.store, 0, GL_NONE, GLASSINE_SHARED, l.arena, &heads, &count, NULL),
                     GLASSINE_OK);
    assert_int_equal(count, rays);
    large_add(&l, heads, count, "{\"n\":1}");
    large_read(&l);
    assert_false(l.reading.fields[0].contested);
    assert_int_equal(l.reading.fields[0].said_count, 1);
    assert_int_equal(gl_read_said(&l.reading.fields[0], 0)->slip, rays + 1);
    large_free(&l);
}

/* Two strands that cross at every step: twice 5,000 slips, each after both before it. */
static void a_ladder_of_10000(void **state) {
    (void)state;
    large l = large_new();
    gl_digest both[2] = {{{0}}, {{0}}};
    for (uint32_t i = 0; i < 5000; i++) {
        char set[64];
        gl_digest after[2] = {both[0], both[1]}, again[2] = {both[0], both[1]};
        snprintf(set, sizeof set, "{\"a\":%u}", 2 * i);
        both[0] = large_add(&l, after, i ? 2 : 0, set);
        snprintf(set, sizeof set, "{\"a\":%u}", 2 * i + 1);
        both[1] = large_add(&l, again, i ? 2 : 0, set);
    }
    large_read(&l);
    assert_int_equal(l.reading.fields[0].said_count, 2);
    assert_int_equal(gl_read_said(&l.reading.fields[0], 0)->slip, 9998);
    assert_int_equal(gl_read_said(&l.reading.fields[0], 1)->slip, 9999);
    large_free(&l);
}

static void a_record_of_1000_fields(void **state) {
    (void)state;
    large l = large_new();
    gl_digest last = {{0}};
    for (uint32_t round = 0; round < 20; round++) {
        gl_buf set = GL_BUF_EMPTY;
        for (uint32_t f = 0; f < 1000; f++)
            if (f % 20 >= round)
                gl_buf_printf(&set, "%s\"f%03u\":%u", set.length ? "," : "{", f, round);
        gl_buf_add_char(&set, '}');
        last = large_add(&l, &last, round ? 1 : 0, set.text);
        gl_buf_free(&set);
    }
    large_read(&l);
    assert_int_equal(l.reading.field_count, 1000);
    for (uint32_t f = 0; f < 1000; f++) {
        assert_int_equal(l.reading.fields[f].said_count, 1);
        assert_int_equal(gl_read_said(&l.reading.fields[f], 0)->slip, f % 20);
    }
    large_free(&l);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(readings_are_those_of_the_definition),
        cmocka_unit_test(a_slip_after_the_heads_settles_all),
        cmocka_unit_test(a_chain_of_100000_over_3000_fields),
        cmocka_unit_test(fields_beyond_the_limit_are_left_out),
        cmocka_unit_test(a_star_of_10000_and_its_settling),
        cmocka_unit_test(a_ladder_of_10000),
        cmocka_unit_test(a_record_of_1000_fields),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
