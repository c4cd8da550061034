/* Writing a bundle anew, compactly: tidy, and an old edition as a file of its own. One segment, no leftovers;
 * the same lines, so the same editions, log and digest. */
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "container/name.h"
#include "container/parity.h"
#include "exchange/draft.h"
#include "exchange/place.h"

typedef struct rewrite {
    glassine_bundle *from; /* opened at the edition wanted */
    gl_writer *writer;
    gl_rewrite_extras extras;
    gl_manifest *payload, *tags; /* of the new file */
    uint64_t payload_bytes;
    int64_t at;
} rewrite;

/* What editions 1 … N brought. Of an edition before one that tells of a loss not all of it is there any more.
 */
static glassine_status list_payload(rewrite *it, glassine_error *error) {
    glassine_status status =
        gl_payload_of(it->from->log, it->from->edition, it->payload, it->from->file, error);
    size_t at = 0;
    gl_span name;
    gl_digest digest;
    while (!status && gl_manifest_next(it->payload, &at, &name, &digest)) {
        gl_digest there;
        if (gl_manifest_find(it->from->payload, name, &there) && gl_digest_equal(&there, &digest))
            continue;
        status =
            gl_fail(error, GLASSINE_REFUSED, "E041", it->from->path,
                    "%.*s of edition %u was lost in a damage since", GL_SPAN_ARGS(name), it->from->edition);
        gl_error_remedy(error,
                        "What it says can be read in place; only a later edition can be a file of its own");
    }
    return status;
}

/* Is it a tag file that stays as it is: one that this version does not know, or a page that no new one
 * replaces? */
static bool stays(const rewrite *it, gl_span inner) {
    uint32_t first, last;
    return !gl_bag_writes(inner) && !gl_name_is_segment(inner, &first, &last) &&
           !(it->extras.page.text && gl_span_is(inner, GL_BAG_PAGE)) && !gl_span_is(inner, GL_PARITY_NAME);
}

/* Payload of the edition, and tag files that stay. What is written anew is left out. */
static bool is_taken(const rewrite *it, const gl_entry *entry) {
    gl_span inner = gl_zip_inner(it->from->zip, entry);
    gl_digest digest;
    if (gl_span_starts(inner, GL_SPAN("data/")))
        return gl_manifest_find(it->payload, inner, &digest);
    return stays(it, inner) && gl_manifest_find(it->from->tags, inner, &digest);
}

/* An entry as it stands, after its content was found to be what its manifest says. */
static glassine_status copy_entry(rewrite *it, const gl_entry *entry, glassine_error *error) {
    gl_span inner = gl_zip_inner(it->from->zip, entry);
    gl_digest digest;
    glassine_status status = gl_writer_add_raw(it->writer, it->from->zip, entry, error);
    if (gl_span_starts(inner, GL_SPAN("data/")))
        it->payload_bytes += entry->size;
    else if (!status && gl_manifest_find(it->from->tags, inner, &digest) &&
             !gl_manifest_set(it->tags, inner, &digest))
        status = gl_fail_memory(error);
    return status;
}

/* All are checked first, on all processors, then copied. */
static glassine_status copy_list(rewrite *it, const gl_entry *const *list, size_t count,
                                 glassine_error *error) {
    gl_watch checked = {.by = it->from->watch, .doing = "checking"};
    gl_watch copied = {.by = it->from->watch, .doing = "copying"};
    for (size_t i = 0; i < count; i++)
        checked.total += list[i]->size;
    copied.total = checked.total;
    glassine_status status =
        gl_bag_check_many(it->from->zip, list, count, it->from->payload, it->from->tags, &checked, error);
    for (size_t i = 0; i < count && !status; i++) {
        status = copy_entry(it, list[i], error);
        gl_watch_add(&copied, list[i]->size);
        if (!status && !gl_watch_tell(&copied))
            status = gl_watch_fail(error);
    }
    return status;
}

static glassine_status copy_entries(rewrite *it, glassine_error *error) {
    const gl_entry **list = calloc(gl_zip_count(it->from->zip) + 1, sizeof *list);
    size_t count = 0;
    if (!list)
        return gl_fail_memory(error);
    for (size_t i = 0; i < gl_zip_count(it->from->zip); i++)
        if (is_taken(it, gl_zip_at(it->from->zip, i)))
            list[count++] = gl_zip_at(it->from->zip, i);
    glassine_status status = copy_list(it, list, count, error);
    free(list);
    return status;
}

static glassine_status write_tag(rewrite *it, gl_span name, gl_span content, glassine_error *error) {
    gl_digest digest;
    glassine_status status = gl_writer_add(it->writer, name, content, false, &digest, error);
    return status || gl_manifest_set(it->tags, name, &digest) ? status : gl_fail_memory(error);
}

static glassine_status write_log(rewrite *it, glassine_error *error) {
    const glassine_bundle *from = it->from;
    gl_buf text = GL_BUF_EMPTY;
    for (size_t i = 0; i < from->piece_count; i++)
        gl_buf_add(&text, gl_buf_span(&from->pieces[i]));
    gl_span log = gl_span_part(gl_buf_span(&text), 0, (size_t)gl_log_edition(from->log, from->edition)->end);
    gl_segment segment = {.first = 1, .last = from->edition, .pieces = 1};
    char name[GL_SEGMENT_NAME_SIZE];
    gl_segment_name(&segment, name);
    glassine_status status =
        text.failed ? gl_fail_memory(error) : write_tag(it, gl_span_of(name), log, error);
    gl_buf_free(&text);
    return status;
}

static glassine_status write_parity(rewrite *it, glassine_error *error) {
    gl_digest digest;
    glassine_status status = gl_writer_add_parity(it->writer, it->extras.parity, &digest, error);
    return status || gl_manifest_set(it->tags, GL_SPAN(GL_PARITY_NAME), &digest) ? status
                                                                                 : gl_fail_memory(error);
}

static glassine_status write_all(rewrite *it, glassine_error *error) {
    glassine_bundle *from = it->from;
    glassine_status status = list_payload(it, error);
    if (!status)
        status = copy_entries(it, error);
    if (!status && it->extras.page.text)
        status = write_tag(it, GL_SPAN(GL_BAG_PAGE), it->extras.page, error);
    if (!status)
        status = write_log(it, error);
    if (!status && it->extras.parity)
        status = write_parity(it, error);
    gl_bag_facts facts = {.uuid = gl_span_of(from->about.uuid),
                          .title = gl_span_of(from->about.title),
                          .tool = GL_SPAN("glassine " GLASSINE_VERSION_TEXT),
                          .at = it->at,
                          .payload_bytes = it->payload_bytes,
                          .payload_files = gl_manifest_count(it->payload)};
    if (!status)
        status = gl_bag_write(it->writer, NULL, &facts, it->payload, it->tags, error);
    uint64_t end;
    return status ? status : gl_writer_finish(it->writer, &end, error);
}

/* The edition that `from` was opened at, whole, into the empty file `fd`. */
static glassine_status rewrite_into(glassine_bundle *from, const gl_rewrite_extras *extras, int fd,
                                    const char *path, glassine_error *error) {
    rewrite it = {.from = from, .extras = *extras, .payload = gl_manifest_new(), .tags = gl_manifest_new()};
    glassine_status status = it.payload && it.tags ? GLASSINE_OK : gl_fail_memory(error);
    gl_time_parse(gl_edition_said(gl_log_edition(from->log, from->edition)).at, &it.at);
    if (!status)
        status = gl_writer_new(fd, path, NULL, gl_span_of(from->about.base), from->edition, it.at, &it.writer,
                               error);
    if (!status)
        status = write_all(&it, error);
    gl_writer_free(it.writer);
    gl_manifest_free(it.payload);
    gl_manifest_free(it.tags);
    return status;
}

glassine_status gl_rewrite(glassine_bundle *from, const char *out, bool replace, glassine_error *error) {
    static const gl_rewrite_extras none = {.parity = 0};
    return gl_rewrite_with(from, &none, out, replace, error);
}

glassine_status gl_rewrite_with(glassine_bundle *from, const gl_rewrite_extras *extras, const char *out,
                                bool replace, glassine_error *error) {
    gl_buf temporary = GL_BUF_EMPTY;
    int fd = -1, code = gl_file_part_new(out, GL_PART_SHARED, &temporary, &fd);
    if (code) {
        gl_buf_free(&temporary);
        return gl_fail_making(error, code, out, "cannot be written");
    }
    code = replace ? gl_file_take_mode(from->fd, fd) : 0;
    glassine_status status = code ? gl_fail_system(error, code, out, "cannot be given the same permissions")
                                  : rewrite_into(from, extras, fd, out, error);
    if (!status)
        status = gl_put_in_place(temporary.text, out, replace, error);
    if (status)
        gl_file_remove(temporary.text);
    gl_file_close(fd);
    gl_buf_free(&temporary);
    return status;
}

static glassine_status report_sizes(glassine_bundle *from, const char *out, uint64_t before,
                                    glassine_report *report, glassine_error *error) {
    uint64_t after = 0;
    int fd, code = gl_file_open_read(out, &fd);
    if (!code) {
        code = gl_file_size(fd, &after);
        gl_file_close(fd);
    }
    if (code)
        return gl_fail_system(error, code, out, "its size cannot be told");
    char digest[GL_HEX_SIZE];
    glassine_bundle_digest(from, digest);
    glassine_node *result = glassine_report_result(report);
    glassine_report_about(report, from->file, from->edition);
    glassine_node_string(result, "written", "written", out);
    glassine_node_integer(result, "edition", "edition", from->edition);
    glassine_node_integer(result, "bytes_before", "bytes before", (int64_t)before);
    glassine_node_integer(result, "bytes", "bytes", (int64_t)after);
    glassine_node_string(result, "digest", "digest", digest);
    return GLASSINE_OK;
}

/* The page stays as it was made: some of its pictures may lie nowhere else. */
static void report_page(glassine_bundle *from, const char *out, glassine_report *report) {
    if (from->edition > 1 && gl_zip_find(from->zip, GL_SPAN(GL_BAG_PAGE)))
        glassine_report_finding(report, GLASSINE_NOTE, NULL, out, "`glassine to-html` writes one of now",
                                "the page in it, " GL_BAG_PAGE
                                ", shows what was there when it was made, and nothing that was said since");
}

static glassine_status rewrite_file(const char *path, const char *out, unsigned parity,
                                    const glassine_options *options, glassine_report *report,
                                    glassine_error *error) {
    glassine_bundle *from;
    glassine_status status =
        glassine_bundle_open(path, out ? GLASSINE_READ : GLASSINE_WRITE, options, &from, error);
    if (status)
        return status;
    uint64_t before = 0;
    int code = from->fd < 0 ? 0 : gl_file_size(from->fd, &before);
    if (code)
        status = gl_fail_system(error, code, path, "its size cannot be told");
    if (!status && !out && glassine_bundle_tail(from)) {
        status =
            gl_fail(error, GLASSINE_REFUSED, NULL, path,
                    glassine_bundle_tail(from) == 1 ? "%llu byte behind the last edition belongs to none"
                                                    : "%llu bytes behind the last edition belong to none",
                    (unsigned long long)glassine_bundle_tail(from));
        gl_error_remedy(error,
                        "Write the tidied bundle to another file with -o, and look at `glassine recover`");
    }
    if (!status)
        status = gl_rewrite_with(from, &(gl_rewrite_extras){.parity = parity}, out ? out : from->file,
                                 out == NULL, error);
    if (!status && report) {
        status = report_sizes(from, out ? out : from->file, before, report, error);
        report_page(from, out ? out : from->file, report);
        status = gl_bundle_end_written(from, report, status, out ? out : from->file, GL_STAYS_WHOLE, error);
    }
    glassine_bundle_close(from);
    return status;
}

glassine_status glassine_tidy(const char *path, const char *out, const glassine_options *options,
                              glassine_report *report, glassine_error *error) {
    return rewrite_file(path, out, 0, options, report, error);
}

glassine_status glassine_tidy_with_parity(const char *path, const char *out, unsigned percent,
                                          const glassine_options *options, glassine_report *report,
                                          glassine_error *error) {
    if (percent < 1 || percent > 100)
        return gl_fail(error, GLASSINE_REFUSED, NULL, path, "parity is 1 to 100 parts in a hundred, not %u",
                       percent);
    return rewrite_file(path, out, percent, options, report, error);
}

glassine_status glassine_extract(const char *path, const char *out, const glassine_options *options,
                                 glassine_report *report, glassine_error *error) {
    if (!out)
        return gl_fail(error, GLASSINE_REFUSED, NULL, path, "a file to write is wanted");
    return rewrite_file(path, out, 0, options, report, error);
}
