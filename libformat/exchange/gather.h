/* Files whose bytes the draft has already, to be attached. */
#ifndef GL_EXCHANGE_GATHER_H
#define GL_EXCHANGE_GATHER_H

#include "exchange/draft.h"
#include "images/image.h"

struct gl_gathered {
    const char *path; /* lives as long as the bundle */
    uint64_t size;
    gl_image image;
    gl_digest digest;
    bool known; /* the bundle or the draft had these bytes before */
};

/* NULL: it was not gathered. */
const gl_gathered *gl_draft_gathered(const glassine_draft *draft, const char *path);

#endif
