/* What a salvage is made of. Private to this layer. */
#ifndef GL_CONTAINER_SALVAGING_H
#define GL_CONTAINER_SALVAGING_H

#include "container/footer.h"
#include "container/salvage.h"

/* A local header or a directory record that was met somewhere. */
typedef struct gl_sighting {
    uint64_t at;   /* where the local header is, or is said to be */
    uint64_t seen; /* where these words were read; the name lies behind the fixed part */
    uint64_t size, packed;
    uint64_t name_hash;
    uint32_t crc;
    uint16_t method, date, time, name_length;
    bool listed;    /* in a directory */
    uint32_t times; /* that it was met so */
} gl_sighting;

typedef struct gl_sightings {
    gl_sighting *list; /* sorted by place, none twice */
    size_t count, room;
    uint32_t edition; /* the greatest that an end record names */
} gl_sightings;

/* salvage_find.c */
glassine_status gl_sightings_find(const gl_file *file, gl_sightings *found, glassine_error *error);

typedef struct gl_base_count {
    gl_span base;
    size_t pieces, whole;
} gl_base_count;

struct gl_salvage {
    gl_file file;
    char *path;
    gl_arena *arena;
    gl_piece *pieces; /* of every base while it is made, then of `base` alone */
    size_t count, room;
    gl_base_count *bases;
    size_t base_count, base_room;
    gl_span base;
    uint64_t *taken; /* pairs of offsets, sorted: what belongs to whole pieces of any base */
    size_t taken_count, taken_room;
    uint64_t budget; /* bytes that may still be read to check pieces */
    uint32_t edition;
};

/* Does from..to belong to no whole piece; from now on it does. */
bool gl_salvage_is_free(const gl_salvage *salvage, uint64_t from, uint64_t to);
bool gl_salvage_take_range(gl_salvage *salvage, uint64_t from, uint64_t to);
/* NULL: no memory. */
gl_piece *gl_salvage_add_piece(gl_salvage *salvage, const gl_piece *piece);
/* Says that the piece's local header lies at `at`. */
void gl_salvage_place(gl_piece *piece, uint64_t at);

/* A stretch of the file that belongs to no whole piece; *at is where to look from, then behind it. False at
 * the end of the file. */
bool gl_salvage_gap(const gl_salvage *salvage, uint64_t *at, uint64_t *from, uint64_t *to);

#endif
