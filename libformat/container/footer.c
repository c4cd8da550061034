#include "container/footer.h"

#include <inttypes.h>
#include <stdlib.h>

#include "base/file.h"
#include "container/fault.h"

bool gl_end_mark(const uint8_t *bytes, size_t length) {
    return length >= GL_MARK_SIZE && gl_get32(bytes) == GL_END_SIGN &&
           memcmp(bytes + GL_END_SIZE, "glassine ", GL_MARK_SIZE - GL_END_SIZE) == 0;
}

/* Of a later major version only the beginning of the comment is known: "glassine MAJOR.". */
static bool is_later_version(gl_span comment, uint64_t *major) {
    size_t at = sizeof "glassine " - 1, first = at;
    for (*major = 0; at < comment.length && comment.text[at] >= '0' && comment.text[at] <= '9'; at++)
        if (*major < UINT32_MAX)
            *major = *major * 10 + (uint64_t)(comment.text[at] - '0');
    return at > first && at < comment.length && comment.text[at] == '.' && *major > GLASSINE_FORMAT_MAJOR;
}

static glassine_status read_comment(const gl_file *file, gl_span comment, gl_end *end,
                                    glassine_error *error) {
    uint64_t major;
    if (is_later_version(comment, &major)) {
        gl_fault_at(error, "C012", file->path, end->at,
                    "this bundle is of format %" PRIu64 ", and this program reads up to format %d.x", major,
                    GLASSINE_FORMAT_MAJOR);
        gl_error_remedy(error, "Use a program that reads format %" PRIu64, major);
        return GLASSINE_REFUSED;
    }
    gl_footer *footer = &end->footer;
    if (!gl_layout_comment(comment, footer))
        return gl_fault_at(error, "C020", file->path, end->at,
                           "the end record's comment is not as it must be");
    if (footer->edition == 0 || (footer->edition == 1 && footer->start != 0))
        return gl_fault_at(error, "C027", file->path, end->at,
                           "the end record says edition %" PRIu32 " follows %" PRIu64, footer->edition,
                           footer->start);
    return GLASSINE_OK;
}

/* The Zip64 records are there exactly where a value asks for them. */
static glassine_status check_zip64_called_for(const gl_file *file, const gl_end *end, bool wanted, bool there,
                                              glassine_error *error) {
    if (wanted && !there)
        return gl_fault_at(error, "C023", file->path, end->at,
                           "a value asks for Zip64 records, and there are none");
    const gl_footer *footer = &end->footer;
    if (there && !wanted && footer->directory_at + footer->directory_size != end->at)
        return gl_fault_at(error, "C023", file->path, end->at,
                           "there are Zip64 records where no value asks for them");
    return GLASSINE_OK;
}

/* A field with all bits set stands in the Zip64 record instead. */
static void take_zip64_values(const uint8_t *record, gl_footer *footer) {
    if (footer->entries == GL_FULL16)
        footer->entries = gl_get64(record + 32);
    if (footer->directory_size == GL_FULL32)
        footer->directory_size = gl_get64(record + 40);
    if (footer->directory_at == GL_FULL32)
        footer->directory_at = gl_get64(record + 48);
}

static glassine_status read_zip64(const gl_file *file, gl_end *end, glassine_error *error) {
    gl_footer *footer = &end->footer;
    bool wanted = gl_layout_end_zip64(footer), there = false;
    uint8_t found[GL_END64_BOTH], right[GL_END64_BOTH];
    end->records = end->at;
    if (end->at >= sizeof found) {
        int code = gl_file_read_at(file->fd, found, sizeof found, end->at - sizeof found);
        if (code)
            return gl_fault_reading(error, code, file->path);
        there = gl_get32(found) == GL_END64_SIGN && gl_get32(found + GL_END64_SIZE) == GL_LOCATOR_SIGN;
    }
    glassine_status status = check_zip64_called_for(file, end, wanted, there, error);
    if (status || !wanted)
        return status;
    end->records = end->at - sizeof found;
    take_zip64_values(found, footer);
    if (!gl_layout_end_zip64(footer))
        return gl_fault_at(error, "C023", file->path, end->records,
                           "there are Zip64 records where no value asks for them");
    gl_layout_end64(footer, right);
    if (memcmp(found, right, sizeof right) != 0)
        return gl_fault_at(error, "C024", file->path, end->records,
                           "the Zip64 records and the end record do not agree");
    return GLASSINE_OK;
}

static glassine_status check_limits(const gl_file *file, const gl_end *end, glassine_error *error) {
    const gl_footer *footer = &end->footer;
    if (footer->entries > file->limits.entries)
        return gl_fault_at(error, "L001", file->path, end->at,
                           "the directory has %" PRIu64 " entries, and the limit is %" PRIu64,
                           footer->entries, file->limits.entries);
    if (footer->directory_size > file->limits.directory_bytes)
        return gl_fault_at(error, "L002", file->path, end->at,
                           "the directory has %" PRIu64 " bytes, and the limit is %" PRIu64,
                           footer->directory_size, file->limits.directory_bytes);
    return GLASSINE_OK;
}

glassine_status gl_end_read(const gl_file *file, const uint8_t *bytes, size_t length, uint64_t at,
                            gl_end *end, glassine_error *error) {
    gl_footer *footer = &end->footer;
    *end = (gl_end){.at = at};
    size_t comment = gl_get16(bytes + 20);
    size_t there = length - GL_END_SIZE < comment ? length - GL_END_SIZE : comment;
    glassine_status status =
        read_comment(file, (gl_span){(const char *)bytes + GL_END_SIZE, there}, end, error);
    if (status)
        return status;
    if (comment != there)
        return gl_fault_at(error, "C021", file->path, at, "the end record's comment is cut off");
    footer->end = at + GL_END_SIZE + comment;
    footer->entries = gl_get16(bytes + 10);
    footer->directory_size = gl_get32(bytes + 12);
    footer->directory_at = gl_get32(bytes + 16);
    if (gl_get32(bytes + 4) != 0 || gl_get16(bytes + 8) != footer->entries)
        return gl_fault_at(error, "C021", file->path, at,
                           "the end record speaks of several disks, or counts entries in two ways");
    if ((status = read_zip64(file, end, error)) != GLASSINE_OK)
        return status;
    if (footer->directory_at > end->records || end->records - footer->directory_at != footer->directory_size)
        return gl_fault_at(error, "C022", file->path, at,
                           "the directory does not lie where the end record says (%" PRIu64
                           " bytes at %" PRIu64 ")",
                           footer->directory_size, footer->directory_at);
    if (footer->start >= footer->directory_at)
        return gl_fault_at(error, "C052", file->path, at, "edition %" PRIu32 " adds no entry",
                           footer->edition);
    return check_limits(file, end, error);
}

void gl_directory_free(gl_directory *directory) {
    free(directory->bytes);
    free(directory->entries);
    *directory = (gl_directory){0};
}

static glassine_status check_locals(const gl_file *file, const gl_directory *directory, bool thorough,
                                    glassine_error *error) {
    for (size_t i = thorough ? directory->fresh : 0; i < directory->count; i++) {
        const gl_entry *entry = &directory->entries[i];
        if (!thorough && gl_layout_is_scan(directory->base, entry))
            continue;
        glassine_status status = gl_local_check(file, entry, error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

static glassine_status check_sum(const gl_file *file, const gl_directory *directory, glassine_error *error) {
    const gl_end *end = &directory->end;
    gl_digest sum;
    gl_span records = {directory->bytes, (size_t)(end->at - end->footer.directory_at)};
    glassine_status status = gl_sum_edition(file, directory->base, directory->entries + directory->fresh,
                                            directory->count - directory->fresh, records, &sum, error);
    if (status)
        return status;
    if (!gl_digest_equal(&sum, &end->footer.sum))
        return gl_fault_at(error, "C025", file->path, end->at,
                           "the bytes of edition %" PRIu32 " do not have the sum that its end record gives",
                           end->footer.edition);
    return GLASSINE_OK;
}

static glassine_status read_all(const gl_file *file, const gl_end *end, bool thorough,
                                gl_directory *directory, glassine_error *error) {
    size_t length = (size_t)(end->at - end->footer.directory_at); /* within limits.directory_bytes and 76 */
    directory->bytes = malloc(length ? length : 1);
    if (!directory->bytes)
        return gl_fail_memory(error);
    int code = gl_file_read_at(file->fd, directory->bytes, length, end->footer.directory_at);
    if (code)
        return gl_fault_reading(error, code, file->path);
    glassine_status status = gl_directory_parse(file, directory, error);
    if (!status)
        status = check_locals(file, directory, thorough, error);
    return status ? status : check_sum(file, directory, error);
}

glassine_status gl_directory_read(const gl_file *file, const gl_end *end, bool thorough,
                                  gl_directory *directory, glassine_error *error) {
    *directory = (gl_directory){.end = *end};
    glassine_status status = read_all(file, end, thorough, directory, error);
    if (status)
        gl_directory_free(directory);
    return status;
}
