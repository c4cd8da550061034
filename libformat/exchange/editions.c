/* The editions of a bundle as a report. */
#include "base/clock.h"
#include "base/edtf.h"
#include "base/error.h"
#include "bundle/bundle.h"

glassine_status glassine_bundle_as_of(const glassine_bundle *bundle, const char *date, uint32_t *edition,
                                      glassine_error *error) {
    enum { DAY = 86400 };
    gl_buf typed = GL_BUF_EMPTY;
    gl_date bounds;
    glassine_status status = gl_edtf_from_typed(gl_span_of(date), &typed, error);
    if (!status &&
        (!gl_edtf_parse(gl_buf_span(&typed), &bounds, NULL, NULL) || bounds.open_end || bounds.unknown_end))
        status = gl_fail(error, GLASSINE_REFUSED, "R022", NULL, "\"%s\" has no last day", date);
    gl_buf_free(&typed);
    *edition = 0;
    for (uint32_t number = 1; !status && number <= bundle->edition; number++) {
        int64_t at;
        if (gl_time_parse(gl_edition_said(gl_log_edition(bundle->log, number)).at, &at) &&
            at / DAY <= bounds.last)
            *edition = number;
    }
    return status;
}

static void add_edition(glassine_bundle *bundle, glassine_node *table, uint32_t number) {
    glassine_edition it = glassine_bundle_edition_at(bundle, number);
    uint64_t before = number > 1 ? gl_log_edition(bundle->log, number - 1)->slips : 0;
    glassine_record *who = glassine_bundle_record(bundle, it.by, GL_NO_SPAN);
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    glassine_node_integer(row, "edition", "edition", number);
    glassine_node_text(row, "at", "at", it.at);
    glassine_node_text(row, "by", NULL, it.by);
    glassine_node_text(row, "by_name", "by", who ? glassine_record_label(bundle, who) : it.by);
    glassine_node_integer(row, "new_slips", "slips", (int64_t)(it.slips - before));
    glassine_node_integer(row, "slips", NULL, (int64_t)it.slips);
    glassine_node_integer(row, "brings", "files", (int64_t)it.brings);
    glassine_node_text(row, "tool", NULL, it.tool);
    glassine_node_text(row, "log", NULL, it.log);
    glassine_node_text(row, "log_short", "log", gl_span_part(it.log, 0, 12));
    glassine_node_text(row, "note", "note", it.note);
}

glassine_status glassine_editions(glassine_bundle *bundle, glassine_report *report, glassine_error *error) {
    glassine_report_about(report, bundle->path, bundle->edition);
    glassine_node *table = glassine_report_result_list(report, NULL, true);
    for (uint32_t number = 1; number <= bundle->edition; number++)
        add_edition(bundle, table, number);
    return gl_bundle_end(bundle, report, GLASSINE_OK, error);
}
