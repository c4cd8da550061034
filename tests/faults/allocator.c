#include "allocator.h"

#include <errno.h>
#include <execinfo.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The system's own, under the name that no program replaces. Under AddressSanitizer they are its. */
#if defined(__SANITIZE_ADDRESS__)
#define BELOW(name) __interceptor_##name
#else
#define BELOW(name) __libc_##name
#endif
void *BELOW(malloc)(size_t size);
void *BELOW(calloc)(size_t count, size_t size);
void *BELOW(realloc)(void *old, size_t size);
void BELOW(free)(void *piece);

enum { FRAMES = 24, PLACES = 1 << 19 };

typedef struct trace {
    void *frames[FRAMES];
    int count;
} trace;

/* Pieces that are out: open addressing, linear probing. The traces lie beside it, so that only a run that
 * wants them pays for them. */
static struct {
    bool on, fails, for_good, busy;
    uint64_t calls, failing, kept;
    void *pieces[PLACES];
    trace traces[PLACES];
    trace failed;
} watch;

static bool traced;

static size_t place_of(const void *piece) {
    return (size_t)((uintptr_t)piece / 16 * UINT64_C(0x9e3779b97f4a7c15) >> 45);
}

static size_t find(const void *piece) {
    size_t at = place_of(piece);
    while (watch.pieces[at] && watch.pieces[at] != piece)
        at = (at + 1) % PLACES;
    return at;
}

static void take_trace(trace *into) {
    if (watch.busy || !traced)
        return;
    watch.busy = true; /* the first backtrace gets memory itself */
    into->count = backtrace(into->frames, FRAMES);
    watch.busy = false;
}

static void *note(void *piece) {
    if (!watch.on || watch.busy || !piece)
        return piece;
    size_t at = find(piece);
    watch.kept += !watch.pieces[at];
    watch.pieces[at] = piece;
    take_trace(&watch.traces[at]);
    return piece;
}

/* Takes it off, and moves up what lay behind it in the same run. */
static void forget(const void *piece) {
    if (!piece || watch.kept == 0)
        return;
    size_t gap = find(piece);
    if (!watch.pieces[gap])
        return;
    watch.kept--;
    for (size_t at = (gap + 1) % PLACES; watch.pieces[at]; at = (at + 1) % PLACES) {
        size_t home = place_of(watch.pieces[at]);
        if ((at - home) % PLACES < (at - gap) % PLACES)
            continue;
        watch.pieces[gap] = watch.pieces[at];
        watch.traces[gap] = traced ? watch.traces[at] : watch.traces[gap];
        gap = at;
    }
    watch.pieces[gap] = NULL;
}

static bool refuses(void) {
    if (!watch.on || watch.busy || !watch.fails)
        return false;
    uint64_t number = ++watch.calls;
    if (watch.failing == 0 || number < watch.failing || (number > watch.failing && !watch.for_good))
        return false;
    if (number == watch.failing)
        take_trace(&watch.failed);
    errno = ENOMEM;
    return true;
}

void *malloc(size_t size) {
    return refuses() ? NULL : note(BELOW(malloc)(size));
}

void *calloc(size_t count, size_t size) {
    return refuses() ? NULL : note(BELOW(calloc)(count, size));
}

void *realloc(void *old, size_t size) {
    if (refuses())
        return NULL;
    bool noted = old && watch.kept && watch.pieces[find(old)];
    void *new = BELOW(realloc)(old, size);
    if (noted && new)
        forget(old);
    return !old || noted ? note(new) : new;
}

void free(void *piece) {
    forget(piece);
    BELOW(free)(piece);
}

void allocator_watch(uint64_t failing, bool for_good) {
    if (watch.kept)
        memset(watch.pieces, 0, sizeof watch.pieces);
    watch.calls = watch.kept = 0;
    watch.failing = failing;
    watch.for_good = for_good;
    watch.failed.count = 0;
    watch.on = watch.fails = true;
}

void allocator_relax(void) {
    watch.fails = false;
}

uint64_t allocator_stop(void) {
    watch.on = false;
    return watch.calls;
}

uint64_t allocator_kept(void) {
    return watch.kept;
}

void allocator_trace(bool on) {
    traced = on;
}

void allocator_show_failing(void) {
    backtrace_symbols_fd(watch.failed.frames, watch.failed.count, STDERR_FILENO);
}

void allocator_show_kept(void) {
    for (size_t at = 0; at < PLACES; at++)
        if (watch.pieces[at]) {
            backtrace_symbols_fd(watch.traces[at].frames, watch.traces[at].count, STDERR_FILENO);
            (void)!write(STDERR_FILENO, "\n", 1);
        }
}
