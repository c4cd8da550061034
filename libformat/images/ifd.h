/* Directories (IFDs) of a TIFF structure: TIFF 6.0, BigTIFF, and EXIF, which uses the former. */
#ifndef GL_IMAGES_IFD_H
#define GL_IMAGES_IFD_H

#include "images/source.h"

typedef struct gl_ifds {
    gl_source *source;
    uint64_t start, length; /* where in the source it lies; offsets count from `start` */
    bool little, big;       /* byte order; BigTIFF */
} gl_ifds;

typedef struct gl_tag {
    uint32_t tag, type;
    uint64_t count;
    uint64_t at; /* of its value, from `start` */
    uint64_t bytes;
} gl_tag;

/* Reads the header; false where it is none. */
bool gl_ifds_open(gl_ifds *ifds, gl_source *source, uint64_t start, uint64_t length, uint64_t *first);
/* Entries of the directory at `at`; false where it is not all there. *next is the directory after it, 0:
 * none. */
bool gl_ifd_count(const gl_ifds *ifds, uint64_t at, uint64_t *entries, uint64_t *next);
/* Entry `index`; false where its value is not all there. One of a type that is not known counts as empty. */
bool gl_ifd_entry(const gl_ifds *ifds, uint64_t at, uint64_t index, gl_tag *tag);

/* Element `index` of a whole-number value; false where it is no such. */
bool gl_tag_number(const gl_ifds *ifds, const gl_tag *tag, uint64_t index, uint64_t *value);
/* The first element of a RATIONAL value. */
bool gl_tag_rational(const gl_ifds *ifds, const gl_tag *tag, uint32_t *above, uint32_t *below);

#endif
