/* Parity of a file's beginning, and mending it by that (spec/parity.md). */
#ifndef GL_CONTAINER_PARITY_H
#define GL_CONTAINER_PARITY_H

#include "container/footer.h"

#define GL_PARITY_NAME "parity.bin"

/* How the blocks lie. */
typedef struct gl_parity {
    uint64_t covered; /* bytes from the file's beginning on */
    uint64_t at;      /* where the parity itself begins */
    uint32_t block;   /* bytes of a block */
    uint32_t groups;
    uint32_t width; /* data blocks of a group */
    uint32_t extra; /* parity blocks of a group */
} gl_parity;

/* The layout for so many bytes and parts in a hundred (1–100). */
gl_parity gl_parity_plan(uint64_t covered, unsigned percent);
/* The content of the entry, appended to `out`. `plan.at` must be set. */
glassine_status gl_parity_make(int fd, const char *path, const gl_parity *plan, gl_buf *out,
                               glassine_error *error);

typedef struct gl_mending {
    int fd;           /* a nameless copy in which damage was mended; -1: nothing was, the file is as good */
    uint64_t blocks;  /* that the parity covers; 0: there is none */
    uint64_t rebuilt; /* blocks that were bad, and are not any more */
    uint64_t bad;     /* blocks that still are */
} gl_mending;
/* Looks for parity anywhere in the file; checks the blocks that it covers, and rebuilds those that are bad as
 * far as it goes. The file itself is only read. */
glassine_status gl_parity_mend(const gl_file *file, gl_mending *mending, glassine_error *error);

#endif
