/* Saving a draft: its lines close an edition, which joins earlier segments as far as these span no more, and
 * goes to disk with the small files that changed. */
#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/text.h"
#include "base/work.h"
#include "exchange/sign.h"

static int by_bytes(const void *a, const void *b) {
    return gl_span_compare(*(const gl_span *)a, *(const gl_span *)b);
}

static void add_brings(glassine_draft *draft, gl_buf *out) {
    if (draft->brings_count)
        qsort(draft->brings, draft->brings_count, sizeof *draft->brings, by_bytes);
    gl_buf_add_char(out, '[');
    for (size_t i = 0; i < draft->brings_count; i++) {
        if (i)
            gl_buf_add_char(out, ',');
        gl_json_add_string(out, draft->brings[i]);
    }
    gl_buf_add_char(out, ']');
}

/* The edition's lines: its slips, signatures, and the edition line that closes it. */
static glassine_status edition_lines(glassine_draft *draft, const char *note, gl_buf *out,
                                     glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    for (uint32_t slip = draft->base; slip < gl_store_count(bundle->store); slip++) {
        gl_buf_add(out, gl_store_line(bundle->store, slip));
        gl_buf_add_char(out, '\n');
    }
    gl_buf_add(out, gl_buf_span(&draft->signatures));
    gl_buf brings = GL_BUF_EMPTY, remark = GL_BUF_EMPTY;
    add_brings(draft, &brings);
    gl_text_add_nfc(&remark, gl_span_of(note ? note : ""));
    char at[GL_TIME_SIZE];
    gl_time_print(draft->at, at);
    gl_edition_parts parts = {.edition = bundle->edition + 1,
                              .at = gl_span_of(at),
                              .by = gl_span_of(draft->own),
                              .key = gl_draft_holds_key(draft) ? gl_span_of(bundle->key->hex) : GL_NO_SPAN,
                              .note = gl_buf_span(&remark),
                              .tool = GL_SPAN("glassine " GLASSINE_VERSION_TEXT),
                              .slips = gl_store_count(bundle->store),
                              .brings = gl_buf_span(&brings)};
    glassine_status status = out->failed || brings.failed || remark.failed
                                 ? gl_fail_memory(error)
                                 : gl_log_close(bundle->log, gl_buf_span(out), &parts, out, error);
    gl_buf_free(&brings);
    gl_buf_free(&remark);
    return status;
}

static size_t text_length(const glassine_bundle *bundle, const gl_segment *segment) {
    size_t length = 0;
    for (size_t i = 0; i < segment->pieces; i++)
        length += bundle->pieces[segment->piece + i].length;
    return length;
}

/* How many of the last segments the new one takes in: while the one before spans no more editions, and is not
 * so much longer that writing it again would cost far more than what is saved. So n editions of a log of b
 * bytes lie in about log n + log b segments. */
static size_t segments_to_join(const glassine_bundle *bundle, gl_segment *segment) {
    enum { LONGER_AT_MOST = 4 };
    size_t joined = 0, length = text_length(bundle, segment);
    while (joined < bundle->segment_count) {
        const gl_segment *before = &bundle->segments[bundle->segment_count - 1 - joined];
        size_t more = text_length(bundle, before);
        if (before->last - before->first > segment->last - segment->first || more / LONGER_AT_MOST > length)
            break;
        length += more;
        segment->first = before->first;
        segment->piece = before->piece;
        segment->pieces += before->pieces;
        joined++;
    }
    return joined;
}

static glassine_status write_segment(glassine_draft *draft, const gl_segment *segment, size_t joined,
                                     glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    gl_buf text = GL_BUF_EMPTY;
    for (size_t i = 0; i < segment->pieces; i++)
        gl_buf_add(&text, gl_buf_span(&bundle->pieces[segment->piece + i]));
    char name[GL_SEGMENT_NAME_SIZE];
    for (size_t i = 0; i < joined; i++) {
        gl_segment_name(&bundle->segments[bundle->segment_count - 1 - i], name);
        gl_writer_drop(draft->writer, gl_span_of(name));
        gl_manifest_remove(bundle->tags, gl_span_of(name));
    }
    gl_segment_name(segment, name);
    gl_digest digest;
    glassine_status status = text.failed ? gl_fail_memory(error)
                                         : gl_writer_add(draft->writer, gl_span_of(name), gl_buf_span(&text),
                                                         false, &digest, error);
    gl_buf_free(&text);
    if (!status && !gl_manifest_set(bundle->tags, gl_span_of(name), &digest))
        status = gl_fail_memory(error);
    return status;
}

static glassine_status write_about(glassine_draft *draft, glassine_error *error) {
    gl_buf text = GL_BUF_EMPTY;
    gl_about_print(&draft->bundle->about, &text);
    gl_digest digest;
    glassine_status status = text.failed ? gl_fail_memory(error)
                                         : gl_writer_add(draft->writer, GL_SPAN(GL_BAG_ABOUT),
                                                         gl_buf_span(&text), false, &digest, error);
    if (!status)
        status = gl_draft_brought(draft, GL_SPAN(GL_BAG_ABOUT), &digest, text.length, error);
    gl_buf_free(&text);
    return status;
}

static glassine_status write_bag(glassine_draft *draft, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    gl_bag_facts facts = {.uuid = gl_span_of(bundle->about.uuid),
                          .title = gl_span_of(bundle->about.title),
                          .tool = GL_SPAN("glassine " GLASSINE_VERSION_TEXT),
                          .at = draft->at,
                          .payload_bytes = draft->payload_bytes,
                          .payload_files = gl_manifest_count(bundle->payload)};
    for (size_t i = 0; bundle->zip && i < gl_zip_count(bundle->zip); i++) {
        const gl_entry *entry = gl_zip_at(bundle->zip, i);
        if (gl_span_starts(gl_zip_inner(bundle->zip, entry), GL_SPAN("data/")))
            facts.payload_bytes += entry->size;
    }
    return gl_bag_write(draft->writer, bundle->zip, &facts, bundle->payload, bundle->tags, error);
}

/* The handle goes on from what is on disk now: the lines as a piece of the log, the segment, the directory.
 */
static glassine_status take_over(glassine_draft *draft, const gl_segment *segment, size_t joined,
                                 glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    uint32_t number = bundle->edition + 1;
    gl_span lines = gl_buf_span(&bundle->pieces[bundle->piece_count - 1]);
    bundle->segment_count -= joined;
    gl_segment *kept = gl_bundle_segment(bundle);
    if (!kept)
        return gl_fail_memory(error);
    *kept = *segment;
    bool judged_anew = draft->signatures.length || glassine_draft_unsigned(draft);
    gl_trust_drop_added(bundle->trust);
    gl_trust_cut(bundle->trust, draft->base);
    glassine_status status =
        gl_log_read(bundle->log, lines, number, number, 0, &bundle->limits, bundle->file, error);
    if (status)
        return status;
    bundle->edition = number;
    draft->base = gl_store_count(bundle->store);
    draft->brings_count = 0;
    draft->payload_bytes = 0;
    gl_manifest_settle(bundle->payload);
    gl_draft_forget_gathered(draft);
    gl_buf_clear(&draft->signatures);
    gl_draft_cut_signatures(draft, 0);
    status = judged_anew ? gl_bundle_trust_changed(bundle, error) : GLASSINE_OK;
    return status ? status : gl_bundle_follow(bundle, draft->writer, error);
}

/* What was written of a draft before the bag: a piece of the log, and the segment that it is in. */
typedef struct written {
    gl_segment segment;
    size_t joined;
} written;

static glassine_status write_lines(glassine_draft *draft, const char *note, written *out,
                                   glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    glassine_status status = gl_draft_writer(draft, error);
    if (!status && bundle->edition == 0)
        status = write_about(draft, error);
    gl_buf *lines = status ? NULL : gl_bundle_piece(bundle);
    if (!status && !lines)
        status = gl_fail_memory(error);
    if (!status)
        status = edition_lines(draft, note, lines, error);
    if (status)
        return status;
    uint32_t number = bundle->edition + 1;
    out->segment =
        (gl_segment){.first = number, .last = number, .piece = bundle->piece_count - 1, .pieces = 1};
    out->joined = segments_to_join(bundle, &out->segment);
    return write_segment(draft, &out->segment, out->joined, error);
}

/* The manifest of tag files as the file on disk has it: a failed save may have changed the one in memory. */
static void restore_tags(glassine_bundle *bundle) {
    gl_manifest *payload = gl_manifest_new(), *tags = gl_manifest_new();
    if (bundle->zip && payload && tags &&
        gl_bag_read(bundle->zip, &bundle->limits, payload, tags, NULL) == GLASSINE_OK) {
        gl_manifest *old = bundle->tags;
        bundle->tags = tags;
        tags = old;
    }
    gl_manifest_free(payload);
    gl_manifest_free(tags);
}

/* Pieces of the log from number `pieces` on are no part of it: they were not saved. */
static void take_back(glassine_draft *draft, size_t pieces) {
    glassine_bundle *bundle = draft->bundle;
    while (bundle->piece_count > pieces)
        gl_buf_free(&bundle->pieces[--bundle->piece_count]);
    restore_tags(bundle);
}

/* ------------------------------------------------------------------------------------------------- ahead */

typedef struct gl_ahead {
    glassine_draft *draft;
    const char *note;
    size_t pieces; /* that were there before */
    gl_beside *thread;
    written written;
    glassine_status status;
    glassine_error error;
} gl_ahead;

static void write_now(void *context) {
    gl_ahead *it = context;
    it->status = write_lines(it->draft, it->note, &it->written, &it->error);
}

/* With a key, what is written depends on whose word counts, which others ask for meanwhile. */
void gl_draft_write_ahead(glassine_draft *draft, const char *note) {
    bool lines = glassine_draft_slips(draft) || draft->signatures.length;
    gl_ahead *it = lines && draft->bundle->edition && !draft->bundle->key ? calloc(1, sizeof *it) : NULL;
    if (!it)
        return;
    it->draft = draft;
    it->note = note;
    it->pieces = draft->bundle->piece_count;
    it->thread = gl_beside_begin(write_now, it);
    if (it->thread)
        draft->ahead = it;
    else
        free(it);
}

static gl_ahead *end_ahead(glassine_draft *draft) {
    gl_ahead *it = draft->ahead;
    draft->ahead = NULL;
    if (it)
        gl_beside_end(it->thread);
    return it;
}

void gl_draft_drop_ahead(glassine_draft *draft) {
    gl_ahead *it = end_ahead(draft);
    if (it)
        take_back(draft, it->pieces);
    free(it);
}

/* What was written ahead, or now. */
static glassine_status lines_written(glassine_draft *draft, const char *note, written *out,
                                     glassine_error *error) {
    gl_ahead *it = end_ahead(draft);
    if (!it)
        return write_lines(draft, note, out, error);
    glassine_status status = it->status;
    *out = it->written;
    if (status && error)
        *error = it->error;
    free(it);
    return status;
}

static glassine_status write_edition(glassine_draft *draft, const char *note, written *out,
                                     glassine_error *error) {
    glassine_status status = lines_written(draft, note, out, error);
    uint64_t end;
    if (!status)
        status = write_bag(draft, error);
    return status ? status : gl_writer_finish(draft->writer, &end, error);
}

glassine_status gl_draft_save(glassine_draft *draft, const char *note, bool *saved, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    *saved = false;
    if (!glassine_draft_slips(draft) && !draft->brings_count && !draft->signatures.length &&
        bundle->edition) {
        gl_draft_clear(draft);
        *saved = true;
        return GLASSINE_OK;
    }
    written made;
    size_t pieces = draft->ahead ? draft->ahead->pieces : bundle->piece_count;
    glassine_status status = gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
    if (!status)
        status = gl_draft_sign(draft, error);
    if (!status)
        status = write_edition(draft, note, &made, error);
    *saved = !status;
    if (*saved)
        status = take_over(draft, &made.segment, made.joined, error);
    gl_draft_drop_ahead(draft);
    gl_writer_free(draft->writer); /* cuts the file back where it was not finished */
    draft->writer = NULL;
    if (*saved)
        return status;
    take_back(draft, pieces);
    gl_draft_clear(draft);
    return status;
}

glassine_status glassine_draft_save(glassine_draft *draft, const char *note, glassine_error *error) {
    bool saved;
    glassine_status status = gl_draft_save(draft, note, &saved, error);
    if (status && saved)
        gl_error_remedy(error, "The edition is saved and whole all the same: open the bundle anew");
    return status;
}
