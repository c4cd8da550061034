/* Makes bundles for the bench, the same from the same arguments; what takes other programs hours is done here
 * through the library in seconds.
 *
 * - bench_make collection OUT ITEMS: items, each with a stamp, a claim, an observation and a later remark,
 *   five slips in all.
 * - bench_make claims FILE COUNT FROM: adds COUNT claims by another contributor to FILE, in one save.
 * - bench_make reply OUT COUNT FROM: a bundle that holds such claims alone.
 * - bench_make signed OUT COUNT FROM: the same, each signed by that contributor's key, a new one.
 * - bench_make saves FILE COUNT FROM: COUNT saves of one claim each; prints how long each hundredth one took, without
 *   the disk: nothing is synced.
 * - bench_make standings OUT STAMPS: stamps of a plate of 240, each with three claims by three people, of
 *   which the third contradicts at every fifth stamp.
 * - bench_make marks OUT COUNT: a plate of 240 with COUNT known marks, and one stamp, H-000001, on which two
 *   people noted what shows at position 100, and some dust.
 *
 * FROM numbers the first claim: claims of different numbers are different slips. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "base/calls.h"
#include "base/error.h"
#include "exchange/draft.h"

#define KEEPER "contributor/00000000-0000-4000-8000-000000000001"
#define OTHER "contributor/00000000-0000-4000-8000-000000000002"
#define THIRD "contributor/00000000-0000-4000-8000-000000000003"
#define DESIGN "design/00000000-0000-4000-8000-000000000001"
#define PLATE "plate/00000000-0000-4000-8000-000000000001"
#define AT "2026-03-01T10:00:00Z"

enum { CLAIMED_STAMPS = 400000 }; /* claims are on stamps that the largest collection has */

static glassine_error error;
static bool spoken; /* lines are said here and now, and signed when they are saved */

static void must(glassine_status status) {
    if (!status)
        return;
    char line[2048];
    glassine_error_line(&error, line, sizeof line);
    fprintf(stderr, "bench_make: %s\n", line);
    exit(1);
}

/* One slip into the draft; its digest comes back, to be followed. */
static gl_digest say(glassine_draft *draft, const char *by, const char *record, const char *set,
                     const gl_digest *after) {
    gl_buf line = GL_BUF_EMPTY;
    bool added;
    gl_slip_parts parts = {.after = after,
                           .after_count = after ? 1 : 0,
                           .at = GL_SPAN(AT),
                           .by = gl_span_of(by),
                           .record = gl_span_of(record),
                           .reach = GLASSINE_SHARED,
                           .set = gl_span_of(set)};
    gl_slip_write(&parts, &line);
    must(spoken ? gl_draft_speak_line(draft, gl_buf_span(&line), &added, &error)
                : gl_draft_add_line(draft, gl_buf_span(&line), "bench", &added, &error));
    gl_buf_free(&line);
    const gl_store *store = draft->bundle->store;
    return gl_store_at(store, gl_store_count(store) - 1)->digest;
}

static void say_numbered(glassine_draft *draft, const char *by, const char *type, uint32_t number,
                         const char *set) {
    char record[80];
    snprintf(record, sizeof record, "%s/%08x-0000-4000-8000-000000000000", type, number);
    say(draft, by, record, set, NULL);
}

static void say_people(glassine_draft *draft) {
    say(draft, KEEPER, KEEPER, "{\"name\":\"Keeper\"}", NULL);
    say(draft, OTHER, OTHER, "{\"name\":\"Specialist\"}", NULL);
}

static void say_plate(glassine_draft *draft, uint32_t rows, uint32_t columns) {
    char set[200];
    snprintf(set, sizeof set, "{\"columns\":%u,\"design\":\"" DESIGN "\",\"label\":\"1\",\"rows\":%u}",
             columns, rows);
    say(draft, KEEPER, DESIGN, "{\"label\":\"KF\",\"title\":\"Twopence Kingfisher\"}", NULL);
    say(draft, KEEPER, PLATE, set, NULL);
}

static void say_item(glassine_draft *draft, uint32_t number) {
    static const char *const appearances[] = {"dot", "guide_line", "doubling", "flaw", "scratch"};
    char record[80], set[400];
    snprintf(record, sizeof record, "item/%08x-0000-4000-8000-000000000000", number);
    snprintf(set, sizeof set, "{\"holding\":\"owned\",\"kind\":\"single\",\"label\":\"H-%06u\"}", number + 1);
    gl_digest first = say(draft, KEEPER, record, set, NULL);
    snprintf(set, sizeof set, "{\"design\":\"" DESIGN "\",\"item\":\"%s\",\"perforation\":\"perforated %u\"}",
             record, 11 + number % 4);
    say_numbered(draft, KEEPER, "stamp", number, set);
    snprintf(
        set, sizeof set,
        "{\"confidence\":\"%s\",\"plates\":[\"" PLATE
        "\"],\"positions\":\"column %u and row %u-%u\",\"stamp\":\"stamp/%08x-0000-4000-8000-000000000000\"}",
        number % 3 ? "probable" : "certain", 1 + number % 10, 1 + number % 6, 6 + number % 7, number);
    say_numbered(draft, KEEPER, "claim", number, set);
    snprintf(
        set, sizeof set,
        "{\"appearance\":\"%s\",\"seen\":\"present\",\"stamp\":\"stamp/%08x-0000-4000-8000-000000000000\","
        "\"x\":%u,\"y\":%u}",
        appearances[number % 5], number, number * 7 % 1000, number * 13 % 1000);
    say_numbered(draft, KEEPER, "observation", number, set);
    snprintf(set, sizeof set, "{\"note\":\"seen again under a stronger glass, number %u\"}", number);
    say(draft, KEEPER, record, set, &first);
}

static void say_claim(glassine_draft *draft, uint32_t number) {
    char set[400];
    snprintf(set, sizeof set,
             "{\"confidence\":\"probable\",\"plates\":[\"" PLATE
             "\"],\"positions\":\"%u\",\"remark\":\"number "
             "%u\",\"stamp\":\"stamp/%08x-0000-4000-8000-000000000000\"}",
             1 + number * 17 % 120, number, number % CLAIMED_STAMPS);
    say_numbered(draft, OTHER, "claim", UINT32_C(0x80000000) + number, set);
}

static void say_collection(glassine_draft *draft, uint32_t items, uint32_t from) {
    (void)from;
    say_plate(draft, 12, 10);
    for (uint32_t i = 0; i < items; i++)
        say_item(draft, i);
}

static void say_claims(glassine_draft *draft, uint32_t claims, uint32_t from) {
    for (uint32_t i = 0; i < claims; i++)
        say_claim(draft, from + i);
}

/* The key lives as long as the process. */
static void say_signed(glassine_draft *draft, uint32_t claims, uint32_t from) {
    glassine_key *key;
    must(glassine_key_new(&key, &error));
    glassine_bundle_sign_with(draft->bundle, key, NULL);
    memcpy(draft->own, OTHER, sizeof OTHER);
    memcpy(draft->by, OTHER, sizeof OTHER);
    spoken = true;
    say_claims(draft, claims, from);
}

/* ---- a plate of 20 rows of 12 ---- */

enum { PLATE_ROWS = 20, PLATE_COLUMNS = 12, PLATE_COUNT = PLATE_ROWS * PLATE_COLUMNS };

static void say_stamp(glassine_draft *draft, uint32_t number) {
    char record[80], set[200];
    snprintf(record, sizeof record, "item/%08x-0000-4000-8000-000000000000", number);
    snprintf(set, sizeof set, "{\"label\":\"H-%06u\"}", number + 1);
    say(draft, KEEPER, record, set, NULL);
    snprintf(set, sizeof set, "{\"design\":\"" DESIGN "\",\"item\":\"%s\"}", record);
    say_numbered(draft, KEEPER, "stamp", number, set);
}

static void say_positions(glassine_draft *draft, const char *by, uint32_t claim, uint32_t stamp,
                          const char *positions) {
    char set[300];
    snprintf(set, sizeof set,
             "{\"plates\":[\"" PLATE
             "\"],\"positions\":\"%s\",\"stamp\":\"stamp/%08x-0000-4000-8000-000000000000\"}",
             positions, stamp);
    say_numbered(draft, by, "claim", claim, set);
}

static void say_standings(glassine_draft *draft, uint32_t stamps, uint32_t from) {
    (void)from;
    say(draft, THIRD, THIRD, "{\"name\":\"Third\"}", NULL);
    say_plate(draft, PLATE_ROWS, PLATE_COLUMNS);
    for (uint32_t i = 0; i < stamps; i++) {
        uint32_t at = i * 7919 % PLATE_COUNT, row = at / PLATE_COLUMNS + 1, column = at % PLATE_COLUMNS + 1;
        char positions[40];
        say_stamp(draft, i);
        snprintf(positions, sizeof positions, "row %u-%u", row > 2 ? row - 2 : 1, row);
        say_positions(draft, KEEPER, 3 * i, i, positions);
        snprintf(positions, sizeof positions, "column %u", column);
        say_positions(draft, OTHER, 3 * i + 1, i, positions);
        snprintf(positions, sizeof positions, "%u", i % 5 ? at + 1 : (at + 1) % PLATE_COUNT + 1);
        say_positions(draft, THIRD, 3 * i + 2, i, positions);
    }
}

static const char *const kinds[] = {"dot", "guide_line", "flaw", "scratch", "recut"};

/* Where mark `number` lies: thousandths that look like chance. */
static uint32_t x_of(uint32_t number) {
    return (number * UINT32_C(2654435761) >> 8) % 1000;
}
static uint32_t y_of(uint32_t number) {
    return (number * UINT32_C(2246822519) >> 8) % 1000;
}

static void say_seen(glassine_draft *draft, const char *by, uint32_t number, uint32_t kind, uint32_t x,
                     uint32_t y) {
    char set[300];
    snprintf(
        set, sizeof set,
        "{\"appearance\":\"%s\",\"stamp\":\"stamp/00000000-0000-4000-8000-000000000000\",\"x\":%u,\"y\":%u}",
        kinds[kind / PLATE_COUNT % 5], x, y);
    say_numbered(draft, by, "observation", number, set);
}

static void say_marks(glassine_draft *draft, uint32_t marks, uint32_t from) {
    (void)from;
    say_plate(draft, PLATE_ROWS, PLATE_COLUMNS);
    say_stamp(draft, 0);
    for (uint32_t i = 0; i < marks; i++) {
        char set[300];
        snprintf(set, sizeof set,
                 "{\"appearance\":\"%s\",\"plate\":\"" PLATE "\",\"positions\":\"%u\",\"x\":%u,\"y\":%u}",
                 kinds[i / PLATE_COUNT % 5], i % PLATE_COUNT + 1, x_of(i), y_of(i));
        say_numbered(draft, KEEPER, "mark", i, set);
        if (i % PLATE_COUNT == 99) {
            say_seen(draft, KEEPER, 2 * i, i, x_of(i) + 3, y_of(i) + 4);
            say_seen(draft, OTHER, 2 * i + 1, i, x_of(i) + 6, y_of(i));
        }
    }
    for (uint32_t i = marks; i < marks + 6; i++)
        say_seen(draft, i % 2 ? KEEPER : OTHER, 2 * i, i, x_of(i), y_of(i));
}

/* ---- a new bundle ---- */

typedef void (*sayer)(glassine_draft *draft, uint32_t count, uint32_t from);

static void make(const char *path, sayer say_all, uint32_t count, uint32_t from) {
    gl_make it;
    gl_about about = {.keeper = (char *)KEEPER,
                      .title = (char *)"Bench",
                      .base = (char *)"glassine-bench",
                      .uuid = (char *)"00000000-0000-4000-8000-000000000000",
                      .made = (char *)AT};
    must(gl_make_new(&it, path, &about, &error));
    say_people(it.draft);
    say_all(it.draft, count, from);
    must(gl_bundle_index(it.bundle, &error));
    must(glassine_draft_save(it.draft, "made", &error));
    must(gl_make_publish(&it, false, &error));
    gl_make_free(&it);
}

static double now_ms(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e3 + (double)now.tv_nsec / 1e6;
}

static int sync_nothing(int fd) {
    (void)fd;
    return 0;
}

/* 20,000 syncs would take most of the bench's time. */
static void without_disk(void) {
    static gl_calls calls;
    calls = *gl_calls_system();
    calls.fdatasync = sync_nothing;
    calls.fsync = sync_nothing;
    gl_calls_use(&calls);
}

static void add_claims(const char *path, uint32_t count, uint32_t from, bool one_by_one) {
    glassine_bundle *bundle;
    glassine_draft *draft;
    if (one_by_one)
        without_disk();
    must(glassine_bundle_open(path, GLASSINE_WRITE, NULL, &bundle, &error));
    must(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    for (uint32_t i = 0; i < count; i++) {
        double began = now_ms();
        say_claim(draft, from + i);
        if (one_by_one)
            must(glassine_draft_save(draft, "one", &error));
        if (one_by_one && count >= 100 && (i + 1) % (count / 100) == 0)
            printf("%" PRIu32 " %.3f\n", i + 1, now_ms() - began);
    }
    if (!one_by_one)
        must(glassine_draft_save(draft, "claims", &error));
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
}

int main(int count, char **words) {
    static const struct {
        const char *what;
        sayer say_all;
    } made[] = {{"collection", say_collection},
                {"reply", say_claims},
                {"signed", say_signed},
                {"standings", say_standings},
                {"marks", say_marks}};
    const char *what = count > 3 ? words[1] : "";
    uint32_t number = count > 3 ? (uint32_t)strtoul(words[3], NULL, 10) : 0;
    uint32_t from = count > 4 ? (uint32_t)strtoul(words[4], NULL, 10) : 0;
    bool one_by_one = strcmp(what, "saves") == 0;
    if (one_by_one || strcmp(what, "claims") == 0) {
        add_claims(words[2], number, from, one_by_one);
        return 0;
    }
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++) {
        if (strcmp(what, made[i].what) == 0) {
            make(words[2], made[i].say_all, number, from);
            return 0;
        }
    }
    fprintf(stderr,
            "usage: bench_make collection|reply|signed|claims|saves|standings|marks FILE COUNT [FROM]\n");
    return 2;
}
