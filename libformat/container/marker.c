#include "container/marker.h"

static bool holds_mark(const uint8_t *bytes, size_t length) {
    const uint8_t *at = bytes, *end = bytes + length;
    while ((size_t)(end - at) >= GL_MARK_SIZE) {
        at = memchr(at, 'P', (size_t)(end - at) - GL_MARK_SIZE + 1);
        if (!at)
            return false;
        if (gl_end_mark(at, (size_t)(end - at)))
            return true;
        at++;
    }
    return false;
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
