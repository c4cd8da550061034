/* Known numbers in the place of the system's random ones, so that the program makes the same bundle twice:
 * linked with --wrap=gl_platform_random. KNOWN_RANDOM (a number) is where a run of the program begins. */
#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

bool __wrap_gl_platform_random(void *bytes, size_t length);

/* SplitMix64 (Steele, Lea, Flood 2014), byte by byte: the same on machines of either order of bytes. */
static uint8_t next(uint64_t *state) {
    uint64_t mixed = *state += 0x9e3779b97f4a7c15u;
    mixed = (mixed ^ (mixed >> 30)) * 0xbf58476d1ce4e5b9u;
    mixed = (mixed ^ (mixed >> 27)) * 0x94d049bb133111ebu;
    return (uint8_t)(mixed >> 56);
}

bool __wrap_gl_platform_random(void *bytes, size_t length) {
    static pthread_mutex_t one_at_a_time =
        PTHREAD_MUTEX_INITIALIZER; /* maps on several threads ask for seeds */
    static uint64_t state;
    static bool begun;
    const char *from = getenv("KNOWN_RANDOM");
    pthread_mutex_lock(&one_at_a_time);
    if (!begun && from)
        state = strtoull(from, NULL, 10);
    begun = true;
    for (uint8_t *at = bytes; length; length--)
        *at++ = next(&state);
    pthread_mutex_unlock(&one_at_a_time);
    return true;
}
