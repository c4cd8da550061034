/* The central directory: every field of every record, where the entries lie, what they are called. */
#include <inttypes.h>
#include <stdlib.h>

#include "base/edtf.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/footer.h"
#include "container/name.h"

/* What a record says beside the entry itself. */
typedef struct raw_record {
    const uint8_t *bytes;
    size_t name_length, extra_length;
} raw_record;

/* APPNOTE 4.4.2 and 4.4.15: fixed, so that nothing of the writer's machine is in the file. */
static glassine_status check_fixed(const gl_file *file, const raw_record *record, gl_span name,
                                   glassine_error *error) {
    const uint8_t *bytes = record->bytes;
    if (gl_get16(bytes + 4) != GL_MADE_BY)
        return gl_fault_in(error, "C031", file->path, name, "made-by is %04x, and must be %04x",
                           (unsigned)gl_get16(bytes + 4), GL_MADE_BY);
    if (gl_get16(bytes + 8) & 0x2041)
        return gl_fault_in(error, "C033", file->path, name, "it is encrypted");
    if (gl_get16(bytes + 8) != gl_layout_flags(name))
        return gl_fault_in(error, "C033", file->path, name, "its flags are %04x, and must be %04x",
                           (unsigned)gl_get16(bytes + 8), (unsigned)gl_layout_flags(name));
    if (gl_get16(bytes + 10) != 0 && gl_get16(bytes + 10) != 8)
        return gl_fault_in(error, "C034", file->path, name,
                           "it is compressed by method %u; 0 and 8 are known",
                           (unsigned)gl_get16(bytes + 10));
    if (gl_get16(bytes + 34) != 0 || gl_get16(bytes + 36) != 0 || gl_get32(bytes + 38) != GL_ATTRIBUTES)
        return gl_fault_in(error, "C036", file->path, name,
                           "its disk number or its attributes are not the fixed ones");
    if (gl_get16(bytes + 32) != 0)
        return gl_fault_in(error, "C037", file->path, name, "it has a comment");
    return GLASSINE_OK;
}

/* Takes the next 8 bytes of the Zip64 field where `value` has all bits set; false where they say less than
 * what would fit. */
static bool take_zip64(const uint8_t **at, uint64_t *value) {
    if (*value != GL_FULL32)
        return true;
    *value = gl_get64(*at);
    *at += 8;
    return *value >= GL_FULL32;
}

/* APPNOTE 4.5.3: size, packed size, offset: those that do not fit, in this order, and no other. */
static glassine_status read_extra(const gl_file *file, const raw_record *record, gl_entry *entry,
                                  glassine_error *error) {
    size_t values =
        (size_t)(entry->size == GL_FULL32) + (entry->packed == GL_FULL32) + (entry->header_at == GL_FULL32);
    size_t length = record->extra_length;
    const uint8_t *extra = record->bytes + GL_RECORD_SIZE + record->name_length;
    if (length == 0 && values == 0)
        return GLASSINE_OK;
    if (length > 0 && (length < GL_EXTRA_HEAD || gl_get16(extra) != GL_ZIP64_ID))
        return gl_fault_in(error, "C038", file->path, entry->name, "it has an extra field that is not Zip64");
    const uint8_t *at = extra + GL_EXTRA_HEAD;
    if (values == 0 || length != GL_EXTRA_HEAD + 8 * values || gl_get16(extra + 2) != 8 * values ||
        !take_zip64(&at, &entry->size) || !take_zip64(&at, &entry->packed) ||
        !take_zip64(&at, &entry->header_at))
        return gl_fault_in(error, "C039", file->path, entry->name,
                           "its Zip64 field does not hold exactly the values that call for one");
    return GLASSINE_OK;
}

static bool is_dos_time(uint16_t date, uint16_t time) {
    unsigned year = 1980U + (date >> 9), month = date >> 5 & 15, day = date & 31;
    if (month < 1 || month > 12 || day < 1 || day > gl_month_length(year, month))
        return false;
    return time >> 11 < 24 && (time >> 5 & 63) < 60 && (time & 31) < 30;
}

static glassine_status check_values(const gl_file *file, const raw_record *record, const gl_entry *entry,
                                    glassine_error *error) {
    if (gl_get16(record->bytes + 6) != gl_layout_needed(entry))
        return gl_fault_in(error, "C032", file->path, entry->name, "it asks for version %u, and must for %u",
                           (unsigned)gl_get16(record->bytes + 6), (unsigned)gl_layout_needed(entry));
    if (entry->method == 0 && entry->packed != entry->size)
        return gl_fault_in(error, "C035", file->path, entry->name,
                           "it is stored, and has two different sizes");
    if (!is_dos_time(entry->date, entry->time))
        return gl_fault_in(error, "C040", file->path, entry->name, "its date or time is none");
    return GLASSINE_OK;
}

static glassine_status read_record(const gl_file *file, const raw_record *record, gl_entry *entry,
                                   glassine_error *error) {
    const uint8_t *bytes = record->bytes;
    *entry = (gl_entry){
        .name = {(const char *)bytes + GL_RECORD_SIZE, record->name_length},
        .method = gl_get16(bytes + 10),
        .time = gl_get16(bytes + 12),
        .date = gl_get16(bytes + 14),
        .crc = gl_get32(bytes + 16),
        .packed = gl_get32(bytes + 20),
        .size = gl_get32(bytes + 24),
        .header_at = gl_get32(bytes + 42),
    };
    gl_name_fault fault;
    if (!gl_name_check(entry->name, &fault))
        return gl_fault_in(error, fault.rule, file->path, entry->name, "%s", fault.what);
    glassine_status status = check_fixed(file, record, entry->name, error);
    if (!status)
        status = read_extra(file, record, entry, error);
    return status ? status : check_values(file, record, entry, error);
}

/* The record at the beginning of `bytes`, as far as its lengths go. */
static bool split_record(const uint8_t *bytes, size_t length, raw_record *record) {
    if (length < GL_RECORD_SIZE)
        return false;
    record->bytes = bytes;
    record->name_length = gl_get16(bytes + 28);
    record->extra_length = gl_get16(bytes + 30);
    size_t variable = record->name_length + record->extra_length + gl_get16(bytes + 32);
    return gl_get32(bytes) == GL_RECORD_SIGN && length - GL_RECORD_SIZE >= variable;
}

size_t gl_record_read(const gl_file *file, const uint8_t *bytes, size_t length, gl_entry *entry,
                      glassine_status *status, glassine_error *error) {
    raw_record record;
    *status = GLASSINE_OK;
    if (!split_record(bytes, length, &record))
        return 0;
    *status = read_record(file, &record, entry, error);
    return GL_RECORD_SIZE + record.name_length + record.extra_length;
}

static glassine_status read_records(const gl_file *file, gl_directory *directory, glassine_error *error) {
    const gl_footer *footer = &directory->end.footer;
    size_t length = (size_t)footer->directory_size, at = 0;
    for (size_t i = 0; i < directory->count; i++) {
        glassine_status status;
        size_t size = gl_record_read(file, (const uint8_t *)directory->bytes + at, length - at,
                                     &directory->entries[i], &status, error);
        if (size == 0)
            return gl_fault_at(error, "C030", file->path, footer->directory_at + at,
                               "the directory should hold %" PRIu64 " record%s, and is broken after %zu",
                               footer->entries, footer->entries == 1 ? "" : "s", i);
        if (status)
            return status;
        at += size;
    }
    if (at != length)
        return gl_fault_at(error, "C030", file->path, footer->directory_at + at,
                           "the directory should end after %" PRIu64 " record%s, and does not",
                           footer->entries, footer->entries == 1 ? "" : "s");
    return GLASSINE_OK;
}

/* Where an entry ends; its data_at is filled. False where that would be behind `limit`. */
static bool place_entry(gl_entry *entry, uint64_t limit, uint64_t *end) {
    uint64_t head = gl_layout_local_size(entry);
    if (entry->header_at > limit || limit - entry->header_at < head ||
        limit - entry->header_at - head < entry->packed)
        return false;
    entry->data_at = entry->header_at + head;
    *end = entry->data_at + entry->packed;
    return true;
}

static glassine_status check_order(const gl_file *file, const gl_directory *directory,
                                   glassine_error *error) {
    for (size_t i = 1; i < directory->count; i++)
        if (directory->entries[i].header_at <= directory->entries[i - 1].header_at)
            return gl_fault_in(error, "C050", file->path, directory->entries[i].name,
                               "the directory does not list it in the order in which it lies in the file");
    return GLASSINE_OK;
}

/* Entries of earlier editions lie below the edition's start, its own end to end from there to the directory.
 */
static glassine_status check_places(const gl_file *file, gl_directory *directory, glassine_error *error) {
    const gl_footer *footer = &directory->end.footer;
    uint64_t end = 0;
    directory->fresh = directory->count;
    for (size_t i = 0; i < directory->count; i++) {
        gl_entry *entry = &directory->entries[i];
        bool fresh = entry->header_at >= footer->start;
        uint64_t limit = fresh ? footer->directory_at : footer->start;
        if (fresh && directory->fresh == directory->count) {
            directory->fresh = i;
            end = footer->start;
        }
        if (entry->header_at < end)
            return gl_fault_in(error, "C051", file->path, entry->name, "it overlaps the entry before it");
        if (fresh && entry->header_at != end)
            return gl_fault_in(error, "C052", file->path, entry->name,
                               "there are bytes before it that belong to no entry");
        if (!place_entry(entry, limit, &end))
            return gl_fault_in(error, "C051", file->path, entry->name,
                               fresh ? "it overlaps the directory" : "it overlaps a later edition");
    }
    if (directory->fresh == directory->count || end != footer->directory_at)
        return gl_fault_at(error, "C052", file->path, footer->directory_at,
                           "the entries of edition %" PRIu32 " do not reach from %" PRIu64
                           " to the directory",
                           footer->edition, footer->start);
    return GLASSINE_OK;
}

static glassine_status check_times(const gl_file *file, const gl_directory *directory,
                                   glassine_error *error) {
    const gl_entry *first = &directory->entries[directory->fresh];
    for (size_t i = directory->fresh; i < directory->count; i++) {
        const gl_entry *entry = &directory->entries[i];
        if (entry->date != first->date || entry->time != first->time)
            return gl_fault_in(error, "C040", file->path, entry->name,
                               "its time is not that of the others of its edition");
    }
    return GLASSINE_OK;
}

/* The base folder is that of the first entry; all lie in it. */
static glassine_status check_base(const gl_file *file, gl_directory *directory, glassine_error *error) {
    gl_span first = directory->entries[0].name;
    const char *slash = memchr(first.text, '/', first.length);
    directory->base = (gl_span){first.text, slash ? (size_t)(slash - first.text) : 0};
    if (!gl_name_is_base(directory->base))
        return gl_fault_in(error, "C061", file->path, first, "it does not lie in a folder glassine-…");
    gl_span inside = {first.text, directory->base.length + 1};
    for (size_t i = 0; i < directory->count; i++) {
        gl_span name = directory->entries[i].name;
        gl_digest digest;
        if (!gl_span_starts(name, inside))
            return gl_fault_in(error, "C061", file->path, name, "it does not lie in the base folder %.*s",
                               GL_SPAN_ARGS(directory->base));
        gl_span inner = gl_span_part(name, inside.length, name.length);
        if (gl_span_starts(inner, GL_SPAN(GL_SCANS)) && !gl_name_is_scan(inner, &digest))
            return gl_fault_in(error, "C065", file->path, name,
                               "a scan's name must be its digest, a dot, and its kind");
    }
    return GLASSINE_OK;
}

glassine_status gl_directory_parse(const gl_file *file, gl_directory *directory, glassine_error *error) {
    const gl_footer *footer = &directory->end.footer;
    if (footer->entries > footer->directory_size / GL_RECORD_SIZE || footer->entries == 0)
        return gl_fault_at(error, "C030", file->path, footer->directory_at,
                           "a directory of %" PRIu64 " byte%s cannot hold %" PRIu64 " record%s",
                           footer->directory_size, footer->directory_size == 1 ? "" : "s", footer->entries,
                           footer->entries == 1 ? "" : "s");
    directory->count = (size_t)footer->entries;
    directory->entries = calloc(directory->count, sizeof *directory->entries);
    if (!directory->entries)
        return gl_fail_memory(error);
    glassine_status status = read_records(file, directory, error);
    if (!status)
        status = check_base(file, directory, error);
    if (!status)
        status = check_order(file, directory, error);
    if (!status)
        status = check_places(file, directory, error);
    if (!status)
        status = check_times(file, directory, error);
    return status ? status : gl_names_apart(directory->entries, directory->count, file->path, error);
}

glassine_status gl_local_check(const gl_file *file, const gl_entry *entry, glassine_error *error) {
    uint8_t found[GL_LOCAL_MAX], right[GL_LOCAL_MAX];
    size_t length = gl_layout_local(entry, right);
    int code = gl_file_read_at(file->fd, found, length, entry->header_at);
    if (code)
        return gl_fault_reading(error, code, file->path);
    if (memcmp(found, right, length) != 0)
        return gl_fault_in(error, "C054", file->path, entry->name,
                           "its local header at byte %" PRIu64 " and the directory do not agree",
                           entry->header_at);
    return GLASSINE_OK;
}
