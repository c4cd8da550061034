/* What a recovery found, and exactly what is lost. */
#include <stdio.h>

#include "base/error.h"
#include "exchange/recover.h"

/* A name or an end record may be damaged itself: that so many more editions were there is not believed. */
enum { BELIEVED = 10000 };

typedef struct telling {
    const gl_recovery *it;
    glassine_bundle *bundle; /* the new one, for the names of things */
    glassine_report *report;
    glassine_node *result;
    uint64_t missing; /* files, editions, slips */
} telling;

static bool is_found(const gl_recovery *it, int64_t edition) {
    if (edition <= gl_log_editions(it->log.log))
        return true;
    for (size_t i = 0; i < it->lines.group_count; i++)
        if (it->lines.groups[i].sound && it->lines.groups[i].view.edition == edition)
            return true;
    return false;
}

/* Editions of which not every line was found. */
static void tell_editions(telling *tell) {
    const gl_recovery *it = tell->it;
    uint32_t kept = gl_log_editions(it->log.log);
    uint32_t greatest = it->log.editions > it->greatest ? (uint32_t)it->log.editions : it->greatest;
    if (greatest - kept > BELIEVED && greatest > it->log.editions)
        greatest = it->log.editions > kept ? (uint32_t)it->log.editions : kept;
    glassine_node_integer(tell->result, "editions_kept", "editions as they were", kept);
    glassine_node *list = glassine_node_list(tell->result, "editions_lost", NULL);
    gl_buf text = GL_BUF_EMPTY;
    for (uint32_t edition = kept + 1; edition <= greatest; edition++)
        if (!is_found(it, edition)) {
            glassine_node_integer(list, NULL, NULL, edition);
            gl_buf_printf(&text, "%s%u", text.length ? ", " : "", edition);
            tell->missing++;
        }
    if (text.length && !text.failed)
        glassine_node_string(tell->result, NULL, "editions lost, or in part", text.text);
    gl_buf_free(&text);
    glassine_node_truth(tell->result, "adds_edition", NULL, it->adds);
}

/* In text a count of nothing says nothing. */
static void count_if(telling *tell, const char *key, const char *label, int64_t count) {
    glassine_node_integer(tell->result, key, count ? label : NULL, count);
}

/* An edition line counts the slips up to it, also those that are gone. */
static void tell_slips(telling *tell) {
    const gl_new_log *log = &tell->it->log;
    int64_t count = gl_store_count(log->store), lost = log->slips > count ? log->slips - count : 0;
    glassine_node_integer(tell->result, "slips", "slips", count);
    count_if(tell, "slips_rescued", "of them out of broken history", (int64_t)log->rescued_slips);
    count_if(tell, "slips_lost", "slips lost", lost);
    count_if(tell, "slips_doubtful", "slips that nothing vouches for", (int64_t)log->doubtful_slips);
    tell->missing += (uint64_t)lost + log->doubtful_slips;
}

static glassine_record *record_of_scan(glassine_bundle *bundle, const char *hex) {
    glassine_cursor *cursor;
    glassine_record *record = NULL;
    if (glassine_cursor_new(bundle, "scan", true, &cursor, NULL))
        return NULL;
    while ((record = glassine_cursor_next(cursor)) != NULL)
        if (gl_span_is(glassine_record_text(bundle, record, "sha256"), hex))
            break;
    glassine_cursor_free(cursor);
    return record;
}

/* The label of the item that a lost scan shows, as far as anything says so. */
static gl_span item_of(telling *tell, gl_span name) {
    char hex[GL_HEX_SIZE];
    gl_span prefix = GL_SPAN("data/scans/");
    if (!gl_span_starts(name, prefix) || name.length < prefix.length + GL_HEX_SIZE - 1)
        return GL_NO_SPAN;
    snprintf(hex, sizeof hex, "%.*s", GL_HEX_SIZE - 1, name.text + prefix.length);
    glassine_record *scan = record_of_scan(tell->bundle, hex);
    gl_span id = scan ? glassine_record_text(tell->bundle, scan, "item") : GL_NO_SPAN;
    glassine_record *item = id.text ? glassine_bundle_record(tell->bundle, id, GL_NO_SPAN) : NULL;
    return item ? glassine_record_label(tell->bundle, item) : GL_NO_SPAN;
}

static void tell_missing(telling *tell, const gl_manifest *list, glassine_node *table) {
    size_t at = 0;
    gl_span name;
    gl_digest digest;
    while (gl_manifest_next(list, &at, &name, &digest)) {
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        gl_span item = item_of(tell, name);
        glassine_node_text(row, "name", "lost", name);
        if (item.text)
            glassine_node_text(row, "item", "item", item);
        tell->missing++;
    }
}

static void tell_files(telling *tell) {
    size_t scans = 0;
    for (size_t i = 0; i < tell->it->file_count; i++)
        scans += gl_span_starts(tell->it->files[i].inner, GL_SPAN("data/scans/"));
    glassine_node_integer(tell->result, "scans", "scans", (int64_t)scans);
    glassine_node *table = glassine_node_table(tell->result, "lost", "lost");
    tell_missing(tell, tell->it->lost, table);
    tell_missing(tell, tell->it->gone, table);
}

/* Another bundle was in the file as well. */
static void tell_others(telling *tell) {
    const gl_salvage *salvage = tell->it->sources[0].salvage;
    gl_span base;
    size_t whole;
    for (size_t i = 0; (base = gl_salvage_base_at(salvage, i, &whole)).text; i++)
        if (!gl_span_equal(base, gl_salvage_base(salvage)))
            glassine_report_finding(tell->report, GLASSINE_NOTE, NULL, gl_salvage_path(salvage),
                                    whole == 1 ? "Recover it by itself with --base"
                                               : "Recover them by themselves with --base",
                                    whole == 1 ? "there is also %zu whole file of %.*s in it"
                                               : "there are also %zu whole files of %.*s in it",
                                    whole, GL_SPAN_ARGS(base));
}

/* A file that was cut off may have held more than anything in it tells of. */
static glassine_status tell_end(telling *tell, glassine_error *error) {
    const gl_source *source = &tell->it->sources[0];
    gl_zip *zip;
    glassine_status status =
        gl_zip_open(source->fd, gl_salvage_path(source->salvage), &tell->it->limits, &zip, error);
    if (status == GLASSINE_SYSTEM)
        return status;
    bool ends = status == GLASSINE_OK;
    if (ends) {
        ends = gl_zip_tail(zip) == 0;
        gl_zip_close(zip);
    }
    glassine_node_truth(tell->result, "ended_whole", NULL, ends);
    if (!ends)
        glassine_report_finding(
            tell->report, GLASSINE_NOTE, NULL, gl_salvage_path(source->salvage),
            "Compare with another copy, or with a value of `log` that was noted",
            "it does not end as a bundle does, so a later edition may have been in it that left "
            "no trace");
    return GLASSINE_OK;
}

static void tell_about(telling *tell) {
    const gl_recovery *it = tell->it;
    glassine_node_truth(tell->result, "about_as_it_was", NULL, it->about_same);
    if (it->about_same)
        return;
    tell->missing++;
    glassine_report_finding(tell->report, GLASSINE_WARNING, NULL, it->about.base,
                            "Look whether it is right; another copy of the bundle tells",
                            "nothing says any more whose bundle it was; the keeper is taken to be %s",
                            it->about.keeper);
}

/* What parity did for each file that has some. */
static void tell_mending(telling *tell) {
    uint64_t rebuilt = 0, bad = 0;
    for (size_t i = 0; i < tell->it->source_count; i++) {
        const gl_mending *mending = &tell->it->sources[i].mending;
        rebuilt += mending->rebuilt;
        bad += mending->bad;
        if (mending->bad)
            glassine_report_finding(
                tell->report, GLASSINE_WARNING, NULL, gl_salvage_path(tell->it->sources[i].salvage), NULL,
                mending->bad == 1 ? "%llu of %llu blocks is damaged beyond what its parity rebuilds"
                                  : "%llu of %llu blocks are damaged beyond what its parity rebuilds",
                (unsigned long long)mending->bad, (unsigned long long)mending->blocks);
    }
    count_if(tell, "blocks_rebuilt", "blocks rebuilt from parity", (int64_t)rebuilt);
    count_if(tell, "blocks_damaged", "blocks beyond its parity", (int64_t)bad);
}

static void tell_outcome(telling *tell, const char *out, size_t beside) {
    glassine_node_truth(tell->result, "whole", NULL, tell->missing == 0);
    if (beside) {
        glassine_node_format(tell->result, "aside", "what is not whole is kept in", "%s.damaged", out);
        glassine_report_attention(tell->report);
    }
    if (tell->missing == 0) {
        glassine_node_say(tell->result, "Nothing is known to be lost.");
        return;
    }
    glassine_report_attention(tell->report);
    glassine_report_finding(tell->report, GLASSINE_WARNING, NULL, out,
                            "Keep the damaged file: another copy may fill in what is missing",
                            "not everything could be recovered");
}

glassine_status gl_recovery_report(const gl_recovery *it, const char *out, size_t beside,
                                   glassine_report *report, glassine_error *error) {
    telling tell = {.it = it, .report = report, .result = glassine_report_result(report)};
    glassine_options options = {.limits = &it->limits};
    glassine_status status = glassine_bundle_open(out, GLASSINE_READ, &options, &tell.bundle, error);
    if (status)
        return status;
    glassine_report_about(report, gl_salvage_path(it->sources[0].salvage), it->edition);
    glassine_node_string(tell.result, "written", "written", out);
    glassine_node_integer(tell.result, "edition", "edition", it->edition);
    tell_editions(&tell);
    tell_slips(&tell);
    tell_files(&tell);
    tell_others(&tell);
    tell_about(&tell);
    status = tell_end(&tell, error);
    tell_mending(&tell);
    tell_outcome(&tell, out, beside);
    status = gl_bundle_end(tell.bundle, report, status, error);
    glassine_bundle_close(tell.bundle);
    return status;
}
