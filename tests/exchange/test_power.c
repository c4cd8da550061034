/* The power goes at any call of any save, tidy or making of a bundle: what was acknowledged is there, whole,
 * or the edition that was in progress, and nothing else. POWER_SEQUENCES says how many random sequences are
 * tried (250). */
#include "exchange/disk.h"

enum { STEPS = 5 };

typedef struct known {
    uint32_t edition;             /* acknowledged; 0: the bundle was not made yet */
    char logs[STEPS * 2 + 4][65]; /* by edition, as far as a save got */
    uint64_t slips[STEPS * 2 + 4];
} known;

static void note_edition(known *it, glassine_bundle *bundle) {
    uint32_t edition = glassine_bundle_edition(bundle);
    it->edition = edition;
    snprintf(it->logs[edition], sizeof it->logs[edition], "%s",
             span_text(glassine_bundle_edition_at(bundle, edition).log));
    it->slips[edition] = glassine_bundle_slips(bundle);
}

static const char *scan_file(uint64_t *luck) {
    const char *path = in_folder("scan.bin");
    char bytes[6000];
    size_t length = 1 + random_below(luck, sizeof bytes);
    for (size_t i = 0; i < length; i++)
        bytes[i] = (char)random_below(luck, 256);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    fclose(file);
    return path;
}

static glassine_status fill(glassine_draft *draft, uint64_t *luck, unsigned step) {
    glassine_status status = GLASSINE_OK;
    for (uint32_t i = 1 + random_below(luck, 3); i-- > 0 && !status;) {
        char label[32];
        glassine_record *item, *scan;
        bool there;
        snprintf(label, sizeof label, "H-%u-%u", step, i);
        status = glassine_draft_enter(draft, "item", (glassine_assignment[]){{"label", label, NULL}}, 1, NULL,
                                      &item, NULL);
        if (!status && random_below(luck, 2))
            status = glassine_draft_attach(draft, item, scan_file(luck), NULL, 0, &scan, &there, NULL, NULL);
    }
    return status;
}

/* One save; false where it failed. */
static bool save(const char *path, uint64_t *luck, unsigned step, known *it) {
    glassine_bundle *bundle;
    glassine_draft *draft;
    if (glassine_bundle_open(path, GLASSINE_WRITE, NULL, &bundle, NULL))
        return false;
    glassine_status status = glassine_draft_new(bundle, NULL, NULL, &draft, NULL);
    if (!status) {
        status = fill(draft, luck, step);
        if (!status)
            status = glassine_draft_save(draft, "step", NULL);
        if (!status)
            note_edition(it, bundle);
        glassine_draft_free(draft);
    }
    glassine_bundle_close(bundle);
    return status == GLASSINE_OK;
}

/* Makes a bundle and works on it until the power goes. */
static void work(const char *path, uint64_t *luck, known *it) {
    if (glassine_bundle_make(path, "Sorrel Islands", "Keeper", NULL))
        return;
    glassine_bundle *bundle;
    if (glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, NULL))
        return;
    note_edition(it, bundle);
    glassine_bundle_close(bundle);
    for (unsigned step = 0; step < STEPS; step++)
        if (random_below(luck, 4) == 0 ? glassine_tidy(path, NULL, NULL, NULL, NULL) != GLASSINE_OK
                                       : !save(path, luck, step, it))
            return;
}

static int print_out(void *context, const char *bytes, size_t length) {
    (void)context;
    print_message("%.*s", (int)length, bytes);
    return 0;
}

static bool has_fault(const char *path) {
    glassine_report *report = glassine_report_new("audit");
    MUST(glassine_audit(path, NULL, report, &error));
    size_t faults = glassine_report_findings(report, GLASSINE_FAULT);
    if (faults)
        glassine_report_findings_text(report, (glassine_text_style){0, false}, print_out, NULL);
    glassine_report_free(report);
    return faults > 0;
}

/* What is left opens at what was acknowledged, or at the save that was in progress. */
static uint32_t check_left(const char *path, const known *it, unsigned seed, uint64_t *tail) {
    glassine_bundle *bundle;
    error = (glassine_error){0};
    if (glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error)) {
        if (it->edition == 0)
            return 0; /* it was being made */
        fail_msg("seed %u: edition %u was acknowledged, and now: %s (%s)", seed, it->edition, error.message,
                 error.rule);
    }
    uint32_t edition = glassine_bundle_edition(bundle);
    if (edition < it->edition || edition > it->edition + 1)
        fail_msg("seed %u: edition %u was acknowledged, and it opens at %u", seed, it->edition, edition);
    for (uint32_t i = 1; i <= it->edition; i++)
        if (strcmp(it->logs[i], span_text(glassine_bundle_edition_at(bundle, i).log)) != 0)
            fail_msg("seed %u: edition %u is another one", seed, i);
    if (edition == it->edition && it->edition)
        assert_int_equal(glassine_bundle_slips(bundle), it->slips[edition]);
    *tail = glassine_bundle_tail(bundle);
    glassine_bundle_close(bundle);
    return edition;
}

/* Behind a torn end the next save keeps the tail aside, or says that it has to be looked at first. */
static void go_on(const char *path, uint32_t edition, uint64_t tail, unsigned seed) {
    uint64_t luck = seed + 99;
    known after = {.edition = 0};
    char aside[DISK_PATH];
    snprintf(aside, sizeof aside, "%s", in_folder("bundle.glassine.tail-%u", edition + 1));
    unlink(aside);
    if (save(path, &luck, 99, &after)) {
        assert_int_equal(after.edition, edition + 1);
        if (tail)
            assert_int_equal(file_length(aside), tail);
        assert_false(has_fault(path));
    } else {
        const char *out = in_folder("out.glassine");
        assert_true(tail > 0); /* an end record of ours is in it */
        error = (glassine_error){0};
        MUST(glassine_recover(&path, 1, out, NULL, NULL, &error));
        assert_false(has_fault(out));
    }
}

static void run(unsigned seed, uint64_t last, uint64_t *calls, unsigned *in_progress, unsigned *tails) {
    assert_int_equal(empty_folder(), 0);
    char path[DISK_PATH];
    snprintf(path, sizeof path, "%s", in_folder("bundle.glassine"));
    known it = {.edition = 0};
    uint64_t luck = seed * 7919u + 13, tail = 0;
    disk_begin(seed, last, EIO, DISK_NO_POWER);
    work(path, &luck, &it);
    *calls = the_disk.calls;
    disk_finish();
    uint32_t edition = check_left(path, &it, seed, &tail);
    *in_progress += edition > it.edition;
    *tails += tail > 0;
    if (edition == 0)
        return;
    if (!tail)
        assert_false(has_fault(path));
    go_on(path, edition, tail, seed);
}

static void sequences(void **state) {
    (void)state;
    const char *wanted = getenv("POWER_SEQUENCES");
    unsigned count = wanted ? (unsigned)atoi(wanted) : 250, in_progress = 0, tails = 0;
    for (unsigned seed = 1; seed <= count; seed++) {
        uint64_t calls, luck = seed;
        run(seed, 0, &calls, &(unsigned){0}, &(unsigned){0});
        run(seed, 1 + random_below(&luck, (uint32_t)calls), &calls, &in_progress, &tails);
    }
    print_message("%u sequences: %u opened at the save in progress, %u had a torn end\n", count, in_progress,
                  tails);
    assert_true(tails > 0);
}

int main(void) {
    setenv("SOURCE_DATE_EPOCH", "1764061200", 1);
    const struct CMUnitTest tests[] = {cmocka_unit_test(sequences)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
