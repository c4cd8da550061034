/* One pass over a file for everything that looks like a local header, a directory record or an end record of
 * a bundle. What is met need not be true; it is only sound in itself. */
#include <inttypes.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/map.h"
#include "container/fault.h"
#include "container/name.h"
#include "container/salvaging.h"

enum {
    WINDOW = 1024 * 1024,
    REACH = GL_RECORD_MAX > GL_LOCAL_MAX ? GL_RECORD_MAX : GL_LOCAL_MAX /* the longest of the three */
};

typedef struct finding {
    const gl_file *file;
    gl_sightings *found;
    uint8_t *window;
} finding;

static int by_place(const void *a, const void *b) {
    const gl_sighting *x = a, *y = b;
#define BY(field)                                                                                            \
    if (x->field != y->field)                                                                                \
    return x->field < y->field ? -1 : 1
    BY(at);
    BY(listed);
    BY(name_hash);
    BY(size);
    BY(packed);
    BY(crc);
    BY(method);
    BY(date);
    BY(time);
    BY(name_length);
#undef BY
    return 0;
}

/* Directories repeat each other: what several of them say counts once. */
static void sort_unique(gl_sightings *found) {
    size_t kept = 0;
    if (found->count == 0)
        return;
    qsort(found->list, found->count, sizeof *found->list, by_place);
    for (size_t i = 1; i < found->count; i++)
        if (by_place(&found->list[kept], &found->list[i]) != 0)
            found->list[++kept] = found->list[i];
        else
            found->list[kept].times += found->list[i].times;
    found->count = kept + 1;
}

static glassine_status add(finding *it, const gl_entry *entry, uint64_t seen, bool listed,
                           glassine_error *error) {
    static const uint64_t key[2] = {0, 0}; /* nobody gains by a collision: names are compared later */
    gl_sightings *found = it->found;
    if (found->count == found->room) {
        sort_unique(found);
        if (found->count > 2 * it->file->limits.entries)
            return gl_fail(error, GLASSINE_REFUSED, "L001", it->file->path,
                           "there are more than %" PRIu64 " entries in it", 2 * it->file->limits.entries);
        if (found->count > found->room / 2 || found->room == 0) {
            gl_sighting *grown = gl_grow(found->list, &found->room, found->room + 1, sizeof *found->list);
            if (!grown)
                return gl_fail_memory(error);
            found->list = grown;
        }
    }
    found->list[found->count++] = (gl_sighting){
        .at = listed ? entry->header_at : seen,
        .seen = seen,
        .size = entry->size,
        .packed = entry->packed,
        .name_hash = gl_siphash(key, entry->name.text, entry->name.length),
        .crc = entry->crc,
        .method = entry->method,
        .date = entry->date,
        .time = entry->time,
        .name_length = (uint16_t)entry->name.length,
        .listed = listed,
        .times = 1,
    };
    return GLASSINE_OK;
}

/* Does the name lie in a folder glassine-SLUG, and keep the grammar? */
static bool is_ours(gl_span name) {
    const char *slash = memchr(name.text, '/', name.length);
    gl_name_fault fault;
    return slash && gl_name_is_base((gl_span){name.text, (size_t)(slash - name.text)}) &&
           gl_name_check(name, &fault);
}

/* A local header as a bundle's entry has it; version needed may be either, since what it depends on besides
 * is where the entry once lay. */
static bool read_local(const uint8_t *bytes, size_t length, gl_entry *entry) {
    uint8_t right[GL_LOCAL_MAX];
    if (length < GL_LOCAL_SIZE)
        return false;
    size_t name = gl_get16(bytes + 26), extra = gl_get16(bytes + 28);
    if (name > GL_NAME_MAX || length - GL_LOCAL_SIZE < name + extra)
        return false;
    *entry = (gl_entry){
        .name = {(const char *)bytes + GL_LOCAL_SIZE, name},
        .method = gl_get16(bytes + 8),
        .time = gl_get16(bytes + 10),
        .date = gl_get16(bytes + 12),
        .crc = gl_get32(bytes + 14),
        .packed = gl_get32(bytes + 18),
        .size = gl_get32(bytes + 22),
    };
    if (extra == GL_EXTRA_HEAD + 16) {
        entry->size = gl_get64(bytes + GL_LOCAL_SIZE + name + GL_EXTRA_HEAD);
        entry->packed = gl_get64(bytes + GL_LOCAL_SIZE + name + GL_EXTRA_HEAD + 8);
    }
    uint16_t needed = gl_get16(bytes + 4);
    size_t size = gl_layout_local(entry, right);
    return (needed == GL_NEEDED_PLAIN || needed == GL_NEEDED_ZIP64) && size == GL_LOCAL_SIZE + name + extra &&
           memcmp(bytes + 6, right + 6, size - 6) == 0 && is_ours(entry->name) &&
           (entry->method == 8 || (entry->method == 0 && entry->packed == entry->size));
}

static void note_edition(finding *it, const uint8_t *bytes, size_t length) {
    size_t comment = gl_get16(bytes + 20);
    gl_footer footer;
    if (length - GL_END_SIZE >= comment &&
        gl_layout_comment((gl_span){(const char *)bytes + GL_END_SIZE, comment}, &footer) &&
        footer.edition > it->found->edition)
        it->found->edition = footer.edition;
}

static glassine_status look_at(finding *it, const uint8_t *bytes, size_t length, uint64_t offset,
                               glassine_error *error) {
    gl_entry entry;
    glassine_status status;
    uint32_t sign = length >= GL_END_SIZE ? gl_get32(bytes) : 0;
    if (sign == GL_LOCAL_SIGN && read_local(bytes, length, &entry))
        return add(it, &entry, offset, false, error);
    if (sign == GL_RECORD_SIGN && gl_record_read(it->file, bytes, length, &entry, &status, NULL) > 0 &&
        !status && is_ours(entry.name))
        return add(it, &entry, offset, true, error);
    if (sign == GL_END_SIGN && gl_end_mark(bytes, length))
        note_edition(it, bytes, length);
    return GLASSINE_OK;
}

/* Looks at every place among the first `places` bytes of the window. */
static glassine_status look_through(finding *it, size_t places, size_t length, uint64_t offset,
                                    glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < places && !status; i++) {
        const uint8_t *at = memchr(it->window + i, 'P', places - i);
        if (!at)
            break;
        i = (size_t)(at - it->window);
        if (i + 1 < length && at[1] == 'K')
            status = look_at(it, at, length - i, offset + i, error);
    }
    return status;
}

glassine_status gl_sightings_find(const gl_file *file, gl_sightings *found, glassine_error *error) {
    *found = (gl_sightings){0};
    finding it = {file, found, malloc(WINDOW + REACH)};
    glassine_status status = it.window ? GLASSINE_OK : gl_fail_memory(error);
    for (uint64_t offset = 0; offset < file->size && !status; offset += WINDOW) {
        uint64_t left = file->size - offset;
        size_t length = left < WINDOW + REACH ? (size_t)left : WINDOW + REACH;
        int code = gl_bytes_read(file, it.window, length, offset);
        status = code ? gl_fault_reading(error, code, file->path)
                      : look_through(&it, length < WINDOW ? length : WINDOW, length, offset, error);
    }
    free(it.window);
    if (!status)
        sort_unique(found);
    return status;
}
