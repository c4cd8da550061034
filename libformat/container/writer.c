#include "container/writing.h"

#include <inttypes.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "container/deflate.h"
#include "container/fault.h"
#include "container/footer.h"
#include "container/marker.h"
#include "container/name.h"
#include "container/opened.h"

static glassine_status check_start(const gl_writer *writer, glassine_error *error) {
    const gl_zip *zip = writer->zip;
    if (!gl_name_is_base(writer->base))
        return gl_fail(error, GLASSINE_REFUSED, "C061", writer->path, "\"%.*s\" cannot be a base folder",
                       GL_SPAN_ARGS(writer->base));
    if (writer->edition == 0 || writer->edition > GL_EDITION_MAX ||
        (zip && writer->edition != gl_zip_footer(zip)->edition + 1))
        return gl_fail(error, GLASSINE_REFUSED, "C027", writer->path,
                       "edition %" PRIu32 " cannot follow here", writer->edition);
    if (zip && gl_zip_tail_is_ours(zip)) {
        gl_fail(error, GLASSINE_REFUSED, "C013", writer->path,
                gl_zip_tail(zip) == 1
                    ? "behind edition %" PRIu32 " there is %" PRIu64 " byte of a later one that is damaged"
                    : "behind edition %" PRIu32 " there are %" PRIu64 " bytes of a later one that is damaged",
                gl_zip_footer(zip)->edition, gl_zip_tail(zip));
        gl_error_remedy(error, "First run: glassine recover, or get a sound copy of the file");
        return GLASSINE_REFUSED;
    }
    return GLASSINE_OK;
}

static bool fill_writer(gl_writer *writer, gl_span base) {
    writer->arena = gl_arena_new();
    writer->fresh_names = gl_map_new();
    writer->dropped = calloc(writer->zip ? gl_zip_count(writer->zip) : 1, sizeof *writer->dropped);
    if (!writer->path || !writer->arena || !writer->fresh_names || !writer->dropped)
        return false;
    writer->base = gl_arena_copy(writer->arena, writer->zip ? gl_zip_base(writer->zip) : base);
    return writer->base.text != NULL;
}

glassine_status gl_writer_new(int fd, const char *path, const gl_zip *zip, gl_span base, uint32_t edition,
                              int64_t at, gl_writer **writer, glassine_error *error) {
    *writer = calloc(1, sizeof **writer);
    if (!*writer)
        return gl_fail_memory(error);
    gl_writer *new = *writer;
    *new = (gl_writer){.fd = fd, .path = strdup(path), .zip = zip, .edition = edition};
    gl_time_dos(at, &new->date, &new->time);
    if (zip) {
        new->start = gl_zip_footer(zip)->end;
        new->tail = gl_zip_tail(zip);
    }
    new->at = new->start;
    glassine_status status = fill_writer(new, base) ? check_start(new, error) : gl_fail_memory(error);
    if (status) {
        gl_writer_free(new);
        *writer = NULL;
    }
    return status;
}

void gl_writer_free(gl_writer *writer) {
    if (!writer)
        return;
    if (writer->begun && !writer->finished)
        gl_writer_undo(writer);
    gl_arena_free(writer->arena);
    gl_map_free(writer->fresh_names);
    free(writer->dropped);
    free(writer->fresh);
    free(writer->tail_path);
    free(writer->path);
    free(writer);
}

gl_span gl_writer_inner(const gl_writer *writer, gl_span name) {
    return gl_span_part(name, writer->base.length + 1, name.length);
}

/* The entry of an earlier edition that the directory to be still has under this name. */
static const gl_entry *kept_entry(const gl_writer *writer, gl_span inner) {
    const gl_entry *entry = writer->zip ? gl_zip_find(writer->zip, inner) : NULL;
    return entry && !writer->dropped[entry - gl_zip_at(writer->zip, 0)] ? entry : NULL;
}

bool gl_writer_has(const gl_writer *writer, gl_span inner) {
    return gl_map_find(writer->fresh_names, inner) != GL_NONE || kept_entry(writer, inner);
}

void gl_writer_drop(gl_writer *writer, gl_span inner) {
    const gl_entry *entry = kept_entry(writer, inner);
    if (entry)
        writer->dropped[entry - gl_zip_at(writer->zip, 0)] = true;
}

glassine_status gl_writer_put(gl_writer *writer, const void *bytes, size_t length, uint64_t offset,
                              glassine_error *error) {
    int code = gl_file_write_at(writer->fd, bytes, length, offset);
    if (!code)
        return GLASSINE_OK;
    writer->broken = true;
    return gl_fault_writing(error, code, writer->path);
}

glassine_status gl_writer_forget(gl_writer *writer, glassine_status status) {
    if (gl_file_truncate(writer->fd, writer->at))
        writer->broken = true;
    return status;
}

static gl_span whole_name(gl_writer *writer, gl_span inner) {
    gl_buf name = GL_BUF_EMPTY;
    gl_buf_add(&name, writer->base);
    gl_buf_add_char(&name, '/');
    gl_buf_add(&name, inner);
    gl_span copy = name.failed ? GL_NO_SPAN : gl_arena_copy(writer->arena, gl_buf_span(&name));
    gl_buf_free(&name);
    return copy;
}

glassine_status gl_writer_entry(gl_writer *writer, gl_span inner, gl_entry *entry, glassine_error *error) {
    if (writer->broken || writer->finished)
        return gl_fail(error, GLASSINE_REFUSED, NULL, writer->path, "this save is over, or failed before");
    gl_span name = whole_name(writer, inner);
    if (!name.text)
        return gl_fail_memory(error);
    gl_name_fault fault;
    if (!gl_name_check(name, &fault))
        return gl_fault_in(error, fault.rule, writer->path, name, "%s", fault.what);
    if (gl_map_find(writer->fresh_names, inner) != GL_NONE)
        return gl_fault_in(error, "C064", writer->path, name, "this edition has written it already");
    *entry = (gl_entry){.name = name, .header_at = writer->at, .date = writer->date, .time = writer->time};
    return gl_writer_begin(writer, error);
}

static glassine_status remember(gl_writer *writer, const gl_entry *entry, glassine_error *error) {
    gl_entry *fresh =
        gl_grow(writer->fresh, &writer->fresh_room, writer->fresh_count + 1, sizeof *writer->fresh);
    if (!fresh)
        return gl_fail_memory(error);
    writer->fresh = fresh;
    gl_span inner = gl_writer_inner(writer, entry->name);
    if (!gl_map_set(writer->fresh_names, inner, (uint32_t)writer->fresh_count))
        return gl_fail_memory(error);
    writer->fresh[writer->fresh_count++] = *entry;
    gl_writer_drop(writer, inner);
    writer->at = entry->data_at + entry->packed;
    return GLASSINE_OK;
}

glassine_status gl_writer_seal(gl_writer *writer, const gl_entry *entry, glassine_error *error) {
    uint8_t header[GL_LOCAL_MAX];
    size_t length = gl_layout_local(entry, header);
    glassine_status status = gl_writer_put(writer, header, length, entry->header_at, error);
    if (!status && (status = remember(writer, entry, error)) != GLASSINE_OK)
        writer->broken = true;
    return status;
}

static bool holds_mark(gl_span bytes) {
    gl_marker marker = {.found = false};
    gl_marker_pass(&marker, (const uint8_t *)bytes.text, bytes.length);
    return marker.found;
}

/* The raw bytes of the entry: `content` itself or its deflated form in `packed`, as `store` asks for, unless
 * an end record of ours would be in them. */
static glassine_status pack(const gl_writer *writer, gl_entry *entry, gl_span content, bool store,
                            gl_buf *packed, gl_span *raw, glassine_error *error) {
    bool mark = holds_mark(content);
    if (store && !mark) {
        *raw = content;
        return GLASSINE_OK;
    }
    bool lines = gl_span_starts(gl_writer_inner(writer, entry->name), GL_SPAN("slips/"));
    if (!gl_deflate(content, lines, packed))
        return gl_fail_memory(error);
    entry->method = 8;
    *raw = gl_buf_span(packed);
    if (!holds_mark(*raw))
        return GLASSINE_OK;
    entry->method = 0;
    *raw = content;
    return mark ? gl_fault_in(error, "C072", writer->path, entry->name,
                              "it holds what looks like an end record of a bundle, and cannot be written")
                : GLASSINE_OK;
}

static glassine_status write_packed(gl_writer *writer, gl_entry *entry, gl_span content, bool store,
                                    gl_buf *packed, glassine_error *error) {
    gl_span raw = GL_NO_SPAN;
    glassine_status status = pack(writer, entry, content, store, packed, &raw, error);
    if (status)
        return status;
    entry->size = content.length;
    entry->packed = raw.length;
    entry->crc = gl_crc32(0, content.text, content.length);
    entry->data_at = entry->header_at + gl_layout_local_size(entry);
    status = gl_writer_put(writer, raw.text, raw.length, entry->data_at, error);
    return status ? status : gl_writer_seal(writer, entry, error);
}

static glassine_status hash_of(gl_span content, gl_digest *digest, glassine_error *error) {
    gl_hash *hash = gl_hash_new();
    if (!hash)
        return gl_fail_memory(error);
    *digest = gl_hash_once(hash, content.text, content.length);
    gl_hash_free(hash);
    return GLASSINE_OK;
}

glassine_status gl_writer_add(gl_writer *writer, gl_span inner, gl_span content, bool store,
                              gl_digest *digest, glassine_error *error) {
    gl_entry entry;
    glassine_status status = digest ? hash_of(content, digest, error) : GLASSINE_OK;
    if (!status)
        status = gl_writer_entry(writer, inner, &entry, error);
    if (status)
        return status;
    gl_buf packed = GL_BUF_EMPTY;
    status = write_packed(writer, &entry, content, store, &packed, error);
    gl_buf_free(&packed);
    return status;
}

glassine_status gl_writer_take_raw(gl_writer *writer, const gl_file *from, const gl_entry *entry,
                                   gl_span inner, glassine_error *error) {
    gl_entry copy;
    glassine_status status = gl_writer_entry(writer, inner, &copy, error);
    if (status)
        return status;
    copy.method = entry->method;
    copy.packed = entry->packed;
    copy.size = entry->size;
    copy.crc = entry->crc;
    copy.data_at = copy.header_at + gl_layout_local_size(&copy);
    int code = gl_file_copy_range(from->fd, entry->data_at, writer->fd, copy.data_at, copy.packed);
    if (code) {
        writer->broken = true;
        return gl_fail_system(error, code, writer->path, "an entry of %s cannot be copied", from->path);
    }
    return gl_writer_seal(writer, &copy, error);
}

glassine_status gl_writer_add_raw(gl_writer *writer, const gl_zip *from, const gl_entry *entry,
                                  glassine_error *error) {
    glassine_status status = gl_local_check(&from->file, entry, error);
    return status ? status : gl_writer_take_raw(writer, &from->file, entry, gl_zip_inner(from, entry), error);
}
