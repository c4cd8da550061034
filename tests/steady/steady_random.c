/* Takes the place of getrandom(2) in a program that is started with this module preloaded (LD_PRELOAD), so
 * that its UUIDs and all that follows from them are the same in every run: a failure can be repeated. The
 * numbers are those of SplitMix64 (G. Steele, D. Lea, C. Flood, "Fast splittable pseudorandom number
 * generators", 2014) from the seed in STEADY_RANDOM. For tests only: nothing of it is in the program. */
#include <stdint.h>
#include <stdlib.h>
#include <sys/random.h>

static uint64_t state;

__attribute__((constructor)) static void begin(void) {
    const char *seed = getenv("STEADY_RANDOM");
    state = seed ? strtoull(seed, NULL, 10) : 0;
}

static uint64_t next(void) {
    uint64_t mixed = state += UINT64_C(0x9E3779B97F4A7C15);
    mixed = (mixed ^ mixed >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    mixed = (mixed ^ mixed >> 27) * UINT64_C(0x94D049BB133111EB);
    return mixed ^ mixed >> 31;
}

ssize_t getrandom(void *bytes, size_t length, unsigned flags) {
    unsigned char *at = bytes;
    (void)flags;
    for (size_t i = 0; i < length; i++)
        at[i] = (unsigned char)(next() >> 56);
    return (ssize_t)length;
}
