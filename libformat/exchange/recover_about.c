/* data/about.json of a recovered bundle. Where the file itself is gone, what it said mostly stands elsewhere,
 * and its digest in the first edition tells whether it was put together again right. */
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "exchange/recover.h"

enum { SECONDS_BEFORE_SAVE = 600 }; /* a bundle is made some time before its first save is closed */

static gl_span base_of(const gl_recovery *it) {
    gl_span base = gl_salvage_base(it->sources[0].salvage);
    return base.text ? base
                     : GL_SPAN("glassine-recovered"); /* only lines were found, and no name of a file */
}

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

static glassine_status read_piece(gl_recovery *it, size_t source, const gl_piece *piece, gl_buf *text,
                                  glassine_error *error) {
    gl_buf_clear(text);
    if (piece->entry.size > it->limits.small_file_bytes)
        return GLASSINE_OK;
    glassine_status status = gl_salvage_stream(it->sources[source].salvage, piece, gather, text, error);
    return !status && text->failed ? gl_fail_memory(error) : status;
}

/* Is `text` what the first edition brought? Where no edition is kept, anything sound will do. */
static bool is_right(gl_recovery *it, gl_span text) {
    gl_digest wanted, digest = gl_hash_once(it->lines.hash, text.text, text.length);
    return !gl_manifest_find(it->kept, GL_SPAN(GL_BAG_ABOUT), &wanted) || gl_digest_equal(&wanted, &digest);
}

static glassine_status take_text(gl_recovery *it, gl_span text, bool *taken, glassine_error *error) {
    gl_span base = base_of(it);
    *taken = false;
    if (!is_right(it, text))
        return GLASSINE_OK;
    glassine_status status = gl_about_parse(it->arena, text, NULL, &it->about, error);
    if (status || !gl_span_equal(gl_span_of(it->about.base), base))
        return status == GLASSINE_SYSTEM ? status : GLASSINE_OK;
    gl_buf_clear(&it->about_text);
    gl_buf_add(&it->about_text, text);
    it->about_same = *taken = true;
    return it->about_text.failed ? gl_fail_memory(error) : GLASSINE_OK;
}

/* The value behind `label` of a bag-info.txt, absent where there is none. */
static gl_span info_value(gl_span text, gl_span label) {
    gl_span line;
    while (gl_lines_next(&text, &line))
        if (gl_span_starts(line, label))
            return gl_span_part(line, label.length, line.length);
    return GL_NO_SPAN;
}

/* The last whole piece of the name `inner` in any source, read; false where there is none. */
static glassine_status read_last(gl_recovery *it, gl_span inner, gl_buf *text, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t s = 0; s < it->source_count && !text->length && !status; s++)
        for (size_t i = gl_salvage_count(it->sources[s].salvage); i-- > 0 && !text->length && !status;) {
            const gl_piece *piece = gl_salvage_at(it->sources[s].salvage, i);
            if (piece->whole && gl_span_equal(piece->inner, inner))
                status = read_piece(it, s, piece, text, error);
        }
    return status;
}

static glassine_status find_whole(gl_recovery *it, bool *found, glassine_error *error) {
    gl_buf text = GL_BUF_EMPTY;
    glassine_status status = GLASSINE_OK;
    for (size_t s = 0; s < it->source_count && !*found && !status; s++)
        for (size_t i = gl_salvage_count(it->sources[s].salvage); i-- > 0 && !*found && !status;) {
            const gl_piece *piece = gl_salvage_at(it->sources[s].salvage, i);
            if (!piece->whole || !gl_span_is(piece->inner, GL_BAG_ABOUT))
                continue;
            status = read_piece(it, s, piece, &text, error);
            if (!status)
                status = take_text(it, gl_buf_span(&text), found, error);
        }
    gl_buf_free(&text);
    return status;
}

/* ------------------------------------------------------------------------------------------- put together
 * again */

static char *kept(gl_recovery *it, gl_span text) {
    return (char *)gl_arena_copy(it->arena, text).text;
}

static gl_span title_of_collection(const gl_store *store) {
    for (uint32_t i = 0; i < gl_store_count(store); i++) {
        gl_slip_view slip;
        gl_slip_look(gl_store_line(store, i), &slip);
        gl_span title = gl_json_member(slip.set, "title");
        if (title.text && gl_span_starts(gl_json_raw(slip.record), GL_SPAN("collection/")))
            return title;
    }
    return GL_NO_SPAN;
}

/* What is known of it: all but who the keeper is, and the second in which it was made. */
static bool gather_about(gl_recovery *it, gl_span info, int64_t *saved) {
    gl_about *about = &it->about;
    const gl_edition *first = gl_log_edition(it->log.log, 1);
    gl_span uuid = info_value(info, GL_SPAN("External-Identifier: urn:uuid:"));
    gl_span title = info_value(info, GL_SPAN("External-Description: "));
    gl_buf decoded = GL_BUF_EMPTY;
    char made[GL_UUID_SIZE];
    if (!gl_uuid_check(uuid) && !gl_uuid_new(made))
        return false;
    if (!title.text) {
        gl_span said = title_of_collection(it->log.store);
        if (said.text)
            gl_json_add_decoded(&decoded, said);
        title = decoded.length ? gl_buf_span(&decoded) : GL_SPAN("recovered");
    }
    *about = (gl_about){.base = kept(it, base_of(it)),
                        .uuid = kept(it, gl_uuid_check(uuid) ? uuid : gl_span_of(made)),
                        .title = kept(it, title),
                        .version = kept(it, GL_SPAN("1.0"))};
    bool failed = decoded.failed;
    gl_buf_free(&decoded);
    *saved = gl_clock_now();
    if (first)
        gl_time_parse(gl_edition_said(first).at, saved);
    return !failed && about->base && about->uuid && about->title && about->version;
}

/* Every contributor as keeper, and every second before the first save: the digest says which is right. */
static bool try_all(gl_recovery *it, int64_t saved) {
    char made[GL_TIME_SIZE];
    gl_about *about = &it->about;
    const gl_store *store = it->log.store;
    about->made = made;
    for (uint32_t person = 0; person < gl_store_people(store); person++) {
        char *keeper = kept(it, gl_store_person(store, person));
        about->keeper = keeper;
        for (int64_t back = 0; keeper && back <= SECONDS_BEFORE_SAVE; back++) {
            gl_time_print(saved - back, made);
            gl_about_print(about, &it->about_text);
            if (it->about_text.failed || !is_right(it, gl_buf_span(&it->about_text)))
                continue;
            about->made = kept(it, gl_span_of(made));
            return about->made != NULL;
        }
    }
    return false;
}

/* Nobody says any more who the keeper was: the one who saved first is taken for it. */
static bool begin_anew(gl_recovery *it, int64_t saved) {
    char made[GL_TIME_SIZE];
    const gl_edition *first = gl_log_edition(it->log.log, 1);
    gl_span keeper = first ? gl_edition_said(first).by
                     : gl_store_people(it->log.store) > 0
                         ? gl_store_person(it->log.store, 0)
                         : GL_SPAN("contributor/00000000-0000-4000-8000-000000000000");
    gl_time_print(saved, made);
    it->about.keeper = kept(it, keeper);
    it->about.made = kept(it, gl_span_of(made));
    if (!it->about.keeper || !it->about.made)
        return false;
    gl_about_print(&it->about, &it->about_text);
    return !it->about_text.failed;
}

static glassine_status put_together(gl_recovery *it, glassine_error *error) {
    gl_buf info = GL_BUF_EMPTY;
    int64_t saved;
    glassine_status status = read_last(it, GL_SPAN(GL_BAG_INFO), &info, error);
    bool known = gl_manifest_find(it->kept, GL_SPAN(GL_BAG_ABOUT), NULL);
    if (!status && !gather_about(it, gl_buf_span(&info), &saved))
        status = gl_fail_memory(error);
    gl_buf_free(&info);
    if (status)
        return status;
    it->about_same = known && try_all(it, saved);
    return it->about_same || begin_anew(it, saved) ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status enter_in_payload(gl_recovery *it, glassine_error *error) {
    gl_span name = GL_SPAN(GL_BAG_ABOUT), text = gl_buf_span(&it->about_text);
    gl_digest before, digest = gl_hash_once(it->lines.hash, text.text, text.length);
    bool differs = gl_manifest_find(it->kept, name, &before) && !gl_digest_equal(&before, &digest);
    bool done =
        gl_manifest_set(it->payload, name, &digest) && (!differs || gl_manifest_set(it->lost, name, &before));
    return done ? GLASSINE_OK : gl_fail_memory(error);
}

glassine_status gl_recovery_about(gl_recovery *it, glassine_error *error) {
    bool found = false;
    glassine_status status = find_whole(it, &found, error);
    if (!status && !found)
        status = put_together(it, error);
    return status ? status : enter_in_payload(it, error);
}
