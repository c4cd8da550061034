/* From an opened container to a loaded bundle: about.json, the segments of the log, the manifests. */
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "base/work.h"
#include "bundle/bundle.h"
#include "container/name.h"

static int by_first(const void *a, const void *b) {
    const gl_segment *x = a, *y = b;
    return (x->first > y->first) - (x->first < y->first);
}

gl_buf *gl_bundle_piece(glassine_bundle *bundle) {
    void *grown =
        gl_grow(bundle->pieces, &bundle->piece_room, bundle->piece_count + 1, sizeof *bundle->pieces);
    if (!grown)
        return NULL;
    bundle->pieces = grown;
    gl_buf *piece = &bundle->pieces[bundle->piece_count++];
    *piece = GL_BUF_EMPTY;
    return piece;
}

gl_segment *gl_bundle_segment(glassine_bundle *bundle) {
    void *grown =
        gl_grow(bundle->segments, &bundle->segment_room, bundle->segment_count + 1, sizeof *bundle->segments);
    if (!grown)
        return NULL;
    bundle->segments = grown;
    gl_segment *segment = &bundle->segments[bundle->segment_count++];
    *segment = (gl_segment){0};
    return segment;
}

void gl_segment_name(const gl_segment *segment, char out[GL_SEGMENT_NAME_SIZE]) {
    snprintf(out, GL_SEGMENT_NAME_SIZE, "slips/%08u-%08u.jsonl", segment->first, segment->last);
}

/* A segment of the log with an empty piece for its text; the place that it has in the file says nothing. */
static glassine_status list_segment(glassine_bundle *bundle, const gl_entry *entry, uint64_t *total,
                                    glassine_error *error) {
    uint32_t first, last;
    if (!gl_name_is_segment(gl_zip_inner(bundle->zip, entry), &first, &last))
        return GLASSINE_OK; /* somebody else's file in that folder: kept, not read */
    *total += entry->size;
    if (*total > bundle->limits.log_bytes)
        return gl_fail(error, GLASSINE_REFUSED, "L005", bundle->file, "the log is longer than %llu bytes",
                       (unsigned long long)bundle->limits.log_bytes);
    if (entry->size > bundle->limits.segment_bytes)
        return gl_fail(error, GLASSINE_REFUSED, "L004", bundle->file, "%.*s is longer than %llu bytes",
                       GL_SPAN_ARGS(gl_zip_inner(bundle->zip, entry)),
                       (unsigned long long)bundle->limits.segment_bytes);
    gl_segment *segment = gl_bundle_segment(bundle);
    if (!segment || !gl_bundle_piece(bundle))
        return gl_fail_memory(error);
    *segment = (gl_segment){.first = first, .last = last, .piece = bundle->piece_count - 1, .pieces = 1};
    return GLASSINE_OK;
}

static const gl_entry *entry_of(const glassine_bundle *bundle, const gl_segment *segment) {
    char name[GL_SEGMENT_NAME_SIZE];
    gl_segment_name(segment, name);
    return gl_zip_find(bundle->zip, gl_span_of(name));
}

static glassine_status read_segment(glassine_bundle *bundle, gl_segment *segment, glassine_error *error) {
    glassine_status status = gl_bundle_borrow_segment(bundle, segment, error);
    return status || segment->borrowed
               ? status
               : gl_zip_read(bundle->zip, entry_of(bundle, segment), bundle->limits.segment_bytes,
                             &bundle->pieces[segment->piece], error);
}

static glassine_status read_segments(glassine_bundle *bundle, glassine_error *error) {
    uint64_t total = 0;
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < gl_zip_count(bundle->zip) && !status; i++) {
        const gl_entry *entry = gl_zip_at(bundle->zip, i);
        if (gl_span_starts(gl_zip_inner(bundle->zip, entry), GL_SPAN("slips/")))
            status = list_segment(bundle, entry, &total, error);
    }
    for (size_t i = 0; i < bundle->segment_count && !status; i++)
        status = read_segment(bundle, &bundle->segments[i], error);
    if (!status && bundle->segment_count)
        qsort(bundle->segments, bundle->segment_count, sizeof *bundle->segments, by_first);
    return status;
}

static glassine_status check_segments(const glassine_bundle *bundle, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < bundle->segment_count && !status; i++) {
        const gl_segment *segment = &bundle->segments[i];
        if (segment->borrowed && gl_bundle_is_checked_beside(bundle, segment))
            continue;
        status = gl_bag_check_content(bundle->zip, entry_of(bundle, segment), bundle->payload, bundle->tags,
                                      gl_buf_span(&bundle->pieces[segment->piece]), error);
    }
    return status;
}

/* No sum covers an end record; what it says of itself, the edition line says as well. */
glassine_status gl_bundle_check_end(const glassine_bundle *bundle, const gl_footer *footer,
                                    glassine_error *error) {
    const gl_edition *edition = gl_log_edition(bundle->log, footer->edition);
    char version[32];
    snprintf(version, sizeof version, "%u.%u", footer->major, footer->minor);
    gl_span format = edition ? gl_edition_said(edition).format : GL_NO_SPAN;
    if (edition && !gl_span_is(format, version))
        return gl_fail(error, GLASSINE_REFUSED, "E022", bundle->file,
                       "the end record of edition %u says format %s, its line in the log %.*s",
                       footer->edition, version, GL_SPAN_ARGS(format));
    return GLASSINE_OK;
}

static glassine_status check_last_end(const glassine_bundle *bundle, uint32_t last, glassine_error *error) {
    const gl_footer *footer = gl_zip_footer(bundle->zip);
    if (footer->edition != last)
        return gl_fail(error, GLASSINE_REFUSED, "E022", bundle->file,
                       "the end record says edition %u, the log ends with edition %u", footer->edition, last);
    return gl_bundle_check_end(bundle, footer, error);
}

/* Where edition `number` ends in the log, as far as the log has it. */
static uint64_t end_of(const glassine_bundle *bundle, uint32_t number) {
    const gl_edition *edition = gl_log_edition(bundle->log, number);
    return edition ? edition->end : 0;
}

/* Segments that the log has already, or a part of one: they must end where its editions do. */
static bool is_known(const glassine_bundle *bundle, const gl_segment *segment) {
    uint64_t length = end_of(bundle, segment->last) - end_of(bundle, segment->first - 1);
    return segment->last <= gl_log_editions(bundle->log) && length == bundle->pieces[segment->piece].length;
}

static gl_span unread(const glassine_bundle *bundle, const gl_segment *segment) {
    uint32_t known = gl_log_editions(bundle->log);
    gl_span text = gl_buf_span(&bundle->pieces[segment->piece]);
    uint64_t begin = end_of(bundle, segment->first - 1), end = end_of(bundle, known);
    uint64_t skipped = end - begin < text.length ? end - begin : text.length;
    return segment->first <= known ? gl_span_part(text, (size_t)skipped, text.length) : text;
}

static glassine_status read_log(glassine_bundle *bundle, uint32_t until, glassine_error *error) {
    uint32_t next = 1, known = gl_log_editions(bundle->log);
    for (size_t i = 0; i < bundle->segment_count; i++) {
        const gl_segment *segment = &bundle->segments[i];
        char name[GL_SEGMENT_NAME_SIZE], place[600];
        gl_segment_name(segment, name);
        snprintf(place, sizeof place, "%s: %s", bundle->file, name);
        if (segment->first != next)
            return gl_fail(error, GLASSINE_REFUSED, "E020", place, "edition %u is wanted here", next);
        next = segment->last + 1;
        if (is_known(bundle, segment))
            continue;
        uint32_t first = segment->first <= known ? known + 1 : segment->first;
        glassine_status status = gl_log_read(bundle->log, unread(bundle, segment), first, segment->last,
                                             until, &bundle->limits, place, error);
        if (status)
            return status;
        if (until && until < next)
            return GLASSINE_OK;
    }
    return until ? GLASSINE_OK : check_last_end(bundle, next - 1, error);
}

static glassine_status read_about(glassine_bundle *bundle, glassine_error *error) {
    const gl_entry *entry = gl_zip_find(bundle->zip, GL_SPAN(GL_BAG_ABOUT));
    if (!entry)
        return gl_fail(error, GLASSINE_REFUSED, "B050", bundle->file, "there is no data/about.json");
    gl_buf text = GL_BUF_EMPTY;
    char place[600];
    snprintf(place, sizeof place, "%s: data/about.json", bundle->file);
    glassine_status status = gl_bag_read_file(bundle->zip, entry, bundle->payload, bundle->tags,
                                              bundle->limits.small_file_bytes, &text, error);
    if (!status)
        status = gl_about_parse(bundle->arena, gl_buf_span(&text), place, &bundle->about, error);
    if (!status)
        gl_trust_keeper(bundle->trust, gl_span_of(bundle->about.keeper));
    gl_buf_free(&text);
    if (!status && !gl_span_equal(gl_span_of(bundle->about.base), gl_zip_base(bundle->zip)))
        return gl_fail(error, GLASSINE_REFUSED, "E033", place,
                       "says the base folder is %s, the entries lie in %.*s", bundle->about.base,
                       GL_SPAN_ARGS(gl_zip_base(bundle->zip)));
    return status;
}

static glassine_status read_bag(glassine_bundle *bundle, glassine_error *error) {
    glassine_status status = gl_bag_read(bundle->zip, &bundle->limits, bundle->payload, bundle->tags, error);
    return status ? status : read_about(bundle, error);
}

/* Two things that do not depend on each other, done at the same time; what is told is the first one's error. */
typedef struct loading {
    glassine_bundle *bundle;
    uint32_t until;
    gl_watch watch;
    glassine_status status[2];
    glassine_error error[2];
} loading;

static void take_out(void *context, size_t index) {
    loading *it = context;
    it->status[index] = (index ? read_segments : read_bag)(it->bundle, &it->error[index]);
}

static void make_sure(void *context, size_t index) {
    loading *it = context;
    if (index == 0) {
        it->status[0] = check_segments(it->bundle, &it->error[0]);
        return;
    }
    gl_log_watch(it->bundle->log, &it->watch);
    it->status[1] = read_log(it->bundle, it->until, &it->error[1]);
    gl_log_watch(it->bundle->log, NULL);
    if (!it->status[1])
        atomic_store(&it->watch.done, it->watch.total); /* what needed no reading too */
}

static glassine_status first_of_both(const loading *it, glassine_error *error) {
    size_t told = it->status[0] ? 0 : 1;
    if (it->status[told] && error)
        *error = it->error[told];
    return it->status[told];
}

static glassine_status load_set(loading *it, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    uint64_t size = gl_zip_footer(bundle->zip)->end;
    gl_work_on(size, 2, take_out, it, NULL);
    glassine_status status = first_of_both(it, error);
    if (!status)
        status = gl_bundle_begin_beside(bundle, error);
    if (status)
        return status;
    for (size_t i = 0; i < bundle->piece_count; i++)
        it->watch.total += bundle->pieces[i].length;
    gl_work_on(size, 2, make_sure, it, &it->watch);
    return atomic_load(&it->watch.stopped) ? gl_watch_fail(error) : first_of_both(it, error);
}

glassine_status gl_bundle_load(glassine_bundle *bundle, uint32_t until, glassine_error *error) {
    loading it = {.bundle = bundle, .until = until, .watch = {.by = bundle->watch, .doing = "opening"}};
    glassine_status status = load_set(&it, error);
    if (status)
        return status;
    bundle->edition = gl_log_editions(bundle->log);
    if (bundle->edition < until || !bundle->edition)
        return gl_fail(error, GLASSINE_REFUSED, bundle->edition ? NULL : "E022", bundle->path,
                       "there is no edition %u: the last one is %u", until, bundle->edition);
    return bundle->without_records ? GLASSINE_OK : gl_bundle_index(bundle, error);
}

glassine_status gl_bundle_follow(glassine_bundle *bundle, const gl_writer *writer, glassine_error *error) {
    gl_map_free(bundle->scans);
    bundle->scans = NULL;
    return bundle->zip ? gl_zip_follow(bundle->zip, writer, error)
                       : gl_zip_open(bundle->fd, bundle->file, &bundle->limits, &bundle->zip, error);
}

glassine_edition glassine_bundle_edition_at(const glassine_bundle *bundle, uint32_t number) {
    const gl_edition *edition = gl_log_edition(bundle->log, number);
    if (!edition)
        return (glassine_edition){0};
    gl_edition_view said = gl_edition_said(edition);
    glassine_bundle *handle = (glassine_bundle *)bundle; /* decoding caches into the arena only */
    return (glassine_edition){.number = number,
                              .at = said.at,
                              .by = said.by,
                              .note = gl_bundle_decoded(handle, said.note),
                              .tool = gl_bundle_decoded(handle, said.tool),
                              .log = said.log,
                              .slips = edition->slips,
                              .brings = gl_json_count(said.brings)};
}
