#include "system.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <unistd.h>

long __wrap_sysconf(int name);
long __real_sysconf(int name);
bool __wrap_gl_platform_random(void *bytes, size_t length);

static uint64_t state;

void system_begin(void) {
    state = 1861; /* other numbers than what made the scene, so that no record is met twice */
}

/* One processor, whatever the machine has, so that allocations come in one order. */
long __wrap_sysconf(int name) {
    return name == _SC_NPROCESSORS_ONLN ? 1 : __real_sysconf(name);
}

bool __wrap_gl_platform_random(void *bytes, size_t length) {
    for (uint8_t *at = bytes; length; length--) {
        state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        *at++ = (uint8_t)(state >> 56);
    }
    return true;
}
