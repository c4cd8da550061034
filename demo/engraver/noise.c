#include "noise.h"

#include <math.h>

static uint32_t mix(uint32_t h) {
    h ^= h >> 16;
    h *= 0x7feb352dU;
    h ^= h >> 15;
    h *= 0x846ca68bU;
    return h ^ h >> 16;
}

float noise_point(uint32_t seed, int32_t x, int32_t y) {
    uint32_t h = mix(seed * 0x9e3779b9U + (uint32_t)x * 0x85ebca6bU + (uint32_t)y * 0xc2b2ae35U);
    return (float)(h >> 8) / 16777216.0f;
}

float noise_smooth(uint32_t seed, float x, float y) {
    float left = floorf(x), top = floorf(y);
    float u = x - left, v = y - top;
    int32_t ix = (int32_t)left, iy = (int32_t)top;
    u = u * u * (3 - 2 * u);
    v = v * v * (3 - 2 * v);
    float a = noise_point(seed, ix, iy), b = noise_point(seed, ix + 1, iy);
    float c = noise_point(seed, ix, iy + 1), d = noise_point(seed, ix + 1, iy + 1);
    return (a + (b - a) * u) * (1 - v) + (c + (d - c) * u) * v;
}

float noise_cloud(uint32_t seed, float x, float y) {
    return (noise_smooth(seed, x, y) * 2 + noise_smooth(seed + 1, x * 2.7f, y * 2.7f)) * (2.0f / 3) - 1;
}

float dice_unit(dice *d) {
    d->throws++;
    return noise_point(d->seed, (int32_t)d->throws, 7);
}

float dice_between(dice *d, float least, float most) {
    return least + (most - least) * dice_unit(d);
}
