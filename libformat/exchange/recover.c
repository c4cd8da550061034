/* Recovering: what is whole in damaged files becomes a new bundle; what is lost is said; the old files stay
 * as they are. */
#include "exchange/recover.h"

#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/name.h"

/* --------------------------------------------------------------------------------------------- the lines */

typedef struct segment_piece {
    const gl_piece *piece;
    uint32_t first, last;
} segment_piece;

/* The longest first among those that begin alike. */
static int by_span(const void *a, const void *b) {
    const segment_piece *x = a, *y = b;
    if (x->first != y->first)
        return x->first < y->first ? -1 : 1;
    return (x->last < y->last) - (x->last > y->last);
}

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf *out = context;
    gl_buf_add_bytes(out, bytes, length);
    return 0;
}

static glassine_status take_segment(gl_recovery *it, const gl_salvage *salvage, const gl_piece *piece,
                                    uint64_t *left, glassine_error *error) {
    gl_buf text = GL_BUF_EMPTY;
    if (piece->entry.size > it->limits.segment_bytes || piece->entry.size > *left)
        return gl_fail(error, GLASSINE_REFUSED, "L005", gl_salvage_path(salvage),
                       "its log is longer than %llu bytes", (unsigned long long)it->limits.log_bytes);
    *left -= piece->entry.size;
    glassine_status status = gl_salvage_stream(salvage, piece, gather, &text, error);
    if (!status && text.failed)
        status = gl_fail_memory(error);
    if (status) {
        gl_buf_free(&text);
        return status;
    }
    return gl_lines_take(&it->lines, &text, true) ? GLASSINE_OK : gl_fail_memory(error);
}

/* A file that grew holds most lines several times; a segment within one that was read adds nothing. */
static glassine_status take_segments(gl_recovery *it, const gl_salvage *salvage, segment_piece *list,
                                     size_t count, glassine_error *error) {
    uint64_t left = 2 * it->limits.log_bytes;
    int64_t from = 1, to = 0; /* editions of the one that was read last */
    glassine_status status = GLASSINE_OK;
    if (count)
        qsort(list, count, sizeof *list, by_span);
    for (size_t i = 0; i < count && !status; i++) {
        size_t before = it->lines.group_count;
        if (list[i].first >= from && list[i].last <= to)
            continue;
        status = take_segment(it, salvage, list[i].piece, &left, error);
        /* What it holds counts, not what it is called: no checksum covers a name. */
        if (it->lines.group_count > before) {
            from = it->lines.groups[before].view.edition;
            to = it->lines.groups[it->lines.group_count - 1].view.edition;
        }
    }
    return status;
}

static void speak_of(gl_recovery *it, uint32_t edition) {
    if (edition > it->greatest)
        it->greatest = edition;
}

static bool take_fragment(void *context, gl_buf *text) {
    gl_recovery *it = context;
    return gl_lines_take(&it->lines, text, false);
}

static glassine_status take_lines(gl_recovery *it, const gl_salvage *salvage, glassine_error *error) {
    size_t count = 0;
    segment_piece *list = calloc(gl_salvage_count(salvage) + 1, sizeof *list);
    if (!list)
        return gl_fail_memory(error);
    for (size_t i = 0; i < gl_salvage_count(salvage); i++) {
        segment_piece one = {.piece = gl_salvage_at(salvage, i)};
        if (!gl_name_is_segment(one.piece->inner, &one.first, &one.last))
            continue;
        if (one.piece->whole)
            list[count++] = one;
        else
            speak_of(it, one.last);
    }
    glassine_status status = take_segments(it, salvage, list, count, error);
    free(list);
    return status ? status : gl_salvage_fragments(salvage, take_fragment, it, error);
}

/* ------------------------------------------------------------------------------------------- the sources */

/* Where parity rebuilds something, a copy takes the file's place. */
static glassine_status mend_source(const gl_recovery *it, gl_source *source, const char *path,
                                   glassine_error *error) {
    gl_file file = {.fd = source->fd, .path = path, .limits = it->limits, .forgiving = true};
    source->mending.fd = -1;
    int code = gl_file_size(source->fd, &file.size);
    if (code)
        return gl_fail_system(error, code, path, "cannot be read");
    glassine_status status = gl_parity_mend(&file, &source->mending, error);
    if (status || source->mending.fd < 0)
        return status;
    gl_file_close(source->fd);
    source->fd = source->mending.fd;
    return GLASSINE_OK;
}

static glassine_status open_source(gl_recovery *it, const char *path, gl_span base, glassine_error *error) {
    gl_source *source = &it->sources[it->source_count];
    int code = gl_file_open_read(path, &source->fd);
    if (code)
        return gl_fail_system(error, code, path, "cannot be opened");
    it->source_count++;
    glassine_status status = mend_source(it, source, path, error);
    if (!status)
        status = gl_salvage_open(source->fd, path, base, &it->limits, &source->salvage, error);
    if (status)
        return status;
    speak_of(it, gl_salvage_edition(source->salvage));
    return take_lines(it, source->salvage, error);
}

static glassine_status open_sources(gl_recovery *it, const char *const *paths, size_t count, const char *base,
                                    glassine_error *error) {
    gl_span wanted = base ? gl_span_of(base) : GL_NO_SPAN;
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i++) {
        status = open_source(it, paths[i], wanted, error);
        if (!status && !wanted.text)
            wanted = gl_salvage_base(it->sources[0].salvage);
    }
    return status;
}

/* ---------------------------------------------------------------------------------------------- in order */

static glassine_status make_sense(gl_recovery *it, const glassine_recover_options *options,
                                  glassine_error *error) {
    if (!gl_lines_judge(&it->lines))
        return gl_fail_memory(error);
    glassine_status status = gl_new_log_make(&it->log, &it->lines, options && options->doubtful, error);
    if (!status)
        status = gl_recovery_files(it, error);
    if (!status && !gl_store_count(it->log.store) && !it->file_count)
        status = gl_fail(error, GLASSINE_REFUSED, "C011", gl_salvage_path(it->sources[0].salvage),
                         "nothing of a bundle is whole in it");
    return status ? status : gl_recovery_about(it, error);
}

static glassine_status refuse_existing(const char *out, glassine_error *error) {
    gl_buf beside = GL_BUF_EMPTY;
    struct stat about;
    gl_buf_printf(&beside, "%s.damaged", out);
    glassine_status status = beside.failed ? gl_fail_memory(error) : GLASSINE_OK;
    const char *const paths[] = {out, beside.text};
    for (size_t i = 0; i < 2 && !status; i++)
        if (stat(paths[i], &about) == 0) {
            status = gl_fail(error, GLASSINE_REFUSED, NULL, paths[i], "it is there already");
            gl_error_remedy(error, "Choose another name, or move it away");
        }
    gl_buf_free(&beside);
    return status;
}

static void close_all(gl_recovery *it) {
    gl_new_log_free(&it->log);
    gl_lines_free(&it->lines);
    for (size_t i = 0; i < it->source_count; i++) {
        gl_salvage_close(it->sources[i].salvage);
        gl_file_close(it->sources[i].fd);
    }
    free(it->sources);
    free(it->files);
    gl_buf_free(&it->about_text);
    gl_manifest_free(it->kept);
    gl_manifest_free(it->payload);
    gl_manifest_free(it->lost);
    gl_manifest_free(it->gone);
    gl_arena_free(it->arena);
}

static bool begin(gl_recovery *it, size_t count, const glassine_recover_options *options) {
    *it = (gl_recovery){.sources = calloc(count, sizeof *it->sources),
                        .arena = gl_arena_new(),
                        .limits = gl_limits_filled(options ? options->limits : NULL),
                        .kept = gl_manifest_new(),
                        .payload = gl_manifest_new(),
                        .lost = gl_manifest_new(),
                        .gone = gl_manifest_new()};
    return it->sources && it->arena && it->kept && it->payload && it->lost && it->gone &&
           gl_lines_begin(&it->lines, &it->limits);
}

glassine_status glassine_recover(const char *const *paths, size_t count, const char *out,
                                 const glassine_recover_options *options, glassine_report *report,
                                 glassine_error *error) {
    if (!count || !out)
        return gl_fail(error, GLASSINE_REFUSED, NULL, NULL, "a damaged file and a file to write are wanted");
    glassine_status status = refuse_existing(out, error);
    if (status)
        return status;
    gl_recovery it;
    size_t beside = 0;
    status = begin(&it, count, options) ? GLASSINE_OK : gl_fail_memory(error);
    if (!status)
        status = open_sources(&it, paths, count, options ? options->base : NULL, error);
    if (!status)
        status = make_sense(&it, options, error);
    if (!status)
        status = gl_recovery_write(&it, out, error);
    if (!status)
        status = gl_recovery_aside(&it, out, &beside, error);
    if (!status && report)
        status = gl_bundle_end_written(NULL, report, gl_recovery_report(&it, out, beside, report, error), out,
                                       GL_STAYS_WHOLE, error);
    close_all(&it);
    return status;
}
