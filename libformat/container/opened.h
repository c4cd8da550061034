/* What an open file is made of. Private to this layer. */
#ifndef GL_CONTAINER_OPENED_H
#define GL_CONTAINER_OPENED_H

#include "base/map.h"
#include "container/footer.h"

struct gl_zip {
    gl_file file;
    char *path;
    gl_finding found;
    gl_map *names;   /* inner name -> index; of names that are gone an index of something else, or none */
    gl_arena *arena; /* names of entries that were saved since; NULL: none */
};

#endif
