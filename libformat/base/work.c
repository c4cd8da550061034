#include "base/work.h"

#include <pthread.h>
#include <stdatomic.h>
#include <unistd.h>

enum { THREADS_MOST = 16 };

typedef struct work {
    atomic_size_t next;
    size_t count;
    void (*job)(void *context, size_t index);
    void *context;
} work;

static void *do_some(void *argument) {
    work *it = argument;
    size_t index;
    while ((index = atomic_fetch_add(&it->next, 1)) < it->count)
        it->job(it->context, index);
    return NULL;
}

/* Beside the caller's own. */
static size_t threads_wanted(size_t count) {
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    size_t most = processors < 1 ? 1 : (size_t)processors;
    if (most > THREADS_MOST)
        most = THREADS_MOST;
    if (most > count)
        most = count;
    return most ? most - 1 : 0;
}

void gl_work(size_t count, void (*job)(void *context, size_t index), void *context) {
    work it = {.count = count, .job = job, .context = context};
    pthread_t threads[THREADS_MOST];
    size_t wanted = threads_wanted(count), running = 0;
    while (running < wanted && pthread_create(&threads[running], NULL, do_some, &it) == 0)
        running++;
    do_some(&it);
    while (running)
        pthread_join(threads[--running], NULL);
}
