#include "images/ifd.h"

#define ENTRIES_MOST 65535 /* what a classic directory can count */

enum { BYTE = 1, SHORT = 3, LONG = 4, RATIONAL = 5, IFD = 13, LONG8 = 16, IFD8 = 18 };

static const uint8_t *see(const gl_ifds *ifds, uint64_t at, size_t length) {
    return gl_range_fits(ifds->length, at, length) ? gl_source_see(ifds->source, ifds->start + at, length)
                                                   : NULL;
}

static uint32_t get16(const gl_ifds *ifds, const uint8_t *bytes) {
    return ifds->little ? gl_little16(bytes) : gl_big16(bytes);
}

static uint32_t get32(const gl_ifds *ifds, const uint8_t *bytes) {
    return ifds->little ? gl_little32(bytes) : gl_big32(bytes);
}

static uint64_t get64(const gl_ifds *ifds, const uint8_t *bytes) {
    uint64_t first = get32(ifds, bytes), second = get32(ifds, bytes + 4);
    return ifds->little ? second << 32 | first : first << 32 | second;
}

/* An offset or count, whose width is that of the structure. */
static uint64_t get_wide(const gl_ifds *ifds, const uint8_t *bytes) {
    return ifds->big ? get64(ifds, bytes) : get32(ifds, bytes);
}

bool gl_ifds_open(gl_ifds *ifds, gl_source *source, uint64_t start, uint64_t length, uint64_t *first) {
    *ifds = (gl_ifds){.source = source, .start = start, .length = length};
    const uint8_t *head = see(ifds, 0, 8);
    if (!head || head[0] != head[1] || (head[0] != 'I' && head[0] != 'M'))
        return false;
    ifds->little = head[0] == 'I';
    uint32_t version = get16(ifds, head + 2);
    if (version == 42) {
        *first = get32(ifds, head + 4);
        return true;
    }
    head = see(ifds, 0, 16); /* BigTIFF: 43, the width of offsets, 0, the offset */
    if (version != 43 || !head || get16(ifds, head + 4) != 8 || get16(ifds, head + 6) != 0)
        return false;
    ifds->big = true;
    *first = get64(ifds, head + 8);
    return true;
}

static uint64_t entry_size(const gl_ifds *ifds) {
    return ifds->big ? 20 : 12;
}

static uint64_t count_size(const gl_ifds *ifds) {
    return ifds->big ? 8 : 2;
}

bool gl_ifd_count(const gl_ifds *ifds, uint64_t at, uint64_t *entries, uint64_t *next) {
    const uint8_t *bytes = see(ifds, at, (size_t)count_size(ifds));
    if (!bytes)
        return false;
    *entries = ifds->big ? get64(ifds, bytes) : get16(ifds, bytes);
    if (*entries > ENTRIES_MOST)
        return false;
    bytes = see(ifds, at + count_size(ifds) + *entries * entry_size(ifds), ifds->big ? 8 : 4);
    if (!bytes)
        return false;
    *next = get_wide(ifds, bytes);
    return true;
}

/* Bytes of one element of a type, 0: not known. TIFF 6.0 section 2, BigTIFF. */
static uint64_t element_size(uint32_t type) {
    static const uint8_t sizes[] = {0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4, 0, 0, 8, 8, 8};
    return type < sizeof sizes ? sizes[type] : 0;
}

bool gl_ifd_entry(const gl_ifds *ifds, uint64_t at, uint64_t index, gl_tag *tag) {
    uint64_t from = at + count_size(ifds) + index * entry_size(ifds);
    const uint8_t *bytes = see(ifds, from, (size_t)entry_size(ifds));
    if (!bytes)
        return false;
    tag->tag = get16(ifds, bytes);
    tag->type = get16(ifds, bytes + 2);
    tag->count = get_wide(ifds, bytes + 4);
    uint64_t element = element_size(tag->type), inside = ifds->big ? 8 : 4;
    if (element == 0) { /* "readers should skip over fields containing an unexpected field type": section 2 */
        tag->count = tag->bytes = tag->at = 0;
        return true;
    }
    if (tag->count > UINT64_MAX / element)
        return false;
    tag->bytes = tag->count * element;
    tag->at = tag->bytes <= inside ? from + 4 + inside : get_wide(ifds, bytes + 4 + inside);
    return gl_range_fits(ifds->length, tag->at, tag->bytes);
}

bool gl_tag_number(const gl_ifds *ifds, const gl_tag *tag, uint64_t index, uint64_t *value) {
    uint64_t element = element_size(tag->type);
    bool whole = tag->type == BYTE || tag->type == SHORT || tag->type == LONG || tag->type == IFD ||
                 tag->type == LONG8 || tag->type == IFD8;
    const uint8_t *bytes =
        whole && index < tag->count ? see(ifds, tag->at + index * element, (size_t)element) : NULL;
    if (!bytes)
        return false;
    switch (element) {
    case 1:
        *value = bytes[0];
        return true;
    case 2:
        *value = get16(ifds, bytes);
        return true;
    case 4:
        *value = get32(ifds, bytes);
        return true;
    default:
        *value = get64(ifds, bytes);
        return true;
    }
}

bool gl_tag_rational(const gl_ifds *ifds, const gl_tag *tag, uint32_t *above, uint32_t *below) {
    const uint8_t *bytes = tag->type == RATIONAL && tag->count > 0 ? see(ifds, tag->at, 8) : NULL;
    if (!bytes)
        return false;
    *above = get32(ifds, bytes);
    *below = get32(ifds, bytes + 4);
    return true;
}
