/* A draft: begun, asked, dropped; what it takes over from elsewhere. Saying is in say.c, saving in save.c. */
#include "exchange/draft.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "exchange/gather.h"
#include "records/value.h"

/* Takes a contributor id over; NULL leaves `out` empty. */
static glassine_status take_person(const char *id, char out[GL_PERSON_SIZE], glassine_error *error) {
    gl_span type, uuid;
    out[0] = '\0';
    if (!id)
        return GLASSINE_OK;
    if (!gl_record_id_split(gl_span_of(id), &type, &uuid) || !gl_span_is(type, "contributor"))
        return gl_fail(error, GLASSINE_REFUSED, "R030", NULL, "\"%s\" is no contributor/UUID", id);
    snprintf(out, GL_PERSON_SIZE, "%s", id);
    return GLASSINE_OK;
}

glassine_status glassine_draft_speaker(glassine_draft *draft, const char *by, const char *via,
                                       glassine_error *error) {
    const gl_about *about = &draft->bundle->about;
    glassine_status status = take_person(by                 ? by
                                         : about->answer_by ? about->answer_by
                                                            : about->keeper,
                                         draft->by, error);
    return status ? status : take_person(via, draft->via, error);
}

glassine_status glassine_draft_new(glassine_bundle *bundle, const char *by, const char *via,
                                   glassine_draft **out, glassine_error *error) {
    *out = NULL;
    if (!bundle->writing)
        return gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "it was opened for reading only");
    if (bundle->drafting)
        return gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "there is a draft of it already");
    glassine_draft *draft = calloc(1, sizeof *draft);
    if (!draft)
        return gl_fail_memory(error);
    draft->bundle = bundle;
    draft->base = gl_store_count(bundle->store);
    glassine_status status = glassine_draft_speaker(draft, by, via, error);
    if (status) {
        free(draft);
        return status;
    }
    memcpy(draft->own, draft->via[0] ? draft->via : draft->by, sizeof draft->own);
    bundle->drafting = true;
    *out = draft;
    return GLASSINE_OK;
}

void gl_draft_cut_signatures(glassine_draft *draft, size_t length) {
    gl_map_free(draft->known_signatures);
    draft->known_signatures = NULL;
    if (draft->signatures.length <= length)
        return;
    draft->signatures.length = length;
    gl_trust *trust = draft->bundle->trust;
    gl_trust_drop_added(trust);
    for (gl_span rest = gl_buf_span(&draft->signatures); rest.length;) {
        const char *end = memchr(rest.text, '\n', rest.length);
        gl_span line = gl_arena_copy(draft->bundle->arena, gl_span_part(rest, 0, (size_t)(end - rest.text)));
        if (line.text)
            gl_trust_add(trust, line, true);
        rest = gl_span_part(rest, line.length + 1, rest.length);
    }
    gl_bundle_trust_changed(draft->bundle, NULL);
}

void gl_draft_forget_gathered(glassine_draft *draft) {
    gl_map_free(draft->gathered_paths);
    free(draft->gathered);
    draft->gathered_paths = NULL;
    draft->gathered = NULL;
    draft->gathered_count = draft->gathered_room = 0;
}

void gl_draft_clear(glassine_draft *draft) {
    gl_draft_drop_ahead(draft);
    gl_draft_forget_gathered(draft);
    gl_bundle_cut(draft->bundle, draft->base);
    for (size_t i = 0; i < draft->brings_count; i++) /* "DIGEST  NAME" */
        gl_manifest_remove(draft->bundle->payload,
                           gl_span_part(draft->brings[i], 66, draft->brings[i].length));
    gl_writer_free(draft->writer);
    draft->writer = NULL;
    gl_draft_cut_signatures(draft, 0);
    draft->brings_count = 0;
    draft->payload_bytes = 0;
}

void glassine_draft_free(glassine_draft *draft) {
    if (!draft)
        return;
    if (gl_store_count(draft->bundle->store) > draft->base || draft->writer || draft->signatures.length)
        gl_draft_clear(draft);
    draft->bundle->drafting = false;
    gl_draft_forget_gathered(draft);
    gl_buf_free(&draft->signatures);
    gl_map_free(draft->known_signatures);
    free(draft->brings);
    free(draft);
}

const char *glassine_draft_by(const glassine_draft *draft) {
    return draft->by;
}

size_t glassine_draft_slips(const glassine_draft *draft) {
    return gl_store_count(draft->bundle->store) - draft->base;
}

size_t glassine_draft_scans(const glassine_draft *draft) {
    return draft->brings_count;
}

glassine_status gl_draft_writer(glassine_draft *draft, glassine_error *error) {
    if (draft->writer)
        return GLASSINE_OK;
    glassine_bundle *bundle = draft->bundle;
    draft->at = gl_clock_now();
    return gl_writer_new(bundle->fd, bundle->file, bundle->zip, gl_span_of(bundle->about.base),
                         bundle->edition + 1, draft->at, &draft->writer, error);
}

glassine_status gl_draft_add_line(glassine_draft *draft, gl_span line, const char *place, bool *added,
                                  glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    gl_line_kind kind;
    glassine_status status = gl_line_check(line, &bundle->limits, place, &kind, error);
    if (status)
        return status;
    if (kind != GL_LINE_SLIP)
        return gl_fail(error, GLASSINE_REFUSED, NULL, place, "a slip is wanted");
    gl_span copy = gl_arena_copy(bundle->arena, line);
    if (!copy.text)
        return gl_fail_memory(error);
    uint32_t slip;
    return gl_store_add(bundle->store, copy, bundle->edition + 1, &bundle->limits, &slip, added, error);
}

glassine_status gl_draft_take_slip(glassine_draft *draft, const glassine_bundle *from, uint32_t slip,
                                   bool *added, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    gl_span line = gl_store_line(from->store, slip);
    if (memcmp(&from->limits, &bundle->limits, sizeof bundle->limits) != 0)
        return gl_draft_add_line(draft, line, from->path, added, error);
    gl_span kept = from->lent_to == bundle ? line : gl_arena_copy(bundle->arena, line);
    if (!kept.text)
        return gl_fail_memory(error);
    uint32_t number;
    return gl_store_add_known(bundle->store, kept, &gl_store_at(from->store, slip)->digest,
                              bundle->edition + 1, &bundle->limits, &number, added, error);
}

glassine_status gl_draft_speak_line(glassine_draft *draft, gl_span line, bool *added, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    glassine_status status = gl_draft_add_line(draft, line, bundle->path, added, error);
    if (!status && *added && !gl_trust_spoken(bundle->trust, gl_store_count(bundle->store) - 1))
        status = gl_fail_memory(error);
    return status;
}

glassine_status gl_draft_add_signature(glassine_draft *draft, gl_span line, glassine_error *error) {
    gl_buf_add(&draft->signatures, line);
    gl_buf_add_char(&draft->signatures, '\n');
    bool noted = gl_trust_add(draft->bundle->trust, line, true);
    return draft->signatures.failed || !noted ? gl_fail_memory(error) : GLASSINE_OK;
}

glassine_status gl_draft_brought(glassine_draft *draft, gl_span inner, const gl_digest *digest,
                                 uint64_t bytes, glassine_error *error) {
    void *grown = gl_grow(draft->brings, &draft->brings_room, draft->brings_count + 1, sizeof *draft->brings);
    if (!grown)
        return gl_fail_memory(error);
    draft->brings = grown;
    char hex[GL_HEX_SIZE];
    gl_digest_hex(digest, hex);
    gl_buf line = GL_BUF_EMPTY;
    gl_buf_printf(&line, "%s  %.*s", hex, GL_SPAN_ARGS(inner));
    gl_span copy = line.failed ? GL_NO_SPAN : gl_arena_copy(draft->bundle->arena, gl_buf_span(&line));
    gl_buf_free(&line);
    if (!copy.text || !gl_manifest_set(draft->bundle->payload, gl_span_part(copy, 66, copy.length), digest))
        return gl_fail_memory(error);
    draft->brings[draft->brings_count++] = copy;
    draft->payload_bytes += bytes;
    return GLASSINE_OK;
}

glassine_status gl_draft_take_entry(glassine_draft *draft, glassine_bundle *from, const gl_entry *entry,
                                    const gl_digest *digest, glassine_error *error) {
    glassine_status status = gl_draft_writer(draft, error);
    if (!status)
        status = gl_writer_add_raw(draft->writer, from->zip, entry, error);
    if (!status)
        status = gl_draft_brought(draft, gl_zip_inner(from->zip, entry), digest, entry->size, error);
    return status;
}

glassine_status gl_draft_take_scan(glassine_draft *draft, glassine_bundle *from, const char *sha256,
                                   bool *taken, glassine_error *error) {
    *taken = false;
    const gl_entry *entry = gl_bundle_scan(from, sha256);
    gl_digest digest, present;
    if (!entry || !gl_digest_parse(gl_span_of(sha256), &digest))
        return GLASSINE_OK;
    if (gl_manifest_find(draft->bundle->payload, gl_zip_inner(from->zip, entry), &present))
        return GLASSINE_OK;
    /* The other file may be anyone's: its bytes are looked at before they are taken over as they are. */
    glassine_status status = gl_bag_check(from->zip, entry, from->payload, from->tags, error);
    if (!status)
        status = gl_draft_take_entry(draft, from, entry, &digest, error);
    *taken = status == GLASSINE_OK;
    return status;
}
