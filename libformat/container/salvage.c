#include "container/salvage.h"

#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/bag.h"
#include "container/content.h"
#include "container/fault.h"
#include "container/name.h"
#include "container/salvaging.h"
#include "container/writing.h"

enum { SHIFTS = 16 };

/* How far entries lie from where directories say: bytes may have come before the bundle, or into its middle.
 */
typedef struct shifts {
    int64_t list[SHIFTS];
    size_t count;
} shifts;

/* -------------------------------------------------------------------------------- what is taken already */

/* The first pair that ends behind `offset`. */
static size_t taken_behind(const gl_salvage *it, uint64_t offset) {
    size_t low = 0, high = it->taken_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (it->taken[2 * middle + 1] > offset)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

bool gl_salvage_is_free(const gl_salvage *it, uint64_t from, uint64_t to) {
    size_t next = taken_behind(it, from);
    return next == it->taken_count || it->taken[2 * next] >= to;
}

bool gl_salvage_take_range(gl_salvage *it, uint64_t from, uint64_t to) {
    uint64_t *grown = gl_grow(it->taken, &it->taken_room, it->taken_count + 1, 2 * sizeof *grown);
    if (!grown)
        return false;
    it->taken = grown;
    size_t at = taken_behind(it, from);
    memmove(it->taken + 2 * at + 2, it->taken + 2 * at, (it->taken_count - at) * 2 * sizeof *grown);
    it->taken[2 * at] = from;
    it->taken[2 * at + 1] = to;
    it->taken_count++;
    return true;
}

bool gl_salvage_gap(const gl_salvage *it, uint64_t *at, uint64_t *from, uint64_t *to) {
    while (*at < it->file.size) {
        size_t next = taken_behind(it, *at);
        *from = *at;
        *to = next < it->taken_count ? it->taken[2 * next] : it->file.size;
        *at = next < it->taken_count ? it->taken[2 * next + 1] : it->file.size;
        if (*from < *to)
            return true;
    }
    return false;
}

/* --------------------------------------------------------------------------------------- making pieces */

static glassine_status read_name(gl_salvage *it, const gl_sighting *seen, gl_span *name,
                                 glassine_error *error) {
    char bytes[GL_NAME_MAX];
    uint64_t at = seen->seen + (seen->listed ? GL_RECORD_SIZE : GL_LOCAL_SIZE);
    int code = gl_bytes_read(&it->file, bytes, seen->name_length, at);
    if (code)
        return gl_fault_reading(error, code, it->path);
    *name = gl_arena_copy(it->arena, (gl_span){bytes, seen->name_length});
    return name->text ? GLASSINE_OK : gl_fail_memory(error);
}

gl_piece *gl_salvage_add_piece(gl_salvage *it, const gl_piece *piece) {
    gl_piece *grown = gl_grow(it->pieces, &it->room, it->count + 1, sizeof *grown);
    if (!grown)
        return NULL;
    it->pieces = grown;
    it->pieces[it->count] = *piece;
    return &it->pieces[it->count++];
}

void gl_salvage_place(gl_piece *piece, uint64_t at) {
    piece->entry.header_at = at;
    piece->entry.data_at = at + gl_layout_local_size(&piece->entry);
}

static glassine_status make_piece(gl_salvage *it, const gl_sighting *seen, gl_piece *piece,
                                  glassine_error *error) {
    *piece = (gl_piece){.entry = {.size = seen->size,
                                  .packed = seen->packed,
                                  .crc = seen->crc,
                                  .method = seen->method,
                                  .date = seen->date,
                                  .time = seen->time},
                        .words = seen->times};
    glassine_status status = read_name(it, seen, &piece->entry.name, error);
    if (status)
        return status;
    const char *slash = memchr(piece->entry.name.text, '/', piece->entry.name.length);
    size_t base = slash ? (size_t)(slash - piece->entry.name.text) : 0;
    piece->inner = gl_span_part(piece->entry.name, base + 1, piece->entry.name.length);
    gl_salvage_place(piece, seen->at);
    return GLASSINE_OK;
}

/* Is the content there, and what it should be? Reads it, as far as the budget goes. */
static glassine_status check_piece(gl_salvage *it, gl_piece *piece, glassine_error *error) {
    const gl_entry *entry = &piece->entry;
    uint64_t size = it->file.size;
    piece->whole = false;
    if (entry->data_at > size || entry->packed > size - entry->data_at ||
        !gl_salvage_is_free(it, entry->header_at, entry->data_at + entry->packed) ||
        entry->packed > it->budget)
        return GLASSINE_OK;
    it->budget -= entry->packed;
    glassine_error fault = {0};
    gl_digest named;
    glassine_status status = gl_content_stream(&it->file, entry, NULL, NULL, &piece->digest, &fault);
    if (status == GLASSINE_SYSTEM) {
        if (error)
            *error = fault;
        return status;
    }
    bool scan = gl_name_is_scan(piece->inner, &named);
    if (status || scan != gl_span_starts(piece->inner, GL_SPAN(GL_SCANS)) ||
        (scan && !gl_digest_equal(&named, &piece->digest)))
        return GLASSINE_OK;
    piece->whole = true;
    return gl_salvage_take_range(it, entry->header_at, entry->data_at + entry->packed)
               ? GLASSINE_OK
               : gl_fail_memory(error);
}

/* Entries by their own headers. What lies inside a whole one is its content, whatever it looks like. */
static glassine_status take_headers(gl_salvage *it, const gl_sightings *found, glassine_error *error) {
    uint64_t end = 0;
    for (size_t i = 0; i < found->count; i++) {
        const gl_sighting *seen = &found->list[i];
        gl_piece piece;
        if (seen->listed || seen->at < end)
            continue;
        glassine_status status = make_piece(it, seen, &piece, error);
        if (!status)
            status = check_piece(it, &piece, error);
        if (!status && !gl_salvage_add_piece(it, &piece))
            status = gl_fail_memory(error);
        if (status)
            return status;
        if (piece.whole)
            end = piece.entry.data_at + piece.entry.packed;
    }
    return GLASSINE_OK;
}

/* --------------------------------------------------------------------------- what only directories say */

static int by_content(const void *a, const void *b) {
    const gl_sighting *x = *(const gl_sighting *const *)a, *y = *(const gl_sighting *const *)b;
    if (x->name_hash != y->name_hash)
        return x->name_hash < y->name_hash ? -1 : 1;
    if (x->crc != y->crc)
        return x->crc < y->crc ? -1 : 1;
    if (x->size != y->size)
        return x->size < y->size ? -1 : 1;
    return (x->packed > y->packed) - (x->packed < y->packed);
}

static void learn_shift(shifts *known, uint64_t actual, uint64_t said) {
    if (said > INT64_MAX) /* a place in a file is an off_t */
        return;
    int64_t shift = (int64_t)actual - (int64_t)said;
    for (size_t i = 0; i < known->count; i++)
        if (known->list[i] == shift)
            return;
    if (known->count < SHIFTS)
        known->list[known->count++] = shift;
}

/* The records of which no local header is left. Of the others it is learnt how far off records are. */
static size_t leave_orphans(const gl_sightings *found, const gl_sighting **headers, size_t count,
                            const gl_sighting **orphans, shifts *known) {
    size_t left = 0;
    for (size_t i = 0; i < found->count; i++) {
        const gl_sighting *record = &found->list[i];
        if (!record->listed)
            continue;
        const gl_sighting **match =
            count ? bsearch(&record, headers, count, sizeof *headers, by_content) : NULL;
        if (match)
            learn_shift(known, (*match)->at, record->at);
        else
            orphans[left++] = record;
    }
    return left;
}

static gl_span base_of(const gl_piece *piece) {
    return gl_span_part(piece->entry.name, 0, piece->entry.name.length - piece->inner.length - 1);
}

static gl_base_count *count_base(gl_salvage *it, gl_span base) {
    for (size_t i = 0; i < it->base_count; i++)
        if (gl_span_equal(it->bases[i].base, base))
            return &it->bases[i];
    gl_base_count *grown = gl_grow(it->bases, &it->base_room, it->base_count + 1, sizeof *grown);
    if (!grown)
        return NULL;
    it->bases = grown;
    it->bases[it->base_count] = (gl_base_count){.base = base};
    return &it->bases[it->base_count++];
}

/* Counts the pieces of each base folder; the one of most whole pieces becomes the salvage's, where `wanted`
 * names no other. */
static bool weigh_bases(gl_salvage *it, gl_span wanted) {
    size_t most = 0;
    it->base_count = 0;
    it->base = GL_NO_SPAN;
    for (size_t i = 0; i < it->count; i++) {
        gl_base_count *base = count_base(it, base_of(&it->pieces[i]));
        if (!base)
            return false;
        base->pieces++;
        base->whole += it->pieces[i].whole;
    }
    for (size_t i = 0; i < it->base_count; i++) {
        size_t weight = it->bases[i].whole ? it->bases[i].whole + it->count : it->bases[i].pieces;
        if (wanted.text ? gl_span_equal(it->bases[i].base, wanted) : weight > most) {
            most = weight;
            it->base = it->bases[i].base;
        }
    }
    return true;
}

/* Is it a name that the format gives? */
static bool is_known(gl_span inner) {
    gl_digest digest;
    uint32_t first, last;
    return gl_name_is_scan(inner, &digest) || gl_name_is_segment(inner, &first, &last) ||
           gl_bag_writes(inner) || gl_span_is(inner, GL_BAG_ABOUT);
}

/* The whole piece that lies where the record says, with the same content and another name, because one of the
 * two is damaged; NULL: there is none. No checksum covers a name: the one that the format gives is taken to
 * be right. */
static gl_piece *find_misnamed(gl_salvage *it, const gl_piece *orphan) {
    for (size_t i = 0; i < it->count; i++) {
        gl_piece *piece = &it->pieces[i];
        const gl_entry *a = &piece->entry, *b = &orphan->entry;
        if (piece->whole && a->data_at == b->data_at && a->packed == b->packed && a->size == b->size &&
            a->crc == b->crc && a->method == b->method)
            return piece;
    }
    return NULL;
}

/* How many editions a segment's name speaks of: the wider one has nothing passed over. */
static uint32_t width_of(gl_span inner) {
    uint32_t first, last;
    return gl_name_is_segment(inner, &first, &last) ? last - first : 0;
}

/* Is `a` the better name for the same content? One that the format gives is; of such, one in the base folder
 * that most others lie in; of these, one that is said more often. */
static bool is_better(const gl_salvage *it, const gl_piece *a, const gl_piece *b) {
    int better = is_known(a->inner) - is_known(b->inner);
    if (!better)
        better = gl_span_equal(base_of(a), it->base) - gl_span_equal(base_of(b), it->base);
    if (!better)
        better = (a->words > b->words) - (a->words < b->words);
    return better > 0 || (better == 0 && width_of(a->inner) > width_of(b->inner));
}

static bool settle_name(gl_salvage *it, const gl_piece *orphan) {
    gl_digest named;
    gl_piece *piece = find_misnamed(it, orphan);
    if (!piece)
        return false;
    bool possible = gl_name_is_scan(orphan->inner, &named)
                        ? gl_digest_equal(&named, &piece->digest)
                        : !gl_span_starts(orphan->inner, GL_SPAN(GL_SCANS));
    if (possible && is_better(it, orphan, piece)) {
        piece->entry.name = orphan->entry.name;
        piece->inner = orphan->inner;
        piece->words = orphan->words;
    }
    return true;
}

static glassine_status take_orphan(gl_salvage *it, const gl_sighting *record, const shifts *known,
                                   glassine_error *error) {
    gl_piece piece = {.whole = false};
    glassine_status status = make_piece(it, record, &piece, error);
    for (size_t i = 0; i < known->count && !status && !piece.whole; i++) {
        int64_t shift = known->list[i];
        if (record->at > INT64_MAX || (shift < 0 && record->at < (uint64_t)-shift) ||
            (shift > 0 && (uint64_t)shift > it->file.size))
            continue;
        gl_salvage_place(&piece,
                         record->at + (uint64_t)shift); /* modulo 2^64, which is right for both signs */
        if (settle_name(it, &piece))
            return GLASSINE_OK;
        status = check_piece(it, &piece, error);
    }
    if (!status && !gl_salvage_add_piece(it, &piece))
        status = gl_fail_memory(error);
    return status;
}

static glassine_status take_orphans(gl_salvage *it, const gl_sightings *found, glassine_error *error) {
    shifts known = {.list = {0}, .count = 1};
    const gl_sighting **headers = malloc((found->count + 1) * sizeof *headers);
    const gl_sighting **orphans = malloc((found->count + 1) * sizeof *orphans);
    glassine_status status = headers && orphans ? GLASSINE_OK : gl_fail_memory(error);
    size_t count = 0, left = 0;
    if (!status) {
        for (size_t i = 0; i < found->count; i++)
            if (!found->list[i].listed)
                headers[count++] = &found->list[i];
        if (count)
            qsort(headers, count, sizeof *headers, by_content);
        left = leave_orphans(found, headers, count, orphans, &known);
    }
    for (size_t i = 0; i < left && !status; i++)
        status = take_orphan(it, orphans[i], &known, error);
    free(headers);
    free(orphans);
    return status;
}

/* --------------------------------------------------------------------------------------------- whose they
 * are */

/* In the order of the file, whole ones before others. */
static int by_header(const void *a, const void *b) {
    const gl_piece *x = a, *y = b;
    if (x->entry.header_at != y->entry.header_at)
        return x->entry.header_at < y->entry.header_at ? -1 : 1;
    return y->whole - x->whole;
}

/* Sorts the pieces. Other words about what is whole are no pieces of their own. */
static void settle_pieces(gl_salvage *it) {
    size_t kept = 0;
    if (it->count)
        qsort(it->pieces, it->count, sizeof *it->pieces, by_header);
    for (size_t i = 0; i < it->count; i++) {
        const gl_piece *last = kept ? &it->pieces[kept - 1] : NULL;
        if (last && last->whole && last->entry.header_at == it->pieces[i].entry.header_at)
            continue;
        it->pieces[kept++] = it->pieces[i];
    }
    it->count = kept;
}

static glassine_status choose_base(gl_salvage *it, gl_span wanted, glassine_error *error) {
    size_t kept = 0;
    settle_pieces(it);
    if (!weigh_bases(it, wanted))
        return gl_fail_memory(error);
    for (size_t i = 0; i < it->count; i++)
        if (it->base.text && gl_span_equal(base_of(&it->pieces[i]), it->base))
            it->pieces[kept++] = it->pieces[i];
    it->count = kept;
    return GLASSINE_OK;
}

static glassine_status look_through(gl_salvage *it, gl_span base, glassine_error *error) {
    int code = gl_file_size(it->file.fd, &it->file.size);
    if (code)
        return gl_fault_reading(error, code, it->path);
    it->budget = 4 * it->file.size; /* an off_t: no overflow. Sound pieces take one file's length */
    gl_sightings found;
    glassine_status status = gl_sightings_find(&it->file, &found, error);
    it->edition = found.edition;
    if (!status)
        status = take_headers(it, &found, error);
    if (!status && !weigh_bases(it, base))
        status = gl_fail_memory(error);
    if (!status)
        status = take_orphans(it, &found, error);
    free(found.list);
    return status ? status : choose_base(it, base, error);
}

/* --------------------------------------------------------------------------------------------- interface */

glassine_status gl_salvage_open(int fd, const char *path, gl_span base, const glassine_limits *limits,
                                gl_salvage **salvage, glassine_error *error) {
    gl_salvage *it = *salvage = calloc(1, sizeof *it);
    if (!it)
        return gl_fail_memory(error);
    it->path = strdup(path);
    it->arena = gl_arena_new();
    it->file = (gl_file){.fd = fd, .path = it->path, .limits = gl_limits_filled(limits), .forgiving = true};
    glassine_status status = it->path && it->arena ? look_through(it, base, error) : gl_fail_memory(error);
    if (status) {
        gl_salvage_close(it);
        *salvage = NULL;
    }
    return status;
}

void gl_salvage_close(gl_salvage *it) {
    if (!it)
        return;
    gl_arena_free(it->arena);
    free(it->pieces);
    free(it->bases);
    free(it->taken);
    free(it->path);
    free(it);
}

const char *gl_salvage_path(const gl_salvage *it) {
    return it->path;
}

gl_span gl_salvage_base(const gl_salvage *it) {
    return it->base;
}

uint32_t gl_salvage_edition(const gl_salvage *it) {
    return it->edition;
}

gl_span gl_salvage_base_at(const gl_salvage *it, size_t index, size_t *whole) {
    if (index >= it->base_count)
        return GL_NO_SPAN;
    *whole = it->bases[index].whole;
    return it->bases[index].base;
}

size_t gl_salvage_count(const gl_salvage *it) {
    return it->count;
}

const gl_piece *gl_salvage_at(const gl_salvage *it, size_t index) {
    return &it->pieces[index];
}

glassine_status gl_salvage_stream(const gl_salvage *it, const gl_piece *piece, glassine_write write,
                                  void *context, glassine_error *error) {
    gl_entry entry = piece->entry;
    uint64_t left = entry.data_at < it->file.size ? it->file.size - entry.data_at : 0;
    if (!piece->whole && entry.packed > left)
        entry.packed = left;
    return gl_content_stream(&it->file, &entry, write, context, NULL, error);
}

glassine_status gl_salvage_copy(const gl_salvage *it, const gl_piece *piece, gl_span inner, gl_writer *writer,
                                glassine_error *error) {
    return gl_writer_take_raw(writer, &it->file, &piece->entry, inner, error);
}
