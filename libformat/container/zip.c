#include "container/zip.h"

#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/opened.h"
#include "container/writing.h"

static void fill_limit(uint64_t *limit, uint64_t usual) {
    if (*limit == 0)
        *limit = usual;
}

glassine_limits gl_limits_filled(const glassine_limits *limits) {
    glassine_limits usual = glassine_limits_default();
    glassine_limits all = limits ? *limits : usual;
    fill_limit(&all.entries, usual.entries);
    fill_limit(&all.directory_bytes, usual.directory_bytes);
    fill_limit(&all.small_file_bytes, usual.small_file_bytes);
    fill_limit(&all.segment_bytes, usual.segment_bytes);
    fill_limit(&all.log_bytes, usual.log_bytes);
    fill_limit(&all.ratio, usual.ratio);
    fill_limit(&all.line_bytes, usual.line_bytes);
    fill_limit(&all.slips, usual.slips);
    fill_limit(&all.after, usual.after);
    fill_limit(&all.fields, usual.fields);
    fill_limit(&all.editions, usual.editions);
    fill_limit(&all.record_fields, usual.record_fields);
    return all;
}

/* The magic: a local header at the very beginning whose name begins with "glassine-". */
static glassine_status check_magic(const gl_file *file, glassine_error *error) {
    uint8_t head[GL_LOCAL_SIZE + sizeof "glassine-" - 1] = {0};
    size_t length = file->size < sizeof head ? (size_t)file->size : sizeof head;
    int code = gl_file_read_at(file->fd, head, length, 0);
    if (code)
        return gl_fault_reading(error, code, file->path);
    if (gl_get32(head) == GL_LOCAL_SIGN && memcmp(head + GL_LOCAL_SIZE, "glassine-", 9) == 0)
        return GLASSINE_OK;
    gl_fail(error, GLASSINE_REFUSED, "C010", file->path, "this is not a bundle");
    gl_error_remedy(error, "An archive that another program made of one is read by: glassine intake");
    return GLASSINE_REFUSED;
}

/* The first entry of the file may have been replaced since; it lies in the same base folder all the same. */
static glassine_status check_first_base(const gl_zip *zip, glassine_error *error) {
    char name[GL_BASE_MAX + 1];
    gl_span base = zip->found.directory.base;
    int code = gl_file_read_at(zip->file.fd, name, base.length + 1, GL_LOCAL_SIZE);
    if (code)
        return gl_fault_reading(error, code, zip->path);
    if (memcmp(name, base.text, base.length) != 0 || name[base.length] != '/')
        return gl_fault_at(error, "C061", zip->path, 0,
                           "the first entry does not lie in the base folder %.*s", GL_SPAN_ARGS(base));
    return GLASSINE_OK;
}

/* Names of the entries from number `from` on. */
static glassine_status index_names(gl_zip *zip, size_t from, glassine_error *error) {
    for (size_t i = from; i < zip->found.directory.count; i++)
        if (!gl_map_set(zip->names, gl_zip_inner(zip, &zip->found.directory.entries[i]), (uint32_t)i))
            return gl_fail_memory(error);
    return GLASSINE_OK;
}

static glassine_status open_file(gl_zip *zip, glassine_error *error) {
    int code = gl_file_size(zip->file.fd, &zip->file.size);
    if (code)
        return gl_fault_reading(error, code, zip->path);
    glassine_status status = check_magic(&zip->file, error);
    if (!status)
        status = gl_footer_search(&zip->file, &zip->found, error);
    if (!status)
        status = check_first_base(zip, error);
    return status ? status : index_names(zip, 0, error);
}

static gl_zip *new_zip(int fd, const char *path, const glassine_limits *limits) {
    gl_zip *zip = calloc(1, sizeof *zip);
    if (!zip)
        return NULL;
    zip->path = strdup(path);
    zip->names = gl_map_new();
    zip->file = (gl_file){.fd = fd, .path = zip->path, .limits = gl_limits_filled(limits)};
    if (zip->path && zip->names)
        return zip;
    gl_zip_close(zip);
    return NULL;
}

glassine_status gl_zip_open(int fd, const char *path, const glassine_limits *limits, gl_zip **zip,
                            glassine_error *error) {
    *zip = new_zip(fd, path, limits);
    if (!*zip)
        return gl_fail_memory(error);
    glassine_status status = open_file(*zip, error);
    if (status) {
        gl_zip_close(*zip);
        *zip = NULL;
    }
    return status;
}

/* The kept entries, then the fresh ones; *first is the first one that has another place than before. */
static gl_entry *entries_now(gl_zip *zip, const gl_writer *writer, size_t *count, size_t *first) {
    const gl_directory *before = &zip->found.directory;
    gl_entry *entries = calloc(before->count + writer->fresh_count, sizeof *entries);
    *count = 0;
    *first = before->count;
    for (size_t i = 0; entries && i < before->count; i++) {
        if (!writer->dropped[i])
            entries[(*count)++] = before->entries[i];
        else if (i < *first)
            *first = i;
    }
    for (size_t i = 0; entries && i < writer->fresh_count; i++) {
        gl_entry *entry = &entries[(*count)++];
        *entry = writer->fresh[i];
        entry->name = gl_arena_copy(zip->arena, entry->name);
        if (!entry->name.text) {
            free(entries);
            return NULL;
        }
    }
    return entries;
}

glassine_status gl_zip_follow(gl_zip *zip, const gl_writer *writer, glassine_error *error) {
    gl_directory *directory = &zip->found.directory;
    size_t count, first;
    if (!zip->arena)
        zip->arena = gl_arena_new();
    gl_entry *entries = zip->arena ? entries_now(zip, writer, &count, &first) : NULL;
    if (!entries)
        return gl_fail_memory(error);
    free(directory->entries);
    directory->entries = entries;
    directory->count = count;
    directory->fresh = count - writer->fresh_count;
    directory->end = writer->end;
    zip->file.size = writer->end.footer.end;
    zip->found.tail = 0;
    zip->found.tail_ours = false;
    return index_names(zip, first, error);
}

void gl_zip_close(gl_zip *zip) {
    if (!zip)
        return;
    gl_directory_free(&zip->found.directory);
    gl_map_free(zip->names);
    gl_arena_free(zip->arena);
    free(zip->path);
    free(zip);
}

int gl_zip_fd(const gl_zip *zip) {
    return zip->file.fd;
}

const char *gl_zip_path(const gl_zip *zip) {
    return zip->path;
}

gl_span gl_zip_base(const gl_zip *zip) {
    return zip->found.directory.base;
}

const gl_footer *gl_zip_footer(const gl_zip *zip) {
    return &zip->found.directory.end.footer;
}

uint64_t gl_zip_tail(const gl_zip *zip) {
    return zip->found.tail;
}

bool gl_zip_tail_is_ours(const gl_zip *zip) {
    return zip->found.tail_ours;
}

const glassine_error *gl_zip_tail_fault(const gl_zip *zip) {
    return zip->found.tail_ours ? &zip->found.fault : NULL;
}

size_t gl_zip_count(const gl_zip *zip) {
    return zip->found.directory.count;
}

const gl_entry *gl_zip_at(const gl_zip *zip, size_t index) {
    return &zip->found.directory.entries[index];
}

const gl_entry *gl_zip_find(const gl_zip *zip, gl_span inner) {
    uint32_t index = gl_map_find(zip->names, inner);
    const gl_entry *entry = index < gl_zip_count(zip) ? gl_zip_at(zip, index) : NULL;
    return entry && gl_span_equal(gl_zip_inner(zip, entry), inner) ? entry : NULL;
}

gl_span gl_zip_inner(const gl_zip *zip, const gl_entry *entry) {
    return gl_span_part(entry->name, zip->found.directory.base.length + 1, entry->name.length);
}

bool gl_zip_is_fresh(const gl_zip *zip, const gl_entry *entry) {
    return entry->header_at >= gl_zip_footer(zip)->start;
}

glassine_status gl_zip_check_locals(const gl_zip *zip, glassine_error *error) {
    for (size_t i = 0; i < gl_zip_count(zip); i++) {
        glassine_status status = gl_local_check(&zip->file, gl_zip_at(zip, i), error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}
