#include "base/map.h"

#include <stdlib.h>

#include "base/platform.h"

typedef struct slot {
    const char *text; /* NULL: free */
    size_t length;
    uint32_t number;
    uint32_t hash; /* kept: spares most comparisons, and growing needs no key */
} slot;

struct gl_map {
    slot *slots;
    size_t mask; /* number of slots - 1, a power of two - 1 */
    size_t count;
    uint64_t key[2];
};

#define FIRST_SLOTS ((size_t)16)

gl_map *gl_map_new(void) {
    gl_map *map = calloc(1, sizeof *map);
    if (!map)
        return NULL;
    map->mask = FIRST_SLOTS - 1;
    map->slots = calloc(FIRST_SLOTS, sizeof *map->slots);
    if (!map->slots || !gl_platform_random(map->key, sizeof map->key)) {
        gl_map_free(map);
        return NULL;
    }
    return map;
}

void gl_map_free(gl_map *map) {
    if (!map)
        return;
    free(map->slots);
    free(map);
}

void gl_map_clear(gl_map *map) {
    memset(map->slots, 0, (map->mask + 1) * sizeof *map->slots);
    map->count = 0;
}

size_t gl_map_count(const gl_map *map) {
    return map->count;
}

static inline uint64_t rotate(uint64_t x, unsigned by) {
    return x << by | x >> (64 - by);
}

static inline void sip_round(uint64_t v[4]) {
    v[0] += v[1];
    v[1] = rotate(v[1], 13) ^ v[0];
    v[0] = rotate(v[0], 32);
    v[2] += v[3];
    v[3] = rotate(v[3], 16) ^ v[2];
    v[0] += v[3];
    v[3] = rotate(v[3], 21) ^ v[0];
    v[2] += v[1];
    v[1] = rotate(v[1], 17) ^ v[2];
    v[2] = rotate(v[2], 32);
}

static inline uint64_t little_endian(const unsigned char *bytes, size_t count) {
    uint64_t word = 0;
    for (size_t i = 0; i < count; i++)
        word |= (uint64_t)bytes[i] << (8 * i);
    return word;
}

/* SipHash-2-4 (J.-P. Aumasson, D. J. Bernstein, "SipHash: a fast short-input PRF", 2012). */
uint64_t gl_siphash(const uint64_t key[2], const void *bytes, size_t length) {
    const unsigned char *at = bytes;
    uint64_t v[4] = {key[0] ^ UINT64_C(0x736f6d6570736575), key[1] ^ UINT64_C(0x646f72616e646f6d),
                     key[0] ^ UINT64_C(0x6c7967656e657261), key[1] ^ UINT64_C(0x7465646279746573)};
    uint64_t last = (uint64_t)length << 56;
    for (; length >= 8; at += 8, length -= 8) {
        uint64_t word = little_endian(at, 8);
        v[3] ^= word;
        sip_round(v);
        sip_round(v);
        v[0] ^= word;
    }
    last |= little_endian(at, length);
    v[3] ^= last;
    sip_round(v);
    sip_round(v);
    v[0] ^= last;
    v[2] ^= 0xff;
    for (int i = 0; i < 4; i++)
        sip_round(v);
    return v[0] ^ v[1] ^ v[2] ^ v[3];
}

static uint32_t hash_of(const gl_map *map, gl_span key) {
    uint64_t hash = gl_siphash(map->key, key.text, key.length);
    return (uint32_t)(hash ^ hash >> 32);
}

/* The slot of that key, or the free one where it belongs. */
static slot *slot_of(const gl_map *map, gl_span key, uint32_t hash) {
    for (size_t i = hash & map->mask;; i = (i + 1) & map->mask) {
        slot *s = &map->slots[i];
        if (!s->text)
            return s;
        if (s->hash == hash && s->length == key.length &&
            (key.length == 0 || memcmp(s->text, key.text, key.length) == 0))
            return s;
    }
}

uint32_t gl_map_find(const gl_map *map, gl_span key) {
    const slot *s = slot_of(map, key, hash_of(map, key));
    return s->text ? s->number : GL_NONE;
}

static bool grow(gl_map *map) {
    size_t old = map->mask + 1;
    if (old > SIZE_MAX / 2 / sizeof(slot))
        return false;
    slot *slots = calloc(old * 2, sizeof *slots);
    if (!slots)
        return false;
    gl_platform_expect_filled(slots, old * 2 * sizeof *slots);
    size_t mask = old * 2 - 1;
    for (size_t i = 0; i < old; i++) {
        if (!map->slots[i].text)
            continue;
        size_t j = map->slots[i].hash & mask;
        while (slots[j].text)
            j = (j + 1) & mask;
        slots[j] = map->slots[i];
    }
    free(map->slots);
    map->slots = slots;
    map->mask = mask;
    return true;
}

/* The slot of that key, which is taken for it where it is not there yet; NULL when memory ran out. */
static slot *take_slot(gl_map *map, gl_span key, bool *added) {
    if (!key.text)
        key.text = ""; /* a slot without text is a free one */
    uint32_t hash = hash_of(map, key);
    slot *s = slot_of(map, key, hash);
    *added = !s->text;
    if (!*added)
        return s;
    if (map->count >= (map->mask + 1) / 3 * 2) {
        if (!grow(map))
            return NULL;
        s = slot_of(map, key, hash);
    }
    *s = (slot){key.text, key.length, GL_NONE, hash};
    map->count++;
    return s;
}

bool gl_map_set(gl_map *map, gl_span key, uint32_t number) {
    bool added;
    slot *s = take_slot(map, key, &added);
    if (s)
        s->number = number;
    return s;
}

bool gl_map_add(gl_map *map, gl_span key, uint32_t *number, bool *added) {
    slot *s = take_slot(map, key, added);
    if (!s)
        return false;
    if (*added)
        s->number = *number;
    *number = s->number;
    return true;
}
