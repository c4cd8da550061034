#include "operations.h"

#include <stdio.h>
#include <string.h>

#include "scene.h"

/* ---------------------------------------------------------------------------------------------- helpers */

static int tell(void *context, const char *bytes, size_t length) {
    telling *told = context;
    for (size_t i = 0; i < length; i++)
        told->sum = (told->sum ^ (unsigned char)bytes[i]) * UINT64_C(0x100000001b3);
    return 0;
}

static void tell_span(telling *told, glassine_span span) {
    tell(told, span.text ? span.text : "", span.length);
    tell(told, span.text ? "." : "-", 1);
}

static void tell_number(telling *told, uint64_t number) {
    tell(told, (const char *)&number, sizeof number);
}

static glassine_status no_memory(glassine_error *error) {
    *error = (glassine_error){.status = GLASSINE_SYSTEM, .message = "there is not enough memory"};
    return GLASSINE_SYSTEM;
}

/* Work on a bundle that is open; on a draft of it, where it is open for writing. */
typedef struct at_work {
    telling *told;
    glassine_bundle *bundle;
    glassine_draft *draft;
    glassine_report *report;
    glassine_error *error;
} at_work;

typedef glassine_status (*job)(at_work *it);

static glassine_status print(at_work *it) {
    if (glassine_report_failed(it->report))
        return no_memory(it->error);
    if (glassine_report_json(it->report, tell, it->told) ||
        glassine_report_text(it->report, (glassine_text_style){.width = 80}, tell, it->told) ||
        glassine_report_findings_text(it->report, (glassine_text_style){.width = 80}, tell, it->told))
        return no_memory(it->error);
    return GLASSINE_OK;
}

/* The job with a report, which is printed. */
static glassine_status reporting(at_work *it, job work) {
    it->report = glassine_report_new("test");
    if (!it->report)
        return no_memory(it->error);
    glassine_status status = work(it);
    it->told->done = !status;
    if (!status)
        status = print(it);
    glassine_report_free(it->report);
    it->report = NULL;
    return status;
}

static glassine_status reading(const char *name, job work, telling *told, glassine_error *error) {
    at_work it = {.told = told, .error = error};
    glassine_status status = glassine_bundle_open(scene_path(name), GLASSINE_READ, NULL, &it.bundle, error);
    if (status)
        return status;
    status = reporting(&it, work);
    glassine_bundle_close(it.bundle);
    return status;
}

static glassine_status writing(const char *name, job work, telling *told, glassine_error *error) {
    at_work it = {.told = told, .error = error};
    glassine_status status = glassine_bundle_open(scene_path(name), GLASSINE_WRITE, NULL, &it.bundle, error);
    if (status)
        return status;
    status = glassine_draft_new(it.bundle, NULL, NULL, &it.draft, error);
    if (!status)
        status = reporting(&it, work);
    glassine_draft_free(it.draft);
    glassine_bundle_close(it.bundle);
    return status;
}

static glassine_status alone(job work, telling *told, glassine_error *error) {
    return reporting(&(at_work){.told = told, .error = error}, work);
}

#define READING(name, bundle)                                                                                \
    static glassine_status name(telling *told, glassine_error *error) {                                      \
        return reading(bundle, name##_job, told, error);                                                     \
    }
#define WRITING(name)                                                                                        \
    static glassine_status name(telling *told, glassine_error *error) {                                      \
        return writing("work.glassine", name##_job, told, error);                                            \
    }
#define ALONE(name)                                                                                          \
    static glassine_status name(telling *told, glassine_error *error) {                                      \
        return alone(name##_job, told, error);                                                               \
    }

/* After functions that have no status. */
static glassine_status given(at_work *it) {
    return glassine_bundle_failed(it->bundle) ? no_memory(it->error) : GLASSINE_OK;
}

static glassine_status find(at_work *it, const char *type, const char *name, glassine_record **record) {
    return glassine_bundle_find(it->bundle, type, name, record, it->error);
}

/* ---------------------------------------------------------------------------------------------- reading */

static glassine_status open_job(at_work *it) {
    char digest[65];
    glassine_bundle_digest(it->bundle, digest);
    tell(it->told, digest, sizeof digest);
    tell(it->told, glassine_bundle_title(it->bundle), strlen(glassine_bundle_title(it->bundle)));
    tell_number(it->told, glassine_bundle_slips(it->bundle));
    return given(it);
}
#define open_last_job open_job
READING(open_last, "merged.glassine")
#define open_earlier_job open_job
READING(open_earlier, "merged.glassine#2")
#define open_folder_job open_job
READING(open_folder, "folder/glassine-base")

static glassine_status tell_fields(at_work *it, glassine_record *record) {
    const glassine_field *fields;
    size_t count;
    glassine_status status = glassine_record_fields(it->bundle, record, &fields, &count, it->error);
    for (size_t i = 0; !status && i < count; i++)
        for (size_t k = 0; k < fields[i].saying_count; k++) {
            glassine_span shown =
                glassine_value_shown(it->bundle, fields[i].sayings[k].value, fields[i].info);
            tell_span(it->told, fields[i].name);
            tell_span(it->told, shown);
        }
    return status ? status : given(it);
}

static glassine_status tell_history(at_work *it, glassine_record *record) {
    const uint32_t *slips;
    const glassine_change *changes;
    size_t count;
    glassine_status status = glassine_record_history(it->bundle, record, &slips, &count, it->error);
    for (size_t i = 0; !status && i < count; i++)
        tell_span(it->told, glassine_bundle_slip(it->bundle, slips[i]).line);
    if (!status)
        status = glassine_record_life(it->bundle, record, &changes, &count, it->error);
    if (!status)
        tell_number(it->told, count);
    return status;
}

static glassine_status tell_referrers(at_work *it, glassine_record *record) {
    glassine_record *const *referrers;
    size_t count;
    glassine_status status =
        glassine_record_referrers(it->bundle, record, NULL, true, &referrers, &count, it->error);
    if (!status)
        tell_number(it->told, count);
    return status;
}

static glassine_status walk(at_work *it, job with) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(it->bundle, NULL, true, &cursor, it->error);
    if (status)
        return status;
    for (glassine_record *record; !status && (record = glassine_cursor_next(cursor));) {
        tell_span(it->told, glassine_record_id(it->bundle, record));
        glassine_span label = glassine_record_label(it->bundle, record);
        glassine_span key = glassine_record_key(it->bundle, record);
        tell_span(it->told, label);
        tell_span(it->told, key);
        status = tell_fields(it, record);
        if (!status && with)
            status = tell_history(it, record);
        if (!status && with)
            status = tell_referrers(it, record);
    }
    glassine_cursor_free(cursor);
    return status;
}

static glassine_status cursor_job(at_work *it) {
    return walk(it, NULL);
}
READING(cursor, "merged.glassine")

static glassine_status history_job(at_work *it) {
    return walk(it, open_job);
}
READING(history, "merged.glassine")

static glassine_status find_job(at_work *it) {
    glassine_record *record;
    glassine_status status = find(it, "stamp", "K-002", &record);
    if (!status)
        tell_span(it->told, glassine_record_key(it->bundle, record));
    if (!status)
        status = find(it, "contributor", "Odile Farrow", &record);
    if (!status && find(it, NULL, "nobody's", &record) != GLASSINE_REFUSED)
        status = it->error->status;
    return status;
}
#define find_names_job find_job
READING(find_names, "merged.glassine")

static glassine_status scan_job(at_work *it) {
    return glassine_scan_read(it->bundle, scene_digest, tell, it->told, it->error);
}
#define scan_read_job scan_job
READING(scan_read, "base.glassine")

static glassine_status picture_job(at_work *it) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(it->bundle, "scan", false, &cursor, it->error);
    if (status)
        return status;
    for (glassine_record *scan; !status && (scan = glassine_cursor_next(cursor));) {
        char digest[65];
        glassine_span hex = glassine_record_text(it->bundle, scan, "sha256");
        if ((status = given(it)))
            break;
        snprintf(digest, sizeof digest, "%.*s", (int)hex.length, hex.text);
        glassine_picture picture;
        status = glassine_picture_make(it->bundle, digest, 12, &picture, it->error);
        if (!status) {
            tell(it->told, (const char *)picture.bytes, picture.length);
            glassine_picture_free(&picture);
        }
    }
    glassine_cursor_free(cursor);
    return status;
}
#define pictures_job picture_job
READING(pictures, "base.glassine")

#define REPORT_OF(name, call)                                                                                \
    static glassine_status name##_job(at_work *it) {                                                         \
        return call(it->bundle, it->report, it->error);                                                      \
    }                                                                                                        \
    READING(name, "merged.glassine")
REPORT_OF(contested, glassine_contested)
REPORT_OF(editions, glassine_editions)
REPORT_OF(proposed, glassine_proposed)
REPORT_OF(keys, glassine_keys)
static glassine_status pending_job(at_work *it) {
    return glassine_pending(it->bundle, it->report, it->error);
}
READING(pending, "sender.glassine")

static glassine_status diff_job(at_work *it) {
    glassine_bundle *other;
    glassine_status status =
        glassine_bundle_open_beside(scene_path("other.glassine"), it->bundle, NULL, &other, it->error);
    if (status)
        return status;
    status = glassine_diff(it->bundle, other, NULL, it->report, it->error);
    glassine_bundle_close(other);
    return status;
}
READING(diff, "base.glassine")

static glassine_status audit_job(at_work *it) {
    return glassine_audit(scene_path("merged.glassine"), NULL, it->report, it->error);
}
ALONE(audit)

static glassine_status audit_pictures_job(at_work *it) {
    const glassine_audit_options options = {.images = true};
    return glassine_audit(scene_path("merged.glassine"), &options, it->report, it->error);
}
ALONE(audit_pictures)

/* --------------------------------------------------------------------------------------------- plating */

static glassine_status standing_job(at_work *it) {
    glassine_record *stamp;
    glassine_status status = glassine_standing(it->bundle, NULL, 0, it->report, it->error);
    if (!status)
        status = find(it, "stamp", "K-003", &stamp);
    if (!status)
        status = glassine_standing(it->bundle, &stamp, 1, it->report, it->error);
    return status;
}
READING(standing, "merged.glassine")

static glassine_status standings_job(at_work *it) {
    glassine_standings *standings;
    glassine_status status = glassine_standings_new(it->bundle, it->report, &standings, it->error);
    if (status)
        return status;
    for (size_t i = 0; !status && i < glassine_standings_count(standings); i++) {
        const char *shown = glassine_standings_shown(standings, i, 3);
        if (!shown)
            status = no_memory(it->error);
        else
            tell(it->told, shown, strlen(shown));
    }
    glassine_standings_free(standings);
    return status;
}
READING(standings, "merged.glassine")

static glassine_status locate_job(at_work *it) {
    glassine_record *stamp;
    glassine_status status = find(it, "stamp", "K-001", &stamp);
    if (!status)
        status = glassine_locate(it->bundle, stamp, &(glassine_locate_options){.within = "column 4,7"},
                                 it->report, it->error);
    return status;
}
READING(locate, "merged.glassine")

static glassine_status alike_job(at_work *it) {
    glassine_record *stamp;
    glassine_status status = find(it, "stamp", "K-001", &stamp);
    if (!status)
        status = glassine_alike(it->bundle, stamp, NULL, 0, it->report, it->error);
    return status;
}
READING(alike, "merged.glassine")

static glassine_status chart_job(at_work *it) {
    glassine_record *plate;
    glassine_status status = find(it, "plate", "1", &plate);
    if (!status)
        status = glassine_chart_report(it->bundle, plate, it->report, it->error);
    if (!status)
        status = glassine_chart_svg(it->bundle, plate, tell, it->told, it->report, it->error);
    return status;
}
READING(chart, "merged.glassine")

static glassine_status dates_job(at_work *it) {
    glassine_record *plate;
    glassine_status status = find(it, "plate", "1", &plate);
    if (!status)
        status = glassine_dates(it->bundle, plate, it->report, it->error);
    return status;
}
READING(dates, "merged.glassine")

static glassine_status positions_job(at_work *it) {
    glassine_plan *plan;
    glassine_positions *positions;
    const glassine_layout layout = {.rows = 12, .columns = 10, .panes_across = 1};
    glassine_status status = glassine_plan_new(&layout, &plan, it->error);
    if (status)
        return status;
    status = glassine_positions_parse(plan, "column 4 but not row 2", &positions, NULL, it->error);
    if (!status) {
        const char *expression = glassine_positions_expression(positions);
        const char *shown = glassine_positions_shown(positions, 4);
        if (!expression || !shown)
            status = no_memory(it->error);
        else {
            tell(it->told, expression, strlen(expression));
            tell(it->told, shown, strlen(shown));
        }
        glassine_positions_free(positions);
    }
    glassine_plan_free(plan);
    return status;
}
ALONE(positions)

/* ---------------------------------------------------------------------------------------------- writing */

static void copy_base(void) {
    scene_copy("base.glassine", "work.glassine");
}

static void copy_merged(void) {
    scene_copy("merged.glassine", "work.glassine");
}

static void copy_sender(void) {
    scene_copy("sender.glassine", "work.glassine");
    scene_drop("out.glassine");
    scene_drop("out");
}

static void drop_made(void) {
    scene_drop("out.glassine");
    scene_drop("out.glassine.damaged");
    scene_drop("out");
}

static glassine_status make_job(at_work *it) {
    return glassine_bundle_make(scene_path("out.glassine"), "Another", "Wren Alderby", it->error);
}
ALONE(make)

static glassine_status save(at_work *it) {
    tell_number(it->told, glassine_draft_slips(it->draft));
    return glassine_draft_save(it->draft, "change", it->error);
}

static glassine_status enter_job(at_work *it) {
    glassine_record *record;
    const glassine_assignment item[] = {
        {"label", "K-010", NULL}, {"cost_minor", "500", NULL}, {"currency", "EUR", NULL}};
    const glassine_assignment stamp[] = {
        {"item", "K-010", NULL}, {"design", "KF", NULL}, {"colour", "blue", NULL}};
    glassine_status status = glassine_draft_enter(it->draft, "item", item, 3, "bought", &record, it->error);
    if (!status)
        status = glassine_draft_enter(it->draft, "stamp", stamp, 3, NULL, &record, it->error);
    return status ? status : save(it);
}
WRITING(enter)

static glassine_status claim_job(at_work *it) {
    glassine_record *record;
    const glassine_assignment claim[] = {
        {"stamp", "K-004", NULL}, {"positions", "column 4 but not row 2", NULL}, {"state", "early", NULL}};
    const glassine_assignment seen[] = {
        {"stamp", "K-004", NULL}, {"appearance", "dot", NULL}, {"x", "21", NULL}, {"y", "501", NULL}};
    glassine_status status = glassine_draft_enter(it->draft, "claim", claim, 3, NULL, &record, it->error);
    if (!status)
        status = glassine_draft_enter(it->draft, "observation", seen, 4, NULL, &record, it->error);
    return status ? status : save(it);
}
WRITING(claim)

static glassine_status settle_job(at_work *it) {
    glassine_record *stamp;
    glassine_status status = find(it, "stamp", "K-002", &stamp);
    const glassine_assignment colour = {"colour", "bottle green", NULL};
    if (!status)
        status = glassine_draft_settle(it->draft, stamp, &colour, 1, "the shade card", it->error);
    return status ? status : save(it);
}
WRITING(settle)

static glassine_status restore_job(at_work *it) {
    glassine_bundle *then;
    glassine_record *stamp;
    size_t changed, left;
    glassine_status status = find(it, "stamp", "K-002", &stamp);
    if (!status)
        status = glassine_bundle_open(scene_path("base.glassine#2"), GLASSINE_READ, NULL, &then, it->error);
    if (status)
        return status;
    status = glassine_draft_restore(it->draft, stamp, then, NULL, &changed, &left, it->error);
    glassine_bundle_close(then);
    return status ? status : save(it);
}
WRITING(restore)

static glassine_status attach_job(at_work *it) {
    glassine_record *item, *scan;
    bool known;
    glassine_status status = find(it, "item", "K-004", &item);
    if (!status)
        status = glassine_draft_attach(it->draft, item, scene_path("new.png"), NULL, 0, &scan, &known,
                                       it->report, it->error);
    return status ? status : save(it);
}
WRITING(attach)

static glassine_status gather_job(at_work *it) {
    const char *const paths[] = {scene_path("new.png"), scene_path("front.jpg"), scene_path("foreign.csv")};
    glassine_record *item, *scan;
    bool known[3];
    glassine_status status = glassine_draft_gather(it->draft, paths, 3, known, it->error);
    if (!status)
        status = find(it, "item", "K-004", &item);
    for (size_t i = 0; !status && i < 3; i++)
        status = glassine_draft_attach(it->draft, item, paths[i], NULL, 0, &scan, &known[i], it->report,
                                       it->error);
    return status ? status : save(it);
}
WRITING(gather)

static glassine_status merge_job(at_work *it) {
    const char *source = scene_path("other.glassine");
    return glassine_merge(it->draft, &source, 1, NULL, it->report, it->error);
}
WRITING(merge)

static glassine_status preview_job(at_work *it) {
    const char *source = scene_path("other.glassine");
    return glassine_merge(it->draft, &source, 1, &(glassine_merge_options){.preview = true}, it->report,
                          it->error);
}
WRITING(preview)

static glassine_status answers_job(at_work *it) {
    const char *source = scene_path("answers.txt");
    glassine_record *odile;
    glassine_status status = find(it, "contributor", "Odile Farrow", &odile);
    if (status)
        return status;
    char by[64];
    glassine_span id = glassine_record_id(it->bundle, odile);
    snprintf(by, sizeof by, "%.*s", (int)id.length, id.text);
    glassine_merge_options options = {.answers_by = by, .accept_partial = true};
    return glassine_merge(it->draft, &source, 1, &options, it->report, it->error);
}
WRITING(answers)

static glassine_status signed_job(at_work *it) {
    glassine_key *key;
    glassine_status status = glassine_key_new(&key, it->error);
    if (status)
        return status;
    glassine_bundle_sign_with(it->bundle, key, NULL);
    size_t count, left;
    status = glassine_draft_sign_earlier(it->draft, NULL, 0, &count, &left, it->error);
    if (!status)
        status = claim_job(it);
    glassine_bundle_sign_with(it->bundle, NULL, NULL);
    glassine_key_free(key);
    return status;
}
#define sign_job signed_job
WRITING(sign)

static glassine_status key_job(at_work *it) {
    glassine_key *key = NULL, *again = NULL;
    bool locked;
    glassine_status status = glassine_key_new(&key, it->error);
    if (!status)
        status = glassine_key_write(key, scene_path("out"), "a passphrase", it->error);
    if (!status)
        status = glassine_key_locked(scene_path("out"), &locked, it->error);
    if (!status)
        status = glassine_key_read(scene_path("out"), "a passphrase", &again, it->error);
    glassine_key_free(key);
    glassine_key_free(again);
    return status;
}
ALONE(key)

static glassine_status dispatch_job(at_work *it) {
    glassine_dispatch_options options = {.to = "Odile Farrow",
                                         .items = (const char *[]){"K-001", "K-003"},
                                         .item_count = 2,
                                         .blind = true,
                                         .scans = GLASSINE_SCANS_REDUCED,
                                         .scan_limit = 12,
                                         .sheet = true};
    return glassine_dispatch(it->draft, &options, scene_path("out/"), it->report, it->error);
}
WRITING(dispatch)

static glassine_status reply_job(at_work *it) {
    return glassine_reply(it->bundle, glassine_bundle_answer_by(it->bundle), NULL, scene_path("out.glassine"),
                          it->report, it->error);
}
READING(reply, "answered.glassine")

/* ----------------------------------------------------------------------------------------- whole bundles */

static glassine_status backup_job(at_work *it) {
    return glassine_backup(it->bundle, scene_path("out.glassine"), NULL, it->report, it->error);
}
READING(backup, "base.glassine")
#define backup_more_job backup_job
READING(backup_more, "merged.glassine")
#define backup_tidied_job backup_job
READING(backup_tidied, "parity.glassine")

static void put_backup(void) {
    scene_copy("base.glassine", "out.glassine");
}

static void put_grown_backup(void) {
    scene_copy("merged.glassine", "out.glassine");
}

static glassine_status tidy_job(at_work *it) {
    return glassine_tidy(scene_path("work.glassine"), NULL, NULL, it->report, it->error);
}
ALONE(tidy)

static glassine_status parity_job(at_work *it) {
    return glassine_tidy_with_parity(scene_path("merged.glassine"), scene_path("out.glassine"), 10, NULL,
                                     it->report, it->error);
}
ALONE(parity)

static glassine_status recover_from(at_work *it, const char *name) {
    const char *path = scene_path(name);
    return glassine_recover(&path, 1, scene_path("out.glassine"), NULL, it->report, it->error);
}

static glassine_status recover_job(at_work *it) {
    return recover_from(it, "damaged.glassine");
}
ALONE(recover)

static glassine_status mend_job(at_work *it) {
    return recover_from(it, "mendable.glassine");
}
ALONE(mend)

static glassine_status extract_job(at_work *it) {
    return glassine_extract(scene_path("merged.glassine#2"), scene_path("out.glassine"), NULL, it->report,
                            it->error);
}
ALONE(extract)

static glassine_status intake_job(at_work *it) {
    return glassine_extract(scene_path("folder/glassine-base"), scene_path("out.glassine"), NULL, it->report,
                            it->error);
}
ALONE(intake)

static glassine_status unpack_job(at_work *it) {
    return glassine_unpack(scene_path("merged.glassine"), scene_path("out"), NULL, it->report, it->error);
}
ALONE(unpack)

/* -------------------------------------------------------------------------------------------- converters */

static glassine_status to_csv_job(at_work *it) {
    return glassine_to_csv(it->bundle, scene_path("out"), &(glassine_csv_options){.with_private = true},
                           it->report, it->error);
}
READING(to_csv, "merged.glassine")

static glassine_status flat_job(at_work *it) {
    return glassine_to_csv(it->bundle, scene_path("out"), &(glassine_csv_options){.flat = true}, it->report,
                           it->error);
}
#define to_flat_job flat_job
READING(to_flat, "merged.glassine")

static glassine_status to_json_job(at_work *it) {
    return glassine_to_json(it->bundle, &(glassine_json_options){true, true}, tell, it->told, it->error);
}
READING(to_json, "merged.glassine")

static glassine_status lines_job(at_work *it) {
    return glassine_to_json_lines(it->bundle, scene_path("out"), NULL, it->report, it->error);
}
#define to_lines_job lines_job
READING(to_lines, "merged.glassine")

static glassine_status to_html_job(at_work *it) {
    glassine_html_options options = {.scan_limit = 12};
    return glassine_to_html(it->bundle, &options, tell, it->told, it->report, it->error);
}
READING(to_html, "merged.glassine")

static glassine_status to_xlsx_job(at_work *it) {
    glassine_xlsx_options options = {.with_private = true, .pictures = true};
    return glassine_to_xlsx(it->bundle, scene_path("out"), &options, it->report, it->error);
}
READING(to_xlsx, "merged.glassine")

static glassine_status with_other(at_work *it, bool patch) {
    glassine_bundle *other;
    size_t count;
    glassine_status status =
        glassine_bundle_open_beside(scene_path("other.glassine"), it->bundle, NULL, &other, it->error);
    if (status)
        return status;
    status = patch ? glassine_patch(it->bundle, other, NULL, tell, it->told, &count, it->error)
                   : glassine_diff_csv(it->bundle, other, NULL, tell, it->told, &count, it->error);
    glassine_bundle_close(other);
    return status;
}

static glassine_status patch_job(at_work *it) {
    return with_other(it, true);
}
READING(patch, "base.glassine")

static glassine_status diff_csv_job(at_work *it) {
    return with_other(it, false);
}
READING(diff_csv, "base.glassine")

static glassine_status from_csv_job(at_work *it) {
    const char *const sheets[] = {scene_path("sheets/stamp.csv"), scene_path("sheets/item.csv")};
    glassine_status status = glassine_from_csv(it->bundle, it->draft, sheets, 2, NULL, it->report, it->error);
    return status ? status : save(it);
}
WRITING(from_csv)

static glassine_status from_foreign_job(at_work *it) {
    const char *sheet = scene_path("foreign.csv");
    glassine_sheets_options options = {.map = scene_path("map.csv"), .accept_partial = true};
    glassine_status status =
        glassine_from_csv(it->bundle, it->draft, &sheet, 1, &options, it->report, it->error);
    return status ? status : save(it);
}
WRITING(from_foreign)

static glassine_status from_xlsx_job(at_work *it) {
    glassine_status status =
        glassine_from_xlsx(it->bundle, it->draft, scene_path("book.xlsx"), NULL, it->report, it->error);
    return status ? status : save(it);
}
WRITING(from_xlsx)

static glassine_status from_json_job(at_work *it) {
    glassine_status status =
        glassine_from_json(it->bundle, it->draft, scene_path("document.json"), NULL, it->report, it->error);
    return status ? status : save(it);
}
WRITING(from_json)

static glassine_status from_json_new_job(at_work *it) {
    return glassine_from_json_new(scene_path("document.json"), scene_path("out.glassine"), NULL, it->report,
                                  it->error);
}
ALONE(from_json_new)

static glassine_status map_draft_job(at_work *it) {
    return glassine_sheet_map_draft(scene_path("foreign.csv"), scene_path("out"), it->report, it->error);
}
ALONE(map_draft)

#define WORK "work.glassine"
#define OUT "out.glassine"

const operation OPERATIONS[] = {
    {"open", NULL, open_last, NULL, NULL},
    {"open an earlier edition", NULL, open_earlier, NULL, NULL},
    {"open a folder", NULL, open_folder, NULL, NULL},
    {"cursor and fields", NULL, cursor, NULL, NULL},
    {"histories", NULL, history, NULL, NULL},
    {"find", NULL, find_names, NULL, NULL},
    {"read a scan", NULL, scan_read, NULL, NULL},
    {"pictures", NULL, pictures, NULL, NULL},
    {"contested", NULL, contested, NULL, NULL},
    {"editions", NULL, editions, NULL, NULL},
    {"proposed", NULL, proposed, NULL, NULL},
    {"keys", NULL, keys, NULL, NULL},
    {"pending", NULL, pending, NULL, NULL},
    {"diff", NULL, diff, NULL, NULL},
    {"audit", NULL, audit, NULL, NULL},
    {"audit of pictures", NULL, audit_pictures, NULL, NULL},
    {"standing", NULL, standing, NULL, NULL},
    {"standings", NULL, standings, NULL, NULL},
    {"locate", NULL, locate, NULL, NULL},
    {"alike", NULL, alike, NULL, NULL},
    {"chart", NULL, chart, NULL, NULL},
    {"dates", NULL, dates, NULL, NULL},
    {"positions", NULL, positions, NULL, NULL},
    {"make", drop_made, make, OUT, OUT},
    {"enter", copy_base, enter, WORK, NULL},
    {"claim", copy_base, claim, WORK, NULL},
    {"settle", copy_merged, settle, WORK, NULL},
    {"restore", copy_merged, restore, WORK, NULL},
    {"attach", copy_base, attach, WORK, NULL},
    {"gather", copy_base, gather, WORK, NULL},
    {"merge", copy_base, merge, WORK, NULL},
    {"preview a merge", copy_base, preview, WORK, NULL},
    {"answers", copy_sender, answers, WORK, NULL},
    {"sign", copy_base, sign, WORK, NULL},
    {"key", drop_made, key, NULL, NULL},
    {"dispatch", copy_sender, dispatch, WORK, "out"},
    {"reply", drop_made, reply, OUT, OUT},
    {"backup", drop_made, backup, OUT, OUT},
    {"backup of what grew", put_backup, backup_more, OUT, NULL},
    {"backup of what was tidied", put_grown_backup, backup_tidied, OUT, NULL},
    {"tidy", copy_merged, tidy, WORK, NULL},
    {"tidy with parity", drop_made, parity, OUT, OUT},
    {"recover", drop_made, recover, OUT, OUT},
    {"recover by parity", drop_made, mend, OUT, OUT},
    {"extract", drop_made, extract, OUT, OUT},
    {"intake", drop_made, intake, OUT, OUT},
    {"unpack", drop_made, unpack, NULL, "out"},
    {"to-csv", drop_made, to_csv, NULL, NULL},
    {"to-csv --flat", drop_made, to_flat, NULL, NULL},
    {"to-json", NULL, to_json, NULL, NULL},
    {"to-json --lines", drop_made, to_lines, NULL, NULL},
    {"to-html", NULL, to_html, NULL, NULL},
    {"to-xlsx", drop_made, to_xlsx, NULL, NULL},
    {"patch", NULL, patch, NULL, NULL},
    {"diff as csv", NULL, diff_csv, NULL, NULL},
    {"from-csv", copy_base, from_csv, WORK, NULL},
    {"from-csv by a map", copy_base, from_foreign, WORK, NULL},
    {"from-xlsx", copy_base, from_xlsx, WORK, NULL},
    {"from-json", copy_base, from_json, WORK, NULL},
    {"from-json, new", drop_made, from_json_new, OUT, OUT},
    {"map draft", drop_made, map_draft, NULL, NULL},
};
const size_t OPERATION_COUNT = sizeof OPERATIONS / sizeof OPERATIONS[0];
