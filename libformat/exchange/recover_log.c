/* The new log out of what was saved: editions from the first on as far as the chain holds, then what else is
 * vouched for. */
#include <stdlib.h>

#include "base/error.h"
#include "exchange/recover.h"

typedef struct log_maker {
    gl_new_log *it;
    const gl_lines *lines;
    gl_map *vouched; /* digests that sound lines name, as bytes -> 0 */
    gl_map *others;  /* lines that are no slips, and are there already */
    gl_arena *arena;
    glassine_error *error;
} log_maker;

/* ----------------------------------------------------------------------------------------- what is kept */

/* Editions 1 to `most` as they were; kept ends before one that is missing. */
static bool chain_kept(log_maker *make, int64_t most) {
    gl_digest before = {{0}};
    gl_buf_clear(&make->it->kept);
    for (int64_t edition = 1; edition <= most; edition++) {
        const gl_group *group = gl_lines_after(make->lines, edition, &before);
        if (!group)
            break;
        gl_buf_add(&make->it->kept, group->text);
        before = group->log;
    }
    return !make->it->kept.failed;
}

/* What the editions say of the payload must add up, too; *good becomes how many of them do. */
static glassine_status check_payload(log_maker *make, uint32_t *good) {
    gl_manifest *payload = gl_manifest_new();
    glassine_status status = payload ? GLASSINE_OK : gl_fail_memory(make->error);
    uint32_t editions = *good;
    for (*good = 0; *good < editions && !status; ++*good)
        status = gl_payload_step(gl_log_edition(make->it->log, *good + 1), payload, NULL, make->error);
    *good -= status != GLASSINE_OK;
    gl_manifest_free(payload);
    return status;
}

static glassine_status read_kept(log_maker *make, uint32_t most, uint32_t *good) {
    gl_new_log *it = make->it;
    gl_log_free(it->log);
    gl_store_free(it->store);
    it->store = gl_store_new();
    it->log = it->store ? gl_log_new(it->store) : NULL;
    *good = 0;
    if (!it->log)
        return gl_fail_memory(make->error);
    if (most == 0)
        return GLASSINE_OK;
    glassine_status status =
        gl_log_read(it->log, gl_buf_span(&it->kept), 1, most, 0, make->lines->limits, NULL, make->error);
    *good = gl_log_editions(it->log);
    return status ? status : check_payload(make, good);
}

static uint32_t count_editions(const log_maker *make) {
    gl_digest before = {{0}};
    uint32_t count = 0;
    for (const gl_group *group; (group = gl_lines_after(make->lines, (int64_t)count + 1, &before)); count++)
        before = group->log;
    return count;
}

/* Where the chain holds and the log still breaks a rule, the editions before that are kept. */
static glassine_status keep_editions(log_maker *make) {
    uint32_t most = count_editions(make), good;
    for (;;) {
        if (!chain_kept(make, most))
            return gl_fail_memory(make->error);
        glassine_status status = read_kept(make, most, &good);
        if (status != GLASSINE_REFUSED || most == 0)
            return status;
        most = good < most ? good : most - 1;
    }
}

/* ------------------------------------------------------------------------------------------ what else is
 * sound */

static bool vouch(log_maker *make, gl_span digest) {
    gl_span copy =
        gl_map_find(make->vouched, digest) == GL_NONE ? gl_arena_copy(make->arena, digest) : digest;
    return copy.text && (copy.text == digest.text || gl_map_set(make->vouched, copy, 0));
}

/* A sound line names slips: those it follows, or the one that it signs. */
static bool vouch_for_named(log_maker *make, gl_span line, gl_line_kind kind) {
    gl_digest digest;
    size_t at = 0;
    gl_slip_view slip;
    gl_signature_view signature;
    if (kind == GL_LINE_SIGNATURE) {
        gl_signature_look(line, &signature);
        return !gl_digest_parse(signature.of, &digest) ||
               vouch(make, (gl_span){(const char *)digest.bytes, sizeof digest.bytes});
    }
    if (kind != GL_LINE_SLIP)
        return true;
    gl_slip_look(line, &slip);
    while (gl_slip_after_next(&slip, &at, &digest))
        if (!vouch(make, (gl_span){(const char *)digest.bytes, sizeof digest.bytes}))
            return false;
    return true;
}

static void add_line(gl_buf *out, gl_span line) {
    gl_buf_add(out, line);
    gl_buf_add_char(out, '\n');
}

/* Takes a line into the new edition, unless the log has it. */
static glassine_status rescue(log_maker *make, gl_span line) {
    gl_new_log *it = make->it;
    gl_line_kind kind;
    uint32_t slip;
    bool added = true;
    glassine_status status = gl_line_check(line, make->lines->limits, NULL, &kind, make->error);
    if (status || kind == GL_LINE_EDITION)
        return status;
    if (kind == GL_LINE_SLIP) {
        status = gl_store_add(it->store, line, gl_log_editions(it->log) + 1, make->lines->limits, &slip,
                              &added, make->error);
        it->rescued_slips += !status && added;
    } else {
        added = gl_map_find(make->others, line) == GL_NONE;
        if (added && !gl_map_set(make->others, line, 0))
            status = gl_fail_memory(make->error);
    }
    if (status || !added)
        return status;
    add_line(&it->rescued, line);
    return it->rescued.failed || !vouch_for_named(make, line, kind) ? gl_fail_memory(make->error)
                                                                    : GLASSINE_OK;
}

/* What the kept lines name, and those among them that are no slips. */
static glassine_status learn_kept(log_maker *make) {
    gl_span rest = gl_buf_span(&make->it->kept), line;
    while (gl_lines_next(&rest, &line)) {
        gl_line_kind kind;
        glassine_status status = gl_line_check(line, make->lines->limits, NULL, &kind, make->error);
        if (status)
            return status;
        bool other = kind == GL_LINE_SIGNATURE || kind == GL_LINE_OTHER;
        if (!vouch_for_named(make, line, kind) || (other && !gl_map_set(make->others, line, 0)))
            return gl_fail_memory(make->error);
    }
    return GLASSINE_OK;
}

static bool is_kept(const log_maker *make, const gl_group *group) {
    int64_t number = group->view.edition;
    const gl_edition *kept =
        number <= gl_log_editions(make->it->log) ? gl_log_edition(make->it->log, (uint32_t)number) : NULL;
    return kept && gl_digest_equal(&kept->log, &group->log);
}

static glassine_status rescue_groups(log_maker *make) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < make->lines->group_count && !status; i++) {
        const gl_group *group = &make->lines->groups[i];
        gl_span rest = group->text, line;
        if (group->sound && group->view.edition >= make->it->editions) {
            make->it->editions = group->view.edition;
            make->it->slips = group->view.slips;
        }
        while (group->sound && !is_kept(make, group) && !status && gl_lines_next(&rest, &line))
            status = rescue(make, line);
    }
    return status;
}

/* ------------------------------------------------------------------------------------------------ loose
 * lines */

static bool is_vouched(const log_maker *make, gl_span line) {
    gl_digest digest = gl_hash_once(make->lines->hash, line.text, line.length);
    return gl_map_find(make->vouched, (gl_span){(const char *)digest.bytes, sizeof digest.bytes}) != GL_NONE;
}

static bool is_slip(const log_maker *make, gl_span line) {
    gl_line_kind kind;
    return gl_line_check(line, make->lines->limits, NULL, &kind, NULL) == GLASSINE_OK && kind == GL_LINE_SLIP;
}

/* Each line that is vouched for may name others, mostly earlier ones: so from the last to the first, and
 * again as long as there are more. */
static glassine_status rescue_loose(log_maker *make, bool *done, bool all) {
    const gl_lines *lines = make->lines;
    glassine_status status = GLASSINE_OK;
    for (bool more = true; more && !status;) {
        more = false;
        for (size_t i = lines->loose_count; i-- > 0 && !status;) {
            if (done[i] || !is_slip(make, lines->loose[i]) || !(all || is_vouched(make, lines->loose[i])))
                continue;
            done[i] = more = true;
            status = rescue(make, lines->loose[i]);
        }
    }
    return status;
}

static glassine_status set_doubtful_aside(log_maker *make, const bool *done) {
    gl_new_log *it = make->it;
    gl_map *seen = gl_map_new();
    bool failed = !seen;
    for (size_t i = 0; i < make->lines->loose_count && !failed; i++) {
        gl_span line = make->lines->loose[i];
        gl_digest digest = gl_hash_once(make->lines->hash, line.text, line.length);
        if (done[i] || gl_store_find(it->store, &digest) != GL_NONE ||
            gl_map_find(make->others, line) != GL_NONE || gl_map_find(seen, line) != GL_NONE)
            continue;
        add_line(&it->doubtful, line);
        it->doubtful_slips += is_slip(make, line);
        failed = it->doubtful.failed || !gl_map_set(seen, line, 0);
    }
    gl_map_free(seen);
    return failed ? gl_fail_memory(make->error) : GLASSINE_OK;
}

static glassine_status take_loose(log_maker *make, bool doubtful) {
    bool *done = calloc(make->lines->loose_count + 1, sizeof *done);
    if (!done)
        return gl_fail_memory(make->error);
    glassine_status status = rescue_loose(make, done, doubtful);
    if (!status)
        status = set_doubtful_aside(make, done);
    free(done);
    return status;
}

glassine_status gl_new_log_make(gl_new_log *it, const gl_lines *lines, bool doubtful, glassine_error *error) {
    *it = (gl_new_log){0};
    log_maker make = {it, lines, gl_map_new(), gl_map_new(), gl_arena_new(), error};
    glassine_status status =
        make.vouched && make.others && make.arena ? keep_editions(&make) : gl_fail_memory(error);
    if (!status)
        status = learn_kept(&make);
    if (!status)
        status = rescue_groups(&make);
    if (!status)
        status = take_loose(&make, doubtful);
    gl_map_free(make.vouched);
    gl_map_free(make.others);
    gl_arena_free(make.arena);
    return status;
}

void gl_new_log_free(gl_new_log *it) {
    gl_log_free(it->log);
    gl_store_free(it->store);
    gl_buf_free(&it->kept);
    gl_buf_free(&it->rescued);
    gl_buf_free(&it->doubtful);
    *it = (gl_new_log){0};
}
