/* Merging: the slips, signatures and scans of other bundles are taken in, in one save. Nothing is decided here:
 * the set grows, and what it now amounts to is reported (merge_report.c). */
#include "exchange/merge.h"

#include <stdlib.h>

#include "base/error.h"
#include "exchange/carry.h"
#include "records/value.h"

static glassine_status open_source(const char *path, gl_merge_source *source, glassine_error *error) {
    *source = (gl_merge_source){.path = path};
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, NULL, &source->bundle, error);
    if (status)
        return status;
    source->slips_there = gl_store_count(source->bundle->store);
    source->unknown_lines = gl_log_unknown(source->bundle->log);
    return GLASSINE_OK;
}

/* Is this slip's type among those to be taken? */
static bool wanted(void *context, uint32_t slip) {
    const gl_merging *it = context;
    if (!it->options || !it->options->only)
        return true;
    const glassine_bundle *from = it->sources[it->source].bundle;
    gl_span id = gl_store_record(from->store, gl_store_at(from->store, slip)->record)->id, type, uuid;
    if (!gl_record_id_split(id, &type, &uuid))
        return false;
    for (size_t i = 0; it->options->only[i]; i++)
        if (gl_span_is(type, it->options->only[i]))
            return true;
    return false;
}

static glassine_status take_in(gl_merging *it, glassine_error *error) {
    gl_merge_source *source = &it->sources[it->source];
    glassine_bundle *from = source->bundle;
    glassine_status status = gl_carry_slips(it->draft, from, wanted, it, &source->slips, error);
    if (!status)
        status = gl_carry_signatures(it->draft, from, &source->signatures, error);
    if (!status)
        status = gl_carry_scans(it->draft, from, &source->scans, error);
    return status;
}

static glassine_status take_in_all(gl_merging *it, const char *const *sources, size_t count, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i++) {
        it->source = i;
        status = open_source(sources[i], &it->sources[i], error);
        it->source_count = i + 1;
        if (!status)
            status = take_in(it, error);
    }
    return status;
}

static void close_sources(gl_merging *it) {
    for (size_t i = 0; i < it->source_count; i++)
        glassine_bundle_close(it->sources[i].bundle);
    free(it->sources);
}

glassine_status glassine_merge(glassine_draft *draft, const char *const *sources, size_t count,
                               const glassine_merge_options *options, glassine_report *report,
                               glassine_error *error) {
    gl_merging it = {.draft = draft, .bundle = draft->bundle, .options = options, .report = report};
    it.before = gl_store_count(it.bundle->store);
    it.sources = calloc(count + 1, sizeof *it.sources);
    glassine_status status = it.sources ? GLASSINE_OK : gl_fail_memory(error);
    if (!status)
        status = take_in_all(&it, sources, count, error);
    if (!status && report)
        status = gl_merge_report(&it, error);
    if (status || (options && options->preview))
        gl_draft_clear(draft);
    else
        status = glassine_draft_save(draft, options && options->note ? options->note : "merged", error);
    if (!status && report)
        glassine_report_about(report, it.bundle->path, it.bundle->edition);
    close_sources(&it);
    return status;
}
