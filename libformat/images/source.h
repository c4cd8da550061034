/* Bounded looking into bytes that may be hostile: a file, or a piece of memory. */
#ifndef GL_IMAGES_SOURCE_H
#define GL_IMAGES_SOURCE_H

#include "base/span.h"
#include "images/image.h"

#define GL_WINDOW_MOST ((size_t)1 << 17) /* the largest piece that can be seen at once */

typedef struct gl_source {
    int fd;
    uint64_t offset;       /* where in that file the scan begins */
    const uint8_t *memory; /* instead of the file, where it is not NULL */
    uint64_t size;
    uint64_t left; /* bytes that may still be read or seen: bounds the work that a file can ask for */
    uint64_t window_at;
    size_t window_length;
    uint8_t *window; /* GL_WINDOW_MOST bytes; unused for memory */
    int failure;     /* errno of what the system failed at, else 0 */
    gl_image *image; /* what is found goes here */
} gl_source;

/* What looking at `size` bytes may cost: all of it read and seen twice over, and some more for small files.
 */
uint64_t gl_source_allowance(uint64_t size);

/* The `length` bytes at `at`, valid until the next call; NULL where they are not all there, reading failed,
 * or the allowance is used up (then `trouble` says so). */
const uint8_t *gl_source_see(gl_source *source, uint64_t at, size_t length);

/* Takes the cost of `bytes` off the allowance; false where that is used up. */
bool gl_source_spend(gl_source *source, uint64_t bytes);

/* Is a range inside the first `size` bytes? */
static inline bool gl_range_fits(uint64_t size, uint64_t at, uint64_t length) {
    return at <= size && length <= size - at;
}

/* The first trouble that was found stays. */
static inline void gl_image_trouble(gl_image *image, const char *what) {
    if (!image->trouble)
        image->trouble = what;
}

static inline uint32_t gl_big16(const uint8_t *bytes) {
    return (uint32_t)bytes[0] << 8 | bytes[1];
}

static inline uint32_t gl_big32(const uint8_t *bytes) {
    return gl_big16(bytes) << 16 | gl_big16(bytes + 2);
}

static inline uint32_t gl_little16(const uint8_t *bytes) {
    return (uint32_t)bytes[1] << 8 | bytes[0];
}

static inline uint32_t gl_little32(const uint8_t *bytes) {
    return gl_little16(bytes + 2) << 16 | gl_little16(bytes);
}

/* dots / per in hundredths of a dot per inch, to the nearest, halves up; `centimetres`: per centimetre,
 * times 2.54. 0 where it is none, or beyond what the table of types allows. */
uint32_t gl_resolution(uint64_t dots, uint64_t per, bool centimetres);

#endif
