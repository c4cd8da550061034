/* A bundle that asked somebody about three stamps, with UUIDs that do not change: what answers are taken
 * into. */
#ifndef TESTS_FUZZ_ASKED_H
#define TESTS_FUZZ_ASKED_H

#include "fuzz.h"

#include "exchange/draft.h"

#define ASKED_UUID(n) "00000000-0000-4000-8000-0000000000" n
#define ASKED_KEEPER "contributor/" ASKED_UUID("0a")
#define ASKED_SPECIALIST "contributor/" ASKED_UUID("0b")
#define ASKED_EVENT "event/" ASKED_UUID("e1")

#define ASKED_MUST(call) FUZZ_HOLDS((call) == GLASSINE_OK)

static void asked_enter(glassine_draft *draft, const char *id, const glassine_assignment *fields,
                        size_t count) {
    glassine_record *record;
    glassine_error error = {0};
    ASKED_MUST(gl_draft_enter_as(draft, id, fields, count, &record, &error));
}

#define ASKED_ENTER(id, ...)                                                                                 \
    do {                                                                                                     \
        const glassine_assignment fields_[] = {__VA_ARGS__};                                                 \
        asked_enter(make.draft, id, fields_, sizeof fields_ / sizeof *fields_);                              \
    } while (0)

#define ASKED_STAMP(n)                                                                                       \
    ASKED_ENTER("item/" ASKED_UUID("2" n), {"label", "H-00" n, NULL});                                       \
    ASKED_ENTER("stamp/" ASKED_UUID("3" n), {"item", "H-00" n, NULL}, {"design", "KF", NULL})

/* Its path; made once. */
static const char *asked_bundle(void) {
    static char path[160];
    gl_make make;
    glassine_error error = {0};
    gl_about about = {.keeper = (char *)ASKED_KEEPER, .title = (char *)"Sorrel Islands"};
    if (path[0])
        return path;
    setenv("SOURCE_DATE_EPOCH", "1772359200", 1);
    fuzz_path("asked.glassine", path);
    ASKED_MUST(gl_make_new(&make, path, &about, &error));
    ASKED_ENTER(ASKED_KEEPER, {"name", "Wren Alderby", NULL});
    ASKED_ENTER(ASKED_SPECIALIST, {"name", "Odile Farrow", NULL});
    ASKED_ENTER("design/" ASKED_UUID("d1"), {"label", "KF", NULL});
    ASKED_ENTER("plate/" ASKED_UUID("f1"), {"label", "1", NULL}, {"design", "KF", NULL}, {"rows", "12", NULL},
                {"columns", "10", NULL});
    ASKED_ENTER("plate_state/" ASKED_UUID("a1"), {"plate", "1", NULL}, {"name", "early", NULL},
                {"order", "1", NULL});
    ASKED_ENTER("plate_state/" ASKED_UUID("a2"), {"plate", "1", NULL}, {"name", "late", NULL},
                {"order", "2", NULL});
    ASKED_STAMP("1");
    ASKED_STAMP("2");
    ASKED_STAMP("3");
    ASKED_ENTER(
        ASKED_EVENT, {"kind", "sent", NULL}, {"items", "H-001,H-002,H-003", NULL},
        {"stamps", "stamp/" ASKED_UUID("31") ",stamp/" ASKED_UUID("32") ",stamp/" ASKED_UUID("33"), NULL},
        {"contributor", ASKED_SPECIALIST, NULL}, {"on", "2026-03-01", NULL});
    ASKED_MUST(glassine_draft_save(make.draft, "asked", &error));
    ASKED_MUST(gl_make_publish(&make, false, &error));
    gl_make_free(&make);
    return path;
}

static glassine_bundle *asked_open_bundle;
static glassine_draft *asked_open_draft;

static void asked_close(void) {
    glassine_draft_free(asked_open_draft);
    glassine_bundle_close(asked_open_bundle);
}

/* A draft that previews leave empty, so that one does for many of them; anew now and then, since what a bundle reads
 * stays in its memory. */
static glassine_draft *asked_draft(void) {
    enum { ANEW = 100 };
    static unsigned uses;
    glassine_error error = {0};
    if (uses++ % ANEW)
        return asked_open_draft;
    if (uses == 1) {
        asked_bundle(); /* its folder goes after the bundle is closed */
        atexit(asked_close);
    } else {
        asked_close();
    }
    ASKED_MUST(glassine_bundle_open(asked_bundle(), GLASSINE_WRITE, NULL, &asked_open_bundle, &error));
    ASKED_MUST(glassine_draft_new(asked_open_bundle, ASKED_KEEPER, NULL, &asked_open_draft, &error));
    return asked_open_draft;
}

/* Merges one source, as a preview: the bundle stays as it is. */
static void asked_merge(const char *source, const char *answers_by) {
    const glassine_merge_options options = {.preview = true, .answers_by = answers_by};
    glassine_error error = {0};
    glassine_draft *draft = asked_draft();
    glassine_report *report = glassine_report_new("merge");
    FUZZ_HOLDS(report != NULL);
    fuzz_said(glassine_merge(draft, &source, 1, &options, report, &error), &error);
    FUZZ_HOLDS(glassine_draft_slips(draft) == 0);
    glassine_report_free(report);
}

#endif
