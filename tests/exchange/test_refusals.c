/* What the library refuses whoever calls it, each with a line that says why. Much of it the program never
 * asks for. */
#include "exchange/support.h"

/* What a call is made with: a bundle of one stamp with a scan, one plate and one more contributor, opened for
 * writing, and a draft of it. */
typedef struct scene {
    glassine_bundle *bundle;
    glassine_draft *draft;
    glassine_report *report;
    glassine_record *stamp, *plate;
} scene;

static const char *path_of_bundle(void) {
    return in_folder("sorrel.glassine");
}

static glassine_record *enter(glassine_draft *draft, const char *type, const glassine_assignment *fields,
                              size_t count) {
    glassine_record *record;
    MUST(glassine_draft_enter(draft, type, fields, count, NULL, &record, &error));
    return record;
}

static void set_aside(glassine_draft *draft, glassine_record *record) {
    const glassine_assignment aside = {"set_aside", "true", NULL};
    bool changed;
    MUST(glassine_draft_revise(draft, record, &aside, 1, "not mine", &changed, &error));
}

#define ENTER(type, ...)                                                                                     \
    enter(session.draft, type, (glassine_assignment[]){__VA_ARGS__},                                         \
          sizeof((glassine_assignment[]){__VA_ARGS__}) / sizeof(glassine_assignment))

static char scan_in_it[65]; /* its digest */

static int make_bundle(void **state) {
    if (make_folder(state))
        return -1;
    setenv("SOURCE_DATE_EPOCH", "1764061200", 1);
    MUST(glassine_bundle_make(path_of_bundle(), "Sorrel Islands", "Wren Alderby", &error));
    assert_int_equal(gl_file_write_all(in_folder("front.png"),
                                       GL_SPAN("\x89PNG\r\n\x1A\n a scan, as far as it goes"), true),
                     0);
    assert_int_equal(gl_file_write_all(in_folder("empty.png"), GL_SPAN(""), true), 0);
    saying_session session = begin_saying(path_of_bundle(), NULL);
    ENTER("contributor", {"name", "Odile Farrow", NULL});
    ENTER("design", {"label", "KF", NULL}, {"title", "Kingfisher", NULL});
    ENTER("plate", {"label", "1", NULL}, {"design", "KF", NULL}, {"rows", "12", NULL},
          {"columns", "10", NULL});
    glassine_record *item = ENTER("item", {"label", "H-1", NULL}), *scan;
    bool known;
    MUST(glassine_draft_attach(session.draft, item, in_folder("front.png"), NULL, 0, &scan, &known, NULL,
                               &error));
    snprintf(scan_in_it, sizeof scan_in_it, "%s",
             span_text(glassine_record_text(session.bundle, scan, "sha256")));
    ENTER("stamp", {"item", "H-1", NULL}, {"design", "KF", NULL});
    end_saying(&session);
    return 0;
}

static glassine_record *found(glassine_bundle *bundle, const char *type, const char *name) {
    glassine_record *record;
    MUST(glassine_bundle_find(bundle, type, name, &record, &error));
    return record;
}

static void begin(scene *s) {
    s->bundle = opened(path_of_bundle(), GLASSINE_WRITE);
    MUST(glassine_draft_new(s->bundle, NULL, NULL, &s->draft, &error));
    s->report = glassine_report_new("a call");
    s->stamp = found(s->bundle, "stamp", "H-1");
    s->plate = found(s->bundle, "plate", "1");
}

static void end(scene *s) {
    glassine_report_free(s->report);
    glassine_draft_free(s->draft);
    glassine_bundle_close(s->bundle);
}

/* ------------------------------------------------------------------------------------------- files and
 * handles */

static glassine_status open_edition_zero(scene *s) {
    (void)s;
    glassine_bundle *bundle;
    return glassine_bundle_open(in_folder("sorrel.glassine#0"), GLASSINE_READ, NULL, &bundle, &error);
}

static glassine_status write_old_edition(scene *s) {
    (void)s;
    glassine_bundle *bundle;
    return glassine_bundle_open(in_folder("sorrel.glassine#1"), GLASSINE_WRITE, NULL, &bundle, &error);
}

static glassine_status open_later_edition(scene *s) {
    (void)s;
    glassine_bundle *bundle;
    return glassine_bundle_open(in_folder("sorrel.glassine#99"), GLASSINE_READ, NULL, &bundle, &error);
}

static glassine_status open_with_short_lines(scene *s) {
    (void)s;
    glassine_bundle *bundle;
    glassine_limits limits = glassine_limits_default();
    limits.line_bytes = 100;
    return glassine_bundle_open(path_of_bundle(), GLASSINE_READ, &(glassine_options){.limits = &limits},
                                &bundle, &error);
}

static glassine_status draft_of_what_is_read(scene *s) {
    (void)s;
    glassine_bundle *bundle = opened(path_of_bundle(), GLASSINE_READ);
    glassine_draft *draft;
    glassine_status status = glassine_draft_new(bundle, NULL, NULL, &draft, &error);
    glassine_bundle_close(bundle);
    return status;
}

static glassine_status second_draft(scene *s) {
    glassine_draft *draft;
    return glassine_draft_new(s->bundle, NULL, NULL, &draft, &error);
}

static glassine_status speaker_of_another_type(scene *s) {
    return glassine_draft_speaker(s->draft, "item/00000000-0000-4000-8000-000000000000", NULL, &error);
}

static glassine_status as_of_an_open_date(scene *s) {
    uint32_t edition;
    return glassine_bundle_as_of(s->bundle, "1861-05/..", &edition, &error);
}

static glassine_status unknown_scan(scene *s) {
    static const char none[] = "0000000000000000000000000000000000000000000000000000000000000000";
    return glassine_scan_read(s->bundle, none, NULL, NULL, &error);
}

static glassine_status empty_scan(scene *s) {
    const char *path = in_folder("empty.png");
    bool known;
    return glassine_draft_gather(s->draft, &path, 1, &known, &error);
}

static glassine_status too_large_for_a_key(scene *s) {
    (void)s;
    static char much[100000];
    glassine_key *key;
    memset(much, 'k', sizeof much);
    unlink(in_folder("key.pem"));
    assert_int_equal(gl_file_write_all(in_folder("key.pem"), (gl_span){much, sizeof much}, true), 0);
    return glassine_key_read(in_folder("key.pem"), NULL, &key, &error);
}

/* -------------------------------------------------------------------------------------------------- whole
 * bundles */

static glassine_status recover_nothing(scene *s) {
    return glassine_recover(NULL, 0, in_folder("out.glassine"), NULL, s->report, &error);
}

static glassine_status too_much_parity(scene *s) {
    return glassine_tidy_with_parity(path_of_bundle(), in_folder("out.glassine"), 101, NULL, s->report,
                                     &error);
}

static glassine_status extract_nowhere(scene *s) {
    return glassine_extract(path_of_bundle(), NULL, NULL, s->report, &error);
}

static glassine_status tidy_with_a_tail(scene *s) {
    copy_file(path_of_bundle(), in_folder("torn.glassine"));
    FILE *file = fopen(in_folder("torn.glassine"), "a");
    assert_true(file && fputs("a save that was killed", file) >= 0 && fclose(file) == 0);
    return glassine_tidy(in_folder("torn.glassine"), NULL, NULL, s->report, &error);
}

/* --------------------------------------------------------------------------------------------------------
 * saying */

static glassine_status dispatch_of_nothing(scene *s) {
    const glassine_dispatch_options options = {.to = "Odile Farrow"};
    return glassine_dispatch(s->draft, &options, in_folder("out.glassine"), s->report, &error);
}

static glassine_status reply_to_nothing(scene *s) {
    glassine_record *odile = found(s->bundle, "contributor", "Odile Farrow");
    return glassine_reply(s->bundle, span_text(glassine_record_id(s->bundle, odile)), NULL,
                          in_folder("out.glassine"), s->report, &error);
}

static glassine_status sign_without_key(scene *s) {
    size_t count, left;
    return glassine_draft_sign_earlier(s->draft, NULL, 0, &count, &left, &error);
}

/* -------------------------------------------------------------------------------------------------------
 * plating */

static glassine_status locate_what_is_aside(scene *s) {
    set_aside(s->draft, s->stamp);
    return glassine_locate(s->bundle, s->stamp, NULL, s->report, &error);
}

static glassine_status alike_to_what_is_aside(scene *s) {
    set_aside(s->draft, s->stamp);
    return glassine_alike(s->bundle, s->stamp, NULL, 0, s->report, &error);
}

static glassine_status locate_on_what_is_aside(scene *s) {
    set_aside(s->draft, s->plate);
    return glassine_locate(s->bundle, s->stamp, &(glassine_locate_options){.plate = s->plate}, s->report,
                           &error);
}

static glassine_status dates_of_what_is_aside(scene *s) {
    set_aside(s->draft, s->plate);
    return glassine_dates(s->bundle, s->plate, s->report, &error);
}

static glassine_status chart_of_what_is_aside(scene *s) {
    set_aside(s->draft, s->plate);
    return glassine_chart_report(s->bundle, s->plate, s->report, &error);
}

static void each_says_why(void **state) {
    (void)state;
    static const struct {
        glassine_status (*call)(scene *s);
        const char *rule, *message;
    } cases[] = {
        {open_edition_zero, "", "\"0\" is no edition: a number from 1 is wanted after '#'"},
        {write_old_edition, "", "an old edition can be read and not changed"},
        {open_later_edition, "", "there is no edition 99: the last one is 2"},
        {open_with_short_lines, "L020", "the limit is 100"},
        {draft_of_what_is_read, "", "it was opened for reading only"},
        {second_draft, "", "there is a draft of it already"},
        {speaker_of_another_type, "R030", "is no contributor/UUID"},
        {as_of_an_open_date, "R022", "has no last day"},
        {unknown_scan, "", "there is no scan 0000"},
        {empty_scan, "", "the file is empty"},
        {too_large_for_a_key, "", "is no file of a key"},
        {recover_nothing, "", "a damaged file and a file to write are wanted"},
        {too_much_parity, "", "parity is 1 to 100 parts in a hundred, not 101"},
        {extract_nowhere, "", "a file to write is wanted"},
        {tidy_with_a_tail, "", "22 bytes behind the last edition belong to none"},
        {dispatch_of_nothing, "", "there is no item to send"},
        {reply_to_nothing, "", ""},
        {sign_without_key, "", "there is no key to sign with"},
        {locate_what_is_aside, "", "it or its item is set aside, so nothing is worked out for it"},
        {alike_to_what_is_aside, "", "it or its item is set aside, so nothing is worked out for it"},
        {locate_on_what_is_aside, "", "the plate is set aside, so nothing is worked out for it"},
        {dates_of_what_is_aside, "", "the plate is set aside, so nothing is worked out for it"},
        {chart_of_what_is_aside, "", "the plate is set aside, so nothing is worked out for it"},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        scene s;
        begin(&s);
        error = (glassine_error){0};
        glassine_status status = cases[i].call(&s);
        if (status != GLASSINE_REFUSED || strcmp(error.rule, cases[i].rule) != 0 ||
            !strstr(error.message, cases[i].message) || !error.message[0])
            fail_msg("case %zu: status %d, rule \"%s\", \"%s\"", i, (int)status, error.rule, error.message);
        assert_int_not_equal(access(in_folder("out.glassine"), F_OK), 0);
        end(&s);
    }
}

/* A scan whose bytes have changed in the file is not handed out, not unpacked and not listed as sound. */
static int count_bytes(void *context, const char *bytes, size_t length) {
    (void)bytes;
    *(size_t *)context += length;
    return 0;
}

/* The first place of `text` in the bytes; NULL where it is not in them. */
static char *find(gl_buf *bytes, const char *text) {
    for (size_t i = 0; i + strlen(text) <= bytes->length; i++)
        if (memcmp(bytes->text + i, text, strlen(text)) == 0)
            return bytes->text + i;
    return NULL;
}

static void changed_bytes(void **state) {
    (void)state;
    gl_buf file = GL_BUF_EMPTY;
    const char *path = in_folder("changed.glassine");
    assert_int_equal(gl_file_read_all(path_of_bundle(), (size_t)1 << 28, &file), 0);
    char *scan = find(&file, "a scan, as far");
    assert_non_null(scan);
    *scan = 'A';
    assert_int_equal(gl_file_write_all(path, gl_buf_span(&file), true), 0);
    gl_buf_free(&file);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    size_t read = 0;
    error = (glassine_error){0};
    assert_int_equal(glassine_scan_read(bundle, scan_in_it, count_bytes, &read, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "C071");
    glassine_bundle_close(bundle);
    assert_int_equal(glassine_unpack(path, in_folder("apart"), NULL, NULL, &error), GLASSINE_REFUSED);
    assert_string_equal(error.rule, "C071");
    assert_int_not_equal(access(in_folder("apart"), F_OK), 0);
}

/* ------------------------------------------------------------------------------------------------ stopped */

/* Stops the work when it is asked for the time after `left` more. */
static bool go_on(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    int *left = context;
    assert_non_null(doing);
    assert_true(!unit || *unit);
    assert_true(done <= total || total == 0);
    return (*left)-- > 0;
}

/* Whatever is stopped, whenever: it says so, and nothing of it is left. */
static void stopped_work_leaves_nothing(void **state) {
    (void)state;
    static const struct {
        const char *what;
        glassine_status (*call)(const char *path, const char *out, const glassine_options *options,
                                glassine_report *report, glassine_error *error);
    } cases[] = {{"tidy", glassine_tidy}, {"extract", glassine_extract}, {"unpack", glassine_unpack}};
    for (size_t i = 0; i < COUNT(cases); i++) {
        int asked = 0;
        for (bool done = false; !done; asked++) {
            int left = asked;
            const glassine_watch watch = {.tell = go_on, .context = &left};
            const glassine_options options = {.watch = &watch};
            error = (glassine_error){0};
            glassine_status status =
                cases[i].call(path_of_bundle(), in_folder("out.glassine"), &options, NULL, &error);
            done = left >= 0;
            assert_int_equal(status, done ? GLASSINE_OK : GLASSINE_SYSTEM);
            assert_int_equal(access(in_folder("out.glassine"), F_OK) == 0, done);
        }
        if (asked < 2)
            fail_msg("%s asks nobody", cases[i].what);
        assert_int_equal(remove_tree(in_folder("out.glassine")), 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_says_why),
        cmocka_unit_test(changed_bytes),
        cmocka_unit_test(stopped_work_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, make_bundle, remove_folder);
}
