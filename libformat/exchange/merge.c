/* Merging: the slips, signatures and scans of other bundles are taken in, in one save. Nothing is decided
 * here: the set grows, and what it now amounts to is told (merge_look.c). */
#include "exchange/merge.h"

#include <stdlib.h>

#include "base/error.h"
#include "exchange/answers.h"
#include "exchange/carry.h"
#include "exchange/sheet.h"
#include "records/table.h"
#include "records/value.h"

/* ------------------------------------------------------------------------------------------------ slips */

typedef struct taking {
    gl_merging *merging;
    glassine_bundle *from;
    glassine_merge_source *source;
} taking;

/* Is this slip's type among those to be taken? */
static bool wanted(void *context, uint32_t slip) {
    const taking *it = context;
    const glassine_merge_options *options = it->merging->options;
    const gl_slip *of = gl_store_at(it->from->store, slip);
    gl_span type, uuid;
    if (options->without_private && of->reach == GLASSINE_PRIVATE)
        return false;
    if (!options->only)
        return true;
    if (!gl_record_id_split(gl_store_record(it->from->store, of->record)->id, &type, &uuid))
        return false;
    for (size_t i = 0; options->only[i]; i++)
        if (gl_span_is(type, options->only[i]))
            return true;
    return false;
}

/* Where about half of what the source has is new or more, its lines stay where they are; else they are copied. */
static glassine_status keep_lines(const taking *it, glassine_error *error) {
    enum { SAMPLES = 1024 };
    glassine_bundle *own = it->merging->bundle;
    const gl_store *store = it->from->store;
    uint32_t known = it->from->like == own ? it->from->like_slips : 0;
    uint32_t step = (gl_store_count(store) - known) / SAMPLES, fresh = 0;
    for (uint32_t i = 0; step && i < SAMPLES; i++)
        fresh += gl_store_find(own->store, &gl_store_at(store, known + i * step)->digest) == GL_NONE;
    return fresh < SAMPLES / 2 || gl_bundle_lend_log(it->from, own) ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status take_slips(taking *it, glassine_error *error) {
    const glassine_merge_options *options = it->merging->options;
    bool all = !options || (!options->only && !options->without_private);
    size_t added = 0, there = all ? gl_store_count(it->from->store) : 0;
    for (uint32_t slip = 0; slip < gl_store_count(it->from->store) && !all; slip++)
        there += wanted(it, slip);
    glassine_status status = all ? keep_lines(it, error) : GLASSINE_OK;
    if (!status)
        status = gl_carry_slips(it->merging->draft, it->from, all ? NULL : wanted, it, &added, error);
    it->source->slips = added;
    it->source->known = there - added;
    return status;
}

static glassine_status take_signatures(taking *it, glassine_error *error) {
    size_t added;
    glassine_status status = gl_carry_signatures(it->merging->draft, it->from, &added, error);
    it->source->signatures = added;
    return status;
}

/* ------------------------------------------------------------------------------------------------ scans */

static bool describe_field(gl_merging *it, const gl_reading *reading) {
    const gl_read_field *end, *field = gl_reading_named(reading, GL_SPAN("sha256"), &end);
    for (; field < end; field++)
        for (uint32_t i = 0; i < field->said_count; i++)
            if (gl_read_value(field, i).text &&
                !gl_map_set(it->described, gl_json_raw(gl_read_value(field, i)), 1))
                return false;
    return true;
}

/* Which scans do records here speak of, by now? Asked only where the source has any. */
static glassine_status note_described(gl_merging *it, glassine_error *error) {
    const gl_store *store = it->bundle->store;
    size_t type = gl_type_place(glassine_type_find("scan"));
    if (!it->described && !(it->described = gl_map_new()))
        return gl_fail_memory(error);
    for (; it->described_slips < gl_store_count(store); it->described_slips++) {
        glassine_record *record = it->bundle->newest_of[gl_store_at(store, it->described_slips)->record];
        const gl_reading *reading;
        if (record->type != type)
            continue;
        glassine_status status = gl_record_reading(it->bundle, record, &reading, error);
        if (status || !describe_field(it, reading))
            return status ? status : gl_fail_memory(error);
    }
    return GLASSINE_OK;
}

/* "data/scans/SHA256.EXT": a scan that is spoken of here, and is not here. */
static bool lacks(const gl_merging *it, gl_span inner, gl_digest *digest) {
    gl_span hex = gl_span_part(inner, 11, 64);
    char text[GL_HEX_SIZE];
    if (!gl_digest_parse(hex, digest) || gl_map_find(it->described, hex) == GL_NONE)
        return false;
    gl_digest_hex(digest, text);
    return !gl_manifest_find(it->bundle->payload, inner, NULL) && !gl_bundle_scan(it->bundle, text);
}

/* Scans that are spoken of here, in *list: the caller frees it. */
static glassine_status find_lacking(const taking *it, const gl_entry ***list, size_t *count,
                                    glassine_error *error) {
    const gl_zip *zip = it->from->zip;
    *count = 0;
    *list = calloc(gl_zip_count(zip) + 1, sizeof **list);
    if (!*list)
        return gl_fail_memory(error);
    for (size_t i = 0; i < gl_zip_count(zip); i++) {
        gl_digest digest;
        if (gl_merge_is_scan(zip, gl_zip_at(zip, i)) &&
            lacks(it->merging, gl_zip_inner(zip, gl_zip_at(zip, i)), &digest))
            (*list)[(*count)++] = gl_zip_at(zip, i);
    }
    return GLASSINE_OK;
}

static glassine_status check_scans(const taking *it, glassine_error *error) {
    gl_watch watch = {.by = it->merging->bundle->watch, .doing = "checking scans"};
    const gl_entry **list;
    size_t count;
    glassine_status status = find_lacking(it, &list, &count, error);
    for (size_t i = 0; i < count; i++)
        watch.total += list[i]->size;
    if (!status)
        status =
            gl_bag_check_many(it->from->zip, list, count, it->from->payload, it->from->tags, &watch, error);
    free(list);
    return status;
}

/* They were checked before anything of the source is written; so they are taken over as they are. */
static glassine_status take_scans(taking *it, glassine_error *error) {
    gl_watch watch = {.by = it->merging->bundle->watch, .doing = "taking scans over"};
    const gl_entry **list;
    size_t count;
    glassine_status status = find_lacking(it, &list, &count, error);
    for (size_t i = 0; i < count; i++)
        watch.total += list[i]->size;
    for (size_t i = 0; i < count && !status; i++) {
        gl_digest digest;
        if (!lacks(it->merging, gl_zip_inner(it->from->zip, list[i]), &digest))
            continue; /* the list may have one twice, under two names */
        status = gl_draft_take_entry(it->merging->draft, it->from, list[i], &digest, error);
        it->source->scans += status == GLASSINE_OK;
        gl_watch_add(&watch, list[i]->size);
        if (!status && !gl_watch_tell(&watch))
            status = gl_watch_fail(error);
    }
    free(list);
    return status;
}

/* ------------------------------------------------------------------------------------------ one source */

static bool has_scans(const gl_zip *zip) {
    for (size_t i = 0; i < gl_zip_count(zip); i++)
        if (gl_merge_is_scan(zip, gl_zip_at(zip, i)))
            return true;
    return false;
}

static glassine_status take_bundle(taking *it, glassine_error *error) {
    glassine_merge_source *source = it->source;
    glassine_bundle *own = it->merging->bundle;
    const gl_about *about = &it->from->about;
    source->kind = about->event && !about->answer_by ? "reply" : "bundle";
    source->uuid = gl_arena_copy(own->arena, gl_span_of(about->uuid)).text;
    source->answers = about->event ? gl_arena_copy(own->arena, gl_span_of(about->event)).text : NULL;
    source->unknown_lines = gl_log_unknown(it->from->log);
    source->tail = glassine_bundle_tail(it->from);
    glassine_status status = take_slips(it, error);
    if (!status)
        status = take_signatures(it, error);
    if (!status && has_scans(it->from->zip))
        status = note_described(it->merging, error);
    if (!status)
        status = check_scans(it, error);
    return status;
}

/* What a draft holds, to come back to. */
typedef struct mark {
    uint32_t slips;
    size_t signatures;
} mark;

/* Nothing of an unsound source stays. What it spoke of may be known by now; that does no harm. */
static void forget_source(gl_merging *it, const mark *before) {
    gl_bundle_cut(it->bundle, before->slips);
    if (it->described_slips > before->slips)
        it->described_slips = before->slips;
    gl_draft_cut_signatures(it->draft, before->signatures);
}

static glassine_status take_source(gl_merging *it, gl_merge_opened *opened, glassine_merge_source *source,
                                   glassine_error *error) {
    mark before = {gl_store_count(it->bundle->store), it->draft->signatures.length};
    glassine_status status = gl_merge_open(opened, it->bundle, error);
    taking one = {it, opened->bundle, source};
    if (!status)
        status = opened->kind == GL_MERGE_SHEET  ? gl_sheet_take(it, source, error)
                 : opened->kind == GL_MERGE_TEXT ? gl_answers_take(it, source, error)
                                                 : take_bundle(&one, error);
    if (!status) {
        status = opened->kind == GL_MERGE_BUNDLE ? take_scans(&one, error) : GLASSINE_OK;
    } else if (status == GLASSINE_REFUSED && it->options && it->options->skip_bad) {
        *source =
            (glassine_merge_source){.path = opened->path, .kind = "bundle", .refused = true, .error = *error};
        forget_source(it, &before);
        status = GLASSINE_OK;
    }
    gl_merge_close(opened);
    return status;
}

/* Of many files it is told how many are done, and not what is done with each. */
static bool tell_of_all(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total) {
    (void)doing, (void)unit, (void)done, (void)total;
    return gl_watch_tell(context);
}

/* Of many sources, which are mostly short, some are opened together. */
enum { MANY = 8, TOGETHER = 32 };

static glassine_status take_some(gl_merging *it, const char *const *paths, size_t count, bool ahead,
                                 gl_watch *watch, glassine_error *error) {
    gl_merge_opened opened[TOGETHER] = {0};
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count; i++)
        opened[i].path = paths[i];
    if (ahead)
        gl_merge_open_ahead(opened, count);
    for (size_t i = 0; i < count && !status; i++) {
        glassine_merge_source *source = &it->sources[it->source_count++];
        source->path = paths[i];
        status = take_source(it, &opened[i], source, error);
        gl_watch_add(watch, 1);
        if (!status && watch->total > 1 && !gl_watch_tell(watch))
            status = gl_watch_fail(error);
    }
    for (size_t i = 0; i < count; i++)
        gl_merge_close(&opened[i]);
    return status;
}

static glassine_status take_all(gl_merging *it, const char *const *paths, size_t count,
                                glassine_error *error) {
    const glassine_watch *by = it->bundle->watch;
    gl_watch watch = {.by = by, .doing = "merging", .unit = "files", .total = count};
    const glassine_watch within = {tell_of_all, &watch};
    if (by && count > 1)
        it->bundle->watch = &within;
    size_t refused = 0;
    glassine_error own = {0}; /* skip_bad keeps it, so it must be there */
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i += TOGETHER)
        status = take_some(it, paths + i, count - i < TOGETHER ? count - i : TOGETHER, count >= MANY, &watch,
                           &own);
    for (size_t i = 0; i < it->source_count; i++)
        refused += it->sources[i].refused;
    it->bundle->watch = by;
    if (!status && count && refused == count)
        status = GLASSINE_REFUSED; /* nothing of all that can be used: the last error says why */
    if (status && error)
        *error = own;
    return status;
}

/* ---------------------------------------------------------------------------------------- all of them */

/* Two are told what is met: the caller, and the report. */
typedef struct listeners {
    gl_merge_report *report;
    const glassine_merge_options *options;
} listeners;

static void tell_both(void *context, glassine_bundle *bundle, const glassine_merge_note *note) {
    const listeners *both = context;
    if (both->report)
        gl_merge_report_note(both->report, bundle, note);
    if (both->options && both->options->tell)
        both->options->tell(both->options->context, bundle, note);
}

static glassine_status look(gl_merging *it, glassine_report *report, glassine_error *error) {
    listeners both = {.options = it->options};
    if (!report && !(it->options && it->options->tell))
        return GLASSINE_OK;
    glassine_status status = GLASSINE_OK;
    if (report && !(both.report = gl_merge_report_new(report, it->options && it->options->preview)))
        status = gl_fail_memory(error);
    it->tell = tell_both;
    it->context = &both;
    if (!status)
        status = gl_merge_look(it, error);
    if (!status && both.report)
        status = gl_merge_report_end(both.report, it->bundle, it->held, error);
    if (!status && report)
        status = gl_merge_words(it, report, error);
    if (!status && report)
        status = gl_merge_twice(it, report, error);
    gl_merge_report_free(both.report);
    glassine_bundle_close(it->before);
    return status;
}

glassine_status glassine_merge(glassine_draft *draft, const char *const *sources, size_t count,
                               const glassine_merge_options *options, glassine_report *report,
                               glassine_error *error) {
    gl_merging it = {.draft = draft, .bundle = draft->bundle, .options = options};
    it.first = gl_store_count(it.bundle->store);
    it.sources = calloc(count + 1, sizeof *it.sources);
    glassine_status status = it.sources ? GLASSINE_OK : gl_fail_memory(error);
    if (!status)
        status = take_all(&it, sources, count, error);
    if (!it.held && !(options && options->preview))
        it.note = options && options->note ? options->note : "merged";
    if (!status)
        status = look(&it, report, error);
    if (status || !it.note)
        gl_draft_clear(draft);
    else
        status = glassine_draft_save(draft, it.note, error);
    if (!status && report)
        glassine_report_about(report, it.bundle->path, it.bundle->edition);
    gl_map_free(it.described);
    free(it.answers);
    free(it.sources);
    return status;
}
