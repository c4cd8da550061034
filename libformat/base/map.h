/* A hash map from spans (kept by the caller) to 32-bit numbers. Keyed by SipHash with a key of this process's
 * own, so that nobody can prepare names that collide; nothing that is derived depends on its order. */
#ifndef GL_BASE_MAP_H
#define GL_BASE_MAP_H

#include <stdint.h>

#include "base/span.h"

#define GL_NONE UINT32_MAX

typedef struct gl_map gl_map;
gl_map *gl_map_new(void);
void gl_map_free(gl_map *map);
void gl_map_clear(gl_map *map);
/* The number of `key`, GL_NONE where it has none. */
uint32_t gl_map_find(const gl_map *map, gl_span key);
/* Sets it (replacing); false when memory ran out. The key's bytes must outlive the map. */
bool gl_map_set(gl_map *map, gl_span key, uint32_t number);
/* The same where the key is new; else *number becomes the one that it has. */
bool gl_map_add(gl_map *map, gl_span key, uint32_t *number, bool *added);
size_t gl_map_count(const gl_map *map);

/* SipHash-2-4 of the bytes; the key as two little-endian words. */
uint64_t gl_siphash(const uint64_t key[2], const void *bytes, size_t length);

#endif
