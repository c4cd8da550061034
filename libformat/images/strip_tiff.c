/* TIFF files: TIFF 6.0, its technical note 2 (JPEG), BigTIFF. The file is written anew with the tags that
 * pixels, colours and sizes rest on; what nothing points at is left behind. */
#include "images/strip.h"

#include <stdlib.h>

#include "images/ifd.h"

#define PAGES_MOST 64
#define TAGS_MOST 512 /* of one directory */

enum {
    COMPRESSION = 259,
    STRIP_OFFSETS = 273,
    STRIP_BYTES = 279,
    TILE_OFFSETS = 324,
    TILE_BYTES = 325,
    OLD_JPEG = 6, /* compressions */
    JPEG = 7
};
enum { LONG = 4, LONG8 = 16 };

/* In ascending order. */
static const uint16_t kept_tags[] = {
    254, 255, 256, 257, 258, 259, 262, 263, 264, 265, 266, 273, 274, 277, 278, 279, 280,
    281, 282, 283, 284, 290, 291, 292, 293, 296, 297, 301, 317, 318, 319, 320, 321, 322,
    323, 324, 325, 332, 334, 336, 338, 339, 340, 341, 342, 347, 529, 530, 531, 532, 34675 /* ICC profile */,
};

typedef struct stripping {
    gl_source source;
    gl_image ignored;
    gl_ifds ifds;
    gl_span file;
    gl_buf *out;
    size_t start;   /* of the new file in `out` */
    size_t link_at; /* where the offset of the next directory goes */
    bool dropped;   /* a tag, or something inside the pixels' JPEG streams */
} stripping;

typedef struct page {
    gl_tag tags[TAGS_MOST];
    uint64_t moved[TAGS_MOST]; /* where the value lies in the new file; 0: inside its entry */
    size_t count;
    uint64_t compression;
} page;

static bool is_kept(uint32_t tag) {
    size_t low = 0, high = sizeof kept_tags / sizeof kept_tags[0];
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (kept_tags[middle] < tag)
            low = middle + 1;
        else
            high = middle;
    }
    return low < sizeof kept_tags / sizeof kept_tags[0] && kept_tags[low] == tag;
}

/* ---- writing in the file's own byte order and width ---- */

static void put(stripping *it, uint64_t value, unsigned width) {
    for (unsigned i = 0; i < width; i++)
        gl_buf_add_char(it->out, (char)(value >> 8 * (it->ifds.little ? i : width - 1 - i) & 0xFF));
}

static unsigned wide(const stripping *it) {
    return it->ifds.big ? 8 : 4;
}

static void put_at(stripping *it, size_t at, uint64_t value) {
    unsigned width = wide(it);
    for (unsigned i = 0; i < width && !it->out->failed; i++)
        it->out->text[at + i] = (char)(value >> 8 * (it->ifds.little ? i : width - 1 - i) & 0xFF);
}

/* Everything begins at an even place: TIFF 6.0 section 2. */
static uint64_t here(stripping *it) {
    if ((it->out->length - it->start) % 2)
        gl_buf_add_char(it->out, 0);
    return it->out->length - it->start;
}

/* ---- one page ---- */

static gl_tag *tag_of(page *from, uint32_t tag) {
    for (size_t i = 0; i < from->count; i++)
        if (from->tags[i].tag == tag)
            return &from->tags[i];
    return NULL;
}

static bool read_page(stripping *it, uint64_t at, page *into, uint64_t *next) {
    uint64_t entries;
    into->count = 0;
    if (!gl_ifd_count(&it->ifds, at, &entries, next))
        return false;
    for (uint64_t i = 0; i < entries; i++) {
        gl_tag tag;
        if (!gl_ifd_entry(&it->ifds, at, i, &tag))
            return false;
        if (!is_kept(tag.tag) || tag.bytes == 0) {
            it->dropped = true;
            continue;
        }
        if (into->count == TAGS_MOST || (into->count && tag.tag <= into->tags[into->count - 1].tag))
            return false; /* "sorted in ascending order by Tag": section 2 */
        into->moved[into->count] = 0;
        into->tags[into->count++] = tag;
    }
    gl_tag *compression = tag_of(into, COMPRESSION);
    into->compression = 1;
    return !compression || gl_tag_number(&it->ifds, compression, 0, &into->compression);
}

/* Pixels that are listed again and again would make the new file grow without end. */
static bool grows(const stripping *it) {
    return it->out->length - it->start > 2 * it->file.length + 65536;
}

/* One strip or tile; *length becomes its length in the new file. */
static bool copy_piece(stripping *it, bool is_jpeg, uint64_t at, uint64_t *length) {
    if (!gl_range_fits(it->file.length, at, *length))
        return false;
    gl_span piece = gl_span_part(it->file, (size_t)at, (size_t)*length);
    size_t before = it->out->length;
    if (is_jpeg && piece.length > 2) {
        gl_stripped done = gl_strip_jpeg(piece, it->out);
        if (done == GL_STRIP_UNABLE)
            return false;
        it->dropped = it->dropped || done == GL_STRIP_DONE;
        *length = it->out->length - before;
        return true;
    }
    gl_buf_add(it->out, piece);
    return true;
}

/* Copies the pixels and puts the lists of where they lie and how long they are into the new file. */
static bool copy_pixels(stripping *it, page *of, uint32_t offsets_tag, uint32_t bytes_tag) {
    gl_tag *offsets = tag_of(of, offsets_tag), *bytes = tag_of(of, bytes_tag);
    if (!offsets && !bytes)
        return true;
    if (!offsets || !bytes || offsets->count != bytes->count || offsets->count > it->file.length)
        return false;
    size_t count = (size_t)offsets->count;
    uint64_t *places = calloc(2 * count + 1, sizeof *places), *lengths = places ? places + count : NULL;
    bool done = places != NULL;
    it->out->failed = it->out->failed || !done;
    for (size_t i = 0; i < count && done; i++) {
        done = gl_tag_number(&it->ifds, offsets, i, &places[i]) &&
               gl_tag_number(&it->ifds, bytes, i, &lengths[i]);
        uint64_t from = places[i];
        places[i] = here(it);
        done = done && copy_piece(it, of->compression == JPEG, from, &lengths[i]) && !grows(it);
    }
    of->moved[offsets - of->tags] = here(it);
    for (size_t i = 0; i < count && done; i++)
        put(it, places[i], wide(it));
    of->moved[bytes - of->tags] = here(it);
    for (size_t i = 0; i < count && done; i++)
        put(it, lengths[i], wide(it));
    offsets->type = bytes->type = it->ifds.big ? LONG8 : LONG;
    free(places);
    return done;
}

static bool is_list(uint32_t tag) {
    return tag == STRIP_OFFSETS || tag == STRIP_BYTES || tag == TILE_OFFSETS || tag == TILE_BYTES;
}

static void copy_values(stripping *it, page *of) {
    for (size_t i = 0; i < of->count; i++) {
        const gl_tag *tag = &of->tags[i];
        if (is_list(tag->tag) || tag->bytes <= wide(it))
            continue;
        of->moved[i] = here(it);
        gl_buf_add(it->out, gl_span_part(it->file, (size_t)tag->at, (size_t)tag->bytes));
    }
}

static void write_entry(stripping *it, const page *of, size_t i) {
    const gl_tag *tag = &of->tags[i];
    put(it, tag->tag, 2);
    put(it, tag->type, 2);
    put(it, tag->count, wide(it));
    if (is_list(tag->tag) && tag->count == 1) { /* one fits into the entry: it stands at `moved` alone */
        gl_span value = gl_span_part(gl_buf_span(it->out), it->start + (size_t)of->moved[i], wide(it));
        char copy[8];
        memcpy(copy, value.text, value.length);
        gl_buf_add_bytes(it->out, copy, value.length);
    } else if (of->moved[i]) {
        put(it, of->moved[i], wide(it));
    } else {
        gl_buf_add(it->out, gl_span_part(it->file, (size_t)tag->at, (size_t)tag->bytes));
        put(it, 0, wide(it) - (unsigned)tag->bytes);
    }
}

static bool write_page(stripping *it, page *of) {
    if (of->compression == OLD_JPEG || !copy_pixels(it, of, STRIP_OFFSETS, STRIP_BYTES) ||
        !copy_pixels(it, of, TILE_OFFSETS, TILE_BYTES))
        return false;
    copy_values(it, of);
    uint64_t directory = here(it);
    put_at(it, it->link_at, directory);
    put(it, of->count, it->ifds.big ? 8 : 2);
    for (size_t i = 0; i < of->count && !it->out->failed; i++)
        write_entry(it, of, i);
    it->link_at = it->out->length;
    put(it, 0, wide(it));
    return it->out->failed || it->out->length - it->start <= UINT32_MAX || it->ifds.big;
}

/* ---- the file ---- */

static void write_header(stripping *it) {
    gl_buf_add(it->out, gl_span_part(it->file, 0, it->ifds.big ? 8 : 4));
    it->link_at = it->out->length;
    put(it, 0, wide(it));
}

static bool visited(const uint64_t *pages, size_t count, uint64_t at) {
    for (size_t i = 0; i < count; i++)
        if (pages[i] == at)
            return true;
    return false;
}

static bool write_pages(stripping *it, uint64_t at, page *room) {
    uint64_t pages[PAGES_MOST], next = 0;
    size_t count = 0;
    write_header(it);
    for (; at != 0; at = next) {
        if (count == PAGES_MOST || visited(pages, count, at) || !read_page(it, at, room, &next) ||
            !write_page(it, room))
            return false;
        pages[count++] = at;
    }
    return count > 0;
}

gl_stripped gl_strip_tiff(gl_span file, gl_buf *out) {
    enum { SLACK = 16 }; /* bytes that fill up to even places */
    stripping it = {.file = file, .out = out, .start = out->length};
    it.source = (gl_source){.fd = -1,
                            .memory = (const uint8_t *)file.text,
                            .size = file.length,
                            .left = gl_source_allowance(file.length),
                            .image = &it.ignored};
    uint64_t first;
    if (!gl_ifds_open(&it.ifds, &it.source, 0, file.length, &first))
        return GL_STRIP_UNABLE;
    page *room = malloc(sizeof *room);
    out->failed = out->failed || !room;
    bool done = room && write_pages(&it, first, room);
    free(room);
    if (!done)
        return GL_STRIP_UNABLE;
    bool hidden = out->length - it.start + SLACK < file.length;
    return it.dropped || hidden ? GL_STRIP_DONE : GL_STRIP_NOTHING;
}
