#include "container/marker.h"

enum { STRETCH = 512 };

/* Does a "PK" begin in this stretch? The byte behind it is read too. Without a branch on each byte: the
 * compiler makes a comparison of many at once of it. */
static bool may_begin(const uint8_t *bytes) {
    uint8_t least = UINT8_MAX;
    for (size_t i = 0; i < STRETCH; i++) {
        uint8_t differs = (uint8_t)((bytes[i] ^ 'P') | (bytes[i + 1] ^ 'K'));
        least = differs < least ? differs : least;
    }
    return least == 0;
}

static bool begins(const uint8_t *bytes, size_t places, const uint8_t *end) {
    for (const uint8_t *at = bytes; at < bytes + places; at++)
        if (*at == 'P' && gl_end_mark(at, (size_t)(end - at)))
            return true;
    return false;
}

static bool holds_mark(const uint8_t *bytes, size_t length) {
    const uint8_t *end = bytes + length;
    for (; end - bytes > STRETCH; bytes += STRETCH)
        if (may_begin(bytes) && begins(bytes, STRETCH, end))
            return true;
    return begins(bytes, (size_t)(end - bytes), end);
}

/* A mark may lie across two pieces: the end of what passed is joined with the beginning of what comes. */
void gl_marker_pass(gl_marker *marker, const uint8_t *bytes, size_t length) {
    if (marker->found || length == 0)
        return;
    const size_t keep = GL_MARK_SIZE - 1;
    size_t head = length < keep ? length : keep;
    memcpy(marker->carry + marker->carried, bytes, head);
    marker->found = holds_mark(marker->carry, marker->carried + head) || holds_mark(bytes, length);
    size_t have = marker->carried + head;
    if (length >= keep) {
        memcpy(marker->carry, bytes + length - keep, keep);
        marker->carried = keep;
    } else if (have > keep) {
        memmove(marker->carry, marker->carry + have - keep, keep);
        marker->carried = keep;
    } else {
        marker->carried = have;
    }
}
