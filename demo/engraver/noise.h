/* Seeded chance: the same seed gives the same picture on every machine. */
#ifndef ENGRAVER_NOISE_H
#define ENGRAVER_NOISE_H

#include <stdint.h>

/* A number 0 … 1 that depends on the seed and the lattice point alone. */
float noise_point(uint32_t seed, int32_t x, int32_t y);
/* Smooth between lattice points one unit apart; 0 … 1. */
float noise_smooth(uint32_t seed, float x, float y);
/* Two octaves of it, around 0: -1 … 1. */
float noise_cloud(uint32_t seed, float x, float y);

typedef struct dice {
    uint32_t seed, throws;
} dice;
float dice_unit(dice *d); /* 0 … 1 */
float dice_between(dice *d, float least, float most);

#endif
