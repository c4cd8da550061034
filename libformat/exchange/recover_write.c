/* The recovered bundle as a file: one edition that follows 0, as `tidy` leaves it; and beside it what is not
 * whole. */
#include <errno.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "exchange/place.h"
#include "exchange/recover.h"

typedef struct new_file {
    gl_recovery *it;
    gl_writer *writer;
    gl_manifest *tags;
    int64_t at;
    uint32_t edition;
    bool adds; /* an edition that tells of the recovery */
    glassine_error *error;
} new_file;

/* ----------------------------------------------------------------------------------- the edition it adds */

static int by_bytes(const void *a, const void *b) {
    return gl_span_compare(*(const gl_span *)a, *(const gl_span *)b);
}

/* Lines of `list` that are not in `without`, as a canonical array; *count of them. */
static bool add_array(const gl_manifest *list, const gl_manifest *without, gl_buf *out, size_t *count) {
    size_t at = 0, all = gl_manifest_count(list);
    gl_span name;
    gl_digest digest, same;
    gl_span *lines = calloc(all + 1, sizeof *lines);
    gl_arena *arena = gl_arena_new();
    bool failed = !lines || !arena;
    *count = 0;
    while (!failed && gl_manifest_next(list, &at, &name, &digest)) {
        if (without && gl_manifest_find(without, name, &same) && gl_digest_equal(&same, &digest))
            continue;
        char hex[GL_HEX_SIZE];
        gl_buf line = GL_BUF_EMPTY;
        gl_digest_hex(&digest, hex);
        gl_buf_printf(&line, "%s  %.*s", hex, GL_SPAN_ARGS(name));
        lines[*count] = line.failed ? GL_NO_SPAN : gl_arena_copy(arena, gl_buf_span(&line));
        failed = !lines[(*count)++].text;
        gl_buf_free(&line);
    }
    if (!failed && *count)
        qsort(lines, *count, sizeof *lines, by_bytes);
    gl_buf_add_char(out, '[');
    for (size_t i = 0; i < *count && !failed; i++) {
        if (i)
            gl_buf_add_char(out, ',');
        gl_json_add_string(out, lines[i]);
    }
    gl_buf_add_char(out, ']');
    gl_arena_free(arena);
    free(lines);
    return !failed && !out->failed;
}

/* The log of the new bundle: what is kept, and where it takes one, the edition that tells of the rest. */
static glassine_status make_log(new_file *file, gl_buf *text) {
    gl_recovery *it = file->it;
    gl_buf brings = GL_BUF_EMPTY, lost = GL_BUF_EMPTY;
    size_t brought = 0, missing = 0;
    glassine_status status = GLASSINE_OK;
    if (!add_array(it->payload, it->kept, &brings, &brought) || !add_array(it->lost, NULL, &lost, &missing))
        status = gl_fail_memory(file->error);
    file->edition = gl_log_editions(it->log.log);
    file->adds = file->edition == 0 || brought || missing || it->log.rescued.length;
    gl_buf_add(text, gl_buf_span(&it->log.kept));
    if (!status && file->adds) {
        char at[GL_TIME_SIZE];
        file->edition++;
        file->at = gl_clock_now();
        gl_time_print(file->at, at);
        gl_edition_parts parts = {.edition = file->edition,
                                  .at = gl_span_of(at),
                                  .by = gl_span_of(it->about.keeper),
                                  .note = GL_SPAN("recovered"),
                                  .tool = GL_SPAN("glassine " GLASSINE_VERSION_TEXT),
                                  .slips = gl_store_count(it->log.store),
                                  .brings = gl_buf_span(&brings),
                                  .lost = missing ? gl_buf_span(&lost) : GL_NO_SPAN};
        gl_span lines = gl_buf_span(&it->log.rescued);
        gl_buf_add(text, lines);
        status = gl_log_close(it->log.log, lines, &parts, text, file->error);
    } else if (!status) {
        gl_time_parse(gl_edition_said(gl_log_edition(it->log.log, file->edition)).at, &file->at);
    }
    gl_buf_free(&brings);
    gl_buf_free(&lost);
    return !status && text->failed ? gl_fail_memory(file->error) : status;
}

/* ------------------------------------------------------------------------------------------------ the
 * entries */

static glassine_status write_files(new_file *file) {
    gl_recovery *it = file->it;
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < it->file_count && !status; i++) {
        const gl_found_file *found = &it->files[i];
        const gl_salvage *salvage = it->sources[found->source].salvage;
        status = gl_salvage_copy(salvage, gl_salvage_at(salvage, found->piece), found->inner, file->writer,
                                 file->error);
        if (!status && !found->payload && !gl_manifest_set(file->tags, found->inner, &found->digest))
            status = gl_fail_memory(file->error);
    }
    return status;
}

static glassine_status write_segment(new_file *file, gl_span text) {
    gl_segment segment = {.first = 1, .last = file->edition, .pieces = 1};
    char name[GL_SEGMENT_NAME_SIZE];
    gl_digest digest;
    gl_segment_name(&segment, name);
    glassine_status status = gl_writer_add(file->writer, gl_span_of(name), text, false, &digest, file->error);
    if (!status && !gl_manifest_set(file->tags, gl_span_of(name), &digest))
        status = gl_fail_memory(file->error);
    return status;
}

static glassine_status write_bag(new_file *file) {
    gl_recovery *it = file->it;
    gl_bag_facts facts = {.uuid = gl_span_of(it->about.uuid),
                          .title = gl_span_of(it->about.title),
                          .tool = GL_SPAN("glassine " GLASSINE_VERSION_TEXT),
                          .at = file->at,
                          .payload_bytes = it->about_text.length,
                          .payload_files = gl_manifest_count(it->payload)};
    for (size_t i = 0; i < it->file_count; i++)
        facts.payload_bytes += it->files[i].payload ? it->files[i].size : 0;
    return gl_bag_write(file->writer, NULL, &facts, it->payload, file->tags, file->error);
}

static glassine_status write_entries(new_file *file, gl_span log) {
    uint64_t end;
    glassine_status status = gl_writer_add(file->writer, GL_SPAN(GL_BAG_ABOUT),
                                           gl_buf_span(&file->it->about_text), false, NULL, file->error);
    if (!status)
        status = write_files(file);
    if (!status)
        status = write_segment(file, log);
    if (!status)
        status = write_bag(file);
    return status ? status : gl_writer_finish(file->writer, &end, file->error);
}

static glassine_status write_into(gl_recovery *it, int fd, const char *path, glassine_error *error) {
    new_file file = {.it = it, .tags = gl_manifest_new(), .error = error};
    gl_buf log = GL_BUF_EMPTY;
    glassine_status status = file.tags ? make_log(&file, &log) : gl_fail_memory(error);
    if (!status)
        status = gl_writer_new(fd, path, NULL, gl_span_of(it->about.base), file.edition, file.at,
                               &file.writer, error);
    if (!status)
        status = write_entries(&file, gl_buf_span(&log));
    gl_writer_free(file.writer);
    gl_buf_free(&log);
    gl_manifest_free(file.tags);
    it->edition = file.edition;
    it->adds = file.adds;
    return status;
}

/* Nothing is given out as recovered that cannot be opened. */
static glassine_status check_written(const char *path, const glassine_limits *limits, glassine_error *error) {
    glassine_bundle *bundle;
    glassine_options options = {.limits = limits};
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, &options, &bundle, error);
    if (!status)
        glassine_bundle_close(bundle);
    return status;
}

glassine_status gl_recovery_write(gl_recovery *it, const char *out, glassine_error *error) {
    gl_buf temporary = GL_BUF_EMPTY;
    int fd = -1, code = gl_file_part_new(out, GL_PART_SHARED, &temporary, &fd);
    if (code) {
        gl_buf_free(&temporary);
        return gl_fail_making(error, code, out, "cannot be written");
    }
    glassine_status status = write_into(it, fd, out, error);
    if (!status)
        status = check_written(temporary.text, &it->limits, error);
    if (!status)
        status = gl_put_in_place(temporary.text, out, false, error);
    if (status)
        gl_file_remove(temporary.text);
    gl_file_close(fd);
    gl_buf_free(&temporary);
    return status;
}

/* --------------------------------------------------------------------------------------- what is kept beside
 * it */

typedef struct aside {
    gl_recovery *it;
    const char *out;
    bool made; /* the folder */
    size_t count;
    glassine_error *error;
} aside;

static glassine_status path_aside(aside *beside, gl_span name, gl_buf *path) {
    gl_buf_printf(path, "%s.damaged", beside->out);
    int code = path->failed ? ENOMEM : beside->made ? 0 : gl_file_make_folder(path->text);
    if (code)
        return gl_fail_making(beside->error, code, path->text,
                              "the folder for what is damaged cannot be made");
    beside->made = true;
    gl_buf_add_char(path, '/');
    for (size_t i = 0; i < name.length; i++) /* a damaged name may have become a path */
        gl_buf_add_char(path, name.text[i] == '/' ? '_' : name.text[i]);
    return path->failed ? gl_fail_memory(beside->error) : GLASSINE_OK;
}

static glassine_status put_lines_aside(aside *beside) {
    gl_buf path = GL_BUF_EMPTY;
    const gl_buf *lines = &beside->it->log.doubtful;
    if (!lines->length)
        return GLASSINE_OK;
    glassine_status status = path_aside(beside, GL_SPAN("lines.jsonl"), &path);
    int code = status ? 0 : gl_file_write_all(path.text, gl_buf_span(lines), true);
    if (code)
        status = gl_fail_making(beside->error, code, path.text, "cannot be written");
    gl_buf_free(&path);
    beside->count += !status;
    return status;
}

typedef struct pouring {
    int fd;
    uint64_t at;
    int code;
} pouring;

static int pour(void *context, const char *bytes, size_t length) {
    pouring *to = context;
    to->code = gl_file_write_at(to->fd, bytes, length, to->at);
    to->at += length;
    return to->code;
}

/* As much of a file as comes out. That it is not whole is known; only a failing disk is an error. */
static glassine_status pour_file(aside *beside, const gl_salvage *salvage, const gl_piece *piece,
                                 const char *path) {
    pouring to = {.fd = -1};
    int code = gl_file_open_write(path, true, &to.fd);
    if (code == EEXIST)
        return GLASSINE_OK; /* another piece of the same file */
    if (!code) {
        gl_salvage_stream(salvage, piece, pour, &to, NULL);
        code = to.code ? to.code : gl_file_sync(to.fd);
        gl_file_close(to.fd);
    }
    beside->count += !code;
    return code ? gl_fail_making(beside->error, code, path, "cannot be written") : GLASSINE_OK;
}

static glassine_status put_aside(aside *beside, const gl_salvage *salvage, const gl_piece *piece,
                                 gl_span name) {
    gl_buf path = GL_BUF_EMPTY;
    glassine_status status = path_aside(beside, name, &path);
    if (!status)
        status = pour_file(beside, salvage, piece, path.text);
    gl_buf_free(&path);
    return status;
}

static glassine_status put_scans_aside(aside *beside, const gl_salvage *salvage) {
    gl_recovery *it = beside->it;
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < gl_salvage_count(salvage) && !status; i++) {
        const gl_piece *piece = gl_salvage_at(salvage, i);
        if (piece->whole || !gl_span_starts(piece->inner, GL_SPAN("data/scans/")) ||
            gl_manifest_find(it->payload, piece->inner, NULL))
            continue;
        status = put_aside(beside, salvage, piece,
                           gl_span_part(piece->inner, sizeof "data/scans/" - 1, piece->inner.length));
    }
    return status;
}

/* Whole files whose names could not stand beside the others'. */
static glassine_status put_files_aside(aside *beside) {
    gl_recovery *it = beside->it;
    glassine_status status = GLASSINE_OK;
    for (size_t i = it->file_count; i < it->file_count + it->apart_count && !status; i++) {
        const gl_found_file *file = &it->files[i];
        const gl_salvage *salvage = it->sources[file->source].salvage;
        status = put_aside(beside, salvage, gl_salvage_at(salvage, file->piece), file->inner);
    }
    return status;
}

glassine_status gl_recovery_aside(gl_recovery *it, const char *out, size_t *count, glassine_error *error) {
    aside beside = {.it = it, .out = out, .error = error};
    glassine_status status = put_lines_aside(&beside);
    for (size_t i = 0; i < it->source_count && !status; i++)
        status = put_scans_aside(&beside, it->sources[i].salvage);
    if (!status)
        status = put_files_aside(&beside);
    *count = beside.count;
    return status;
}
