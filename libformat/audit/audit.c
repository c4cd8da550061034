/* The audit: everything that can be checked, each finding with its rule, place, meaning and remedy. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "audit/leaving.h"
#include "audit/record_rules.h"
#include "audit/rules.h"
#include "audit/scan_rules.h"
#include "audit/sign_rules.h"
#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "base/work.h"
#include "bundle/bundle.h"

typedef struct auditing {
    glassine_bundle *bundle;
    glassine_report *report;
    bool quick;
    gl_scan_depth depth;
    const glassine_audit_options *options;
    size_t footers, records, incomplete, strays, unknown_types;
    gl_map *damaged; /* entries whose content is not what it should be */
    uint64_t used;   /* bytes that the last directory leads to, itself included */
    gl_plan_kept kept;
} auditing;

/* A finding out of an error: what is wrong, what that means for the person (a sentence, whose full stop comes
 * with the rule's code), what helps. */
static void add_finding(glassine_report *report, glassine_weight weight, const glassine_error *error) {
    const gl_rule *rule = error->rule[0] ? gl_rule_find(error->rule) : NULL;
    glassine_report_finding(report, weight, error->rule[0] ? error->rule : NULL, error->place,
                            error->remedy[0] ? error->remedy
                            : rule           ? rule->remedy
                                             : NULL,
                            "%s%s%.*s", error->message, rule ? ". " : "",
                            rule ? (int)strlen(rule->meaning) - 1 : 0, rule ? rule->meaning : "");
    if (weight >= GLASSINE_WARNING)
        glassine_report_attention(report);
}

/* Takes a step's outcome: a broken rule is a finding, and the audit goes on; a failing system ends it. */
static glassine_status step(auditing *it, glassine_status status, const glassine_error *found,
                            glassine_error *error) {
    if (status == GLASSINE_REFUSED)
        add_finding(it->report, GLASSINE_FAULT, found);
    if (status != GLASSINE_SYSTEM)
        return GLASSINE_OK;
    if (error)
        *error = *found;
    return GLASSINE_SYSTEM;
}

static void progress(const auditing *it, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    if (it->options && it->options->progress)
        it->options->progress(it->options->context, doing, unit, done, total);
}

static bool check_footer(void *context, const gl_footer *footer) {
    auditing *it = context;
    glassine_error found = {0};
    it->footers++;
    if (gl_bundle_check_end(it->bundle, footer, &found))
        add_finding(it->report, GLASSINE_FAULT, &found);
    return true;
}

static glassine_status check_container(auditing *it, glassine_error *error) {
    glassine_error found = {0};
    glassine_bundle *bundle = it->bundle;
    if (gl_zip_tail(bundle->zip)) {
        gl_fail(&found, GLASSINE_REFUSED, "C013", bundle->file,
                gl_zip_tail(bundle->zip) == 1 ? "%llu byte behind edition %u belongs to none"
                                              : "%llu bytes behind edition %u belong to none",
                (unsigned long long)gl_zip_tail(bundle->zip), gl_zip_footer(bundle->zip)->edition);
        add_finding(it->report, GLASSINE_WARNING, &found);
    }
    if (gl_zip_tail_fault(bundle->zip))
        add_finding(it->report, GLASSINE_FAULT, gl_zip_tail_fault(bundle->zip));
    glassine_status status = step(it, gl_zip_walk(bundle->zip, check_footer, it, &found), &found, error);
    return status ? status : step(it, gl_zip_check_locals(bundle->zip, &found), &found, error);
}

static bool is_scan(const gl_zip *zip, const gl_entry *entry) {
    return entry->method == 0 && gl_span_starts(gl_zip_inner(zip, entry), GL_SPAN("data/scans/"));
}

/* What one entry's content was found to be; NULL: as its manifest says. */
typedef struct content {
    const gl_entry *entry;
    glassine_error *fault;
    glassine_status status;
} content;

typedef struct contents {
    glassine_bundle *bundle;
    content *list;
    gl_watch *watch;
} contents;

/* Called on several threads at once: each has its own entry, and the file is only read. */
static void check_content(void *context, size_t index) {
    const contents *all = context;
    content *one = &all->list[index];
    const glassine_bundle *bundle = all->bundle;
    glassine_error found = {0};
    one->status =
        gl_bag_check_watched(bundle->zip, one->entry, bundle->payload, bundle->tags, all->watch, &found);
    if (!one->status)
        return;
    one->fault = malloc(sizeof *one->fault);
    if (one->fault)
        *one->fault = found;
    else
        one->status = GLASSINE_SYSTEM;
}

/* Findings in the order of the file, whichever thread came first. */
static glassine_status take_contents(auditing *it, contents *all, size_t count, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count; i++) {
        content *one = &all->list[i];
        if (one->status && !one->fault)
            status = gl_fail_memory(error);
        else if (one->status && !status)
            status = step(it, one->status, one->fault, error);
        if (one->status && !status && !gl_map_set(it->damaged, gl_zip_inner(it->bundle->zip, one->entry), 1))
            status = gl_fail_memory(error);
        free(one->fault);
    }
    return status;
}

static bool tell_bytes(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    progress(context, doing, unit, done, total);
    return true;
}

static glassine_status check_contents(auditing *it, glassine_error *error) {
    gl_zip *zip = it->bundle->zip;
    const glassine_watch by = {tell_bytes, it};
    gl_watch watch = {.by = &by, .doing = "contents"};
    size_t count = 0, entries = gl_zip_count(zip);
    contents all = {it->bundle, calloc(entries + 1, sizeof(content)), &watch};
    if (!all.list)
        return gl_fail_memory(error);
    for (size_t i = 0; i < entries; i++) {
        const gl_entry *entry = gl_zip_at(zip, i);
        it->used += entry->data_at - entry->header_at + entry->packed;
        if (it->quick && is_scan(zip, entry))
            continue;
        all.list[count++].entry = entry;
        watch.total += entry->size;
    }
    gl_work_watched(count, check_content, &all, &watch);
    glassine_status status = take_contents(it, &all, count, error);
    free(all.list);
    return status;
}

static void found_in_payload(void *context, const glassine_error *error) {
    auditing *it = context;
    add_finding(it->report, GLASSINE_FAULT, error);
}

/* What the editions brought and lost, against the manifest. */
static glassine_status check_brought(auditing *it, glassine_error *error) {
    glassine_error found = {0};
    glassine_status status = gl_payload_check(it->bundle, found_in_payload, it, &found);
    return step(it, status, &found, error);
}

static void found_in_record(void *context, const glassine_error *error) {
    auditing *it = context;
    /* A dispatch or a reply does not carry everything that its records lead to. */
    bool travels = it->bundle->about.event != NULL;
    add_finding(it->report, travels && strcmp(error->rule, "R032") == 0 ? GLASSINE_NOTE : GLASSINE_WARNING,
                error);
}

static bool is_damaged(const auditing *it, glassine_record *scan) {
    gl_span sha256 = glassine_record_text(it->bundle, scan, "sha256");
    const gl_entry *entry = sha256.text ? gl_bundle_scan(it->bundle, sha256.text) : NULL;
    return entry && gl_map_find(it->damaged, gl_zip_inner(it->bundle->zip, entry)) != GL_NONE;
}

static glassine_status check_record(auditing *it, glassine_record *record, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    gl_reading reading;
    uint32_t strays = 0;
    glassine_status status = gl_reading_make(bundle->store, record->subject, record->author, bundle->arena,
                                             &reading, &strays, error);
    if (status)
        return status;
    it->records++;
    it->strays += strays;
    it->incomplete += reading.incomplete;
    if (reading.overfull) {
        glassine_error found = {0};
        gl_span id = gl_record_id(bundle, record);
        char place[96];
        snprintf(place, sizeof place, "%.*s", GL_SPAN_ARGS(id));
        gl_fail(&found, GLASSINE_REFUSED, "L025", place, "it has more than %llu fields that nobody knows",
                (unsigned long long)gl_store_record_fields(bundle->store));
        add_finding(it->report, GLASSINE_WARNING, &found);
    }
    if (!glassine_record_info(bundle, record)) {
        it->unknown_types++;
        return GLASSINE_OK;
    }
    if (!reading.incomplete && !gl_record_left_out(bundle, record))
        gl_record_rules(bundle, record, &it->kept, found_in_record, it);
    if (gl_span_is(glassine_record_type(bundle, record), "scan"))
        status = gl_scan_rules(bundle, record, is_damaged(it, record) ? GL_SCAN_LISTED : it->depth,
                               found_in_record, it, error);
    return status;
}

static glassine_status check_records(auditing *it, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < it->bundle->record_count && !status; i++) {
        if (i % 256 == 0)
            progress(it, "checking", "records", i, it->bundle->record_count);
        status = check_record(it, it->bundle->records[i], error);
    }
    gl_plan_free(it->kept.plan);
    it->kept = (gl_plan_kept){NULL, NULL};
    if (it->strays) {
        glassine_error found = {0};
        gl_fail(&found, GLASSINE_REFUSED, "S050", it->bundle->file,
                it->strays == 1 ? "%zu entry of `after` leads to another record, reach or author"
                                : "%zu entries of `after` lead to another record, reach or author",
                it->strays);
        add_finding(it->report, GLASSINE_WARNING, &found);
    }
    return status;
}

/* S051: said and never refused. */
static void check_normal_form(auditing *it) {
    size_t count = 0;
    for (uint32_t slip = 0; slip < gl_store_count(it->bundle->store); slip++)
        count += !gl_text_is_nfc(gl_store_line(it->bundle->store, slip));
    if (!count)
        return;
    glassine_error found = {0};
    gl_fail(&found, GLASSINE_REFUSED, "S051", it->bundle->file,
            count == 1 ? "%zu slip holds text that is not in NFC" : "%zu slips hold text that is not in NFC",
            count);
    add_finding(it->report, GLASSINE_NOTE, &found);
}

static void report_leftovers(auditing *it, uint64_t size, glassine_node *result) {
    const gl_footer *footer = gl_zip_footer(it->bundle->zip);
    uint64_t used = it->used + (footer->end - footer->directory_at);
    uint64_t left = size > used ? size - used : 0;
    glassine_node_integer(result, "bytes", "bytes", (int64_t)size);
    glassine_node_integer(result, "leftover_bytes", "bytes left over from earlier editions", (int64_t)left);
    if (left > size / 4)
        glassine_report_finding(it->report, GLASSINE_NOTE, NULL, it->bundle->file,
                                "`glassine tidy` rewrites it compactly, with all its editions",
                                "%llu of its %llu bytes are left over from earlier editions",
                                (unsigned long long)left, (unsigned long long)size);
}

static void report_counts(auditing *it) {
    glassine_node *result = glassine_report_result(it->report);
    glassine_bundle *bundle = it->bundle;
    char digest[GL_HEX_SIZE];
    uint64_t size = 0;
    gl_file_size(bundle->fd, &size);
    glassine_bundle_digest(bundle, digest);
    glassine_node_truth(result, "quick", NULL, it->quick);
    glassine_node_integer(result, "editions", "editions", bundle->edition);
    glassine_node_integer(result, "footers", "end records in the file", (int64_t)it->footers);
    glassine_node_integer(result, "slips", "slips", gl_store_count(bundle->store));
    glassine_node_integer(result, "signatures", "signatures", (int64_t)gl_log_signatures(bundle->log));
    glassine_node_integer(result, "records", "records", (int64_t)it->records);
    glassine_node_integer(result, "incomplete", "records with missing earlier slips",
                          (int64_t)it->incomplete);
    glassine_node_integer(result, "unknown_types", "records of unknown types", (int64_t)it->unknown_types);
    glassine_node_integer(result, "unknown_lines", "lines of unknown kinds",
                          (int64_t)gl_log_unknown(bundle->log));
    glassine_node_integer(result, "files", "files", (int64_t)gl_zip_count(bundle->zip));
    report_leftovers(it, size, result);
    glassine_node_string(result, "digest", "digest", digest);
    glassine_node_text(result, "log", "log",
                       gl_edition_said(gl_log_edition(bundle->log, bundle->edition)).log);
}

static void report_outcome(auditing *it) {
    size_t faults = glassine_report_findings(it->report, GLASSINE_FAULT);
    size_t warnings = glassine_report_findings(it->report, GLASSINE_WARNING) - faults;
    glassine_node *result = glassine_report_result(it->report);
    glassine_node_truth(result, "sound", NULL, !faults);
    if (!faults && !warnings)
        glassine_node_say(result, it->quick ? "Sound, as far as looked at; the scans' bytes were not read."
                                            : "Sound: every byte was checked.");
    else
        glassine_node_say(result, "%zu fault%s, %zu warning%s.", faults, faults == 1 ? "" : "s", warnings,
                          warnings == 1 ? "" : "s");
}

static glassine_status audit_bundle(auditing *it, glassine_error *error) {
    glassine_status status = check_container(it, error);
    if (!status)
        status = check_contents(it, error);
    if (!status)
        status = check_brought(it, error);
    if (!status)
        status = check_records(it, error);
    if (!status)
        status = gl_sign_rules(it->bundle, found_in_record, it, error);
    if (status)
        return status;
    check_normal_form(it);
    gl_leaving_rules(it->bundle, found_in_record, it);
    report_counts(it);
    report_outcome(it);
    return gl_bundle_end(it->bundle, it->report, GLASSINE_OK, error);
}

glassine_status glassine_audit(const char *path, const glassine_audit_options *options,
                               glassine_report *report, glassine_error *error) {
    auditing it = {.report = report, .options = options, .quick = options && options->quick};
    it.depth = it.quick ? GL_SCAN_LISTED : options && options->images ? GL_SCAN_DECODED : GL_SCAN_LOOKED;
    const glassine_options opening = {.limits = options ? options->limits : NULL};
    glassine_error found = {0};
    it.damaged = gl_map_new();
    if (!it.damaged)
        return gl_fail_memory(error);
    progress(&it, "opening", NULL, 0, 0);
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, &opening, &it.bundle, &found);
    glassine_report_about(report, path, it.bundle ? it.bundle->edition : 0);
    if (!status && options && options->opened)
        options->opened(options->context, it.bundle);
    if (!status)
        status = audit_bundle(&it, error);
    else {
        status = step(&it, status, &found, error);
        glassine_node *result = glassine_report_result(report);
        if (!status) {
            glassine_node_truth(result, "sound", NULL, false);
            glassine_node_say(result, "It cannot be opened as a bundle.");
        }
    }
    glassine_bundle_close(it.bundle);
    gl_map_free(it.damaged);
    return status;
}
