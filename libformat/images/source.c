#include "images/source.h"

#include <errno.h>

#include "base/file.h"

#define WINDOW_USUAL                                                                                         \
    ((size_t)1 << 13) /* what says something of a picture is short, and lies here and there */

uint64_t gl_source_allowance(uint64_t size) {
    const uint64_t some = (uint64_t)64 << 20;
    return size > (UINT64_MAX - some) / 4 ? UINT64_MAX : size * 4 + some;
}

bool gl_source_spend(gl_source *source, uint64_t bytes) {
    if (bytes > source->left) {
        source->left = 0;
        gl_image_trouble(source->image, "more structure than a picture has; not all of it was looked at");
        return false;
    }
    source->left -= bytes;
    return true;
}

/* Fills the window from `at` on with at least `length` bytes, which the file has. */
static bool refill(gl_source *source, uint64_t at, size_t length) {
    size_t want = length > WINDOW_USUAL ? length : WINDOW_USUAL;
    if (want > source->size - at)
        want = (size_t)(source->size - at);
    source->window_length = 0;
    if (!gl_source_spend(source, want))
        return false;
    int failure = gl_file_read_at(source->fd, source->window, want, source->offset + at);
    if (failure == ENODATA) /* the file became shorter meanwhile */
        return false;
    source->failure = failure;
    if (failure)
        return false;
    source->window_at = at;
    source->window_length = want;
    return true;
}

const uint8_t *gl_source_see(gl_source *source, uint64_t at, size_t length) {
    if (source->failure || length > GL_WINDOW_MOST || !gl_range_fits(source->size, at, length) ||
        !gl_source_spend(source, length))
        return NULL;
    if (source->memory)
        return source->memory + at;
    bool there =
        at >= source->window_at && gl_range_fits(source->window_length, at - source->window_at, length);
    if (!there && !refill(source, at, length))
        return NULL;
    return source->window + (at - source->window_at);
}

uint32_t gl_resolution(uint64_t dots, uint64_t per, bool centimetres) {
    if (per == 0 || dots > UINT32_MAX || per > UINT32_MAX)
        return 0;
    uint64_t twice = dots * (centimetres ? 254 : 100) * 2 + per;
    uint64_t hundredths = twice / (2 * per);
    return hundredths > 10000000 ? 0 : (uint32_t)hundredths;
}
