#include "base/work.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/platform.h"

enum { THREADS_MOST = 16, BETWEEN_MS = 100, FEW_BYTES = 64 * 1024 };

typedef struct work {
    atomic_size_t next;
    size_t count;
    void (*job)(void *context, size_t index);
    void *context;
    gl_watch *watch; /* NULL: nobody's */
    pthread_mutex_t lock;
    pthread_cond_t ended;
    size_t running; /* threads beside the caller's */
} work;

static void do_some(work *it) {
    size_t index;
    while ((index = atomic_fetch_add(&it->next, 1)) < it->count) {
        it->job(it->context, index);
        if (it->watch && !gl_watch_add(it->watch, 0))
            break;
    }
}

static void *helper(void *argument) {
    work *it = argument;
    do_some(it);
    pthread_mutex_lock(&it->lock);
    it->running--;
    pthread_cond_signal(&it->ended);
    pthread_mutex_unlock(&it->lock);
    return NULL;
}

static size_t threads_wanted(size_t count) {
    size_t most = gl_platform_processors();
    if (most > THREADS_MOST)
        most = THREADS_MOST;
    return most < count ? most : count;
}

static struct timespec soon(void) {
    struct timespec time;
    clock_gettime(CLOCK_REALTIME, &time); /* what a condition variable counts in */
    time.tv_nsec += BETWEEN_MS * 1000000L;
    time.tv_sec += time.tv_nsec / 1000000000L;
    time.tv_nsec %= 1000000000L;
    return time;
}

/* Waits for the helpers, telling meanwhile; what they have done in the end is told by whoever called this. */
static void look_on(work *it) {
    pthread_mutex_lock(&it->lock);
    while (it->running) {
        struct timespec until = soon();
        pthread_cond_timedwait(&it->ended, &it->lock, &until);
        if (it->running) {
            pthread_mutex_unlock(&it->lock);
            gl_watch_tell(it->watch);
            pthread_mutex_lock(&it->lock);
        }
    }
    pthread_mutex_unlock(&it->lock);
}

static bool start_one(work *it, pthread_t *thread) {
    pthread_mutex_lock(&it->lock);
    it->running++;
    pthread_mutex_unlock(&it->lock);
    if (pthread_create(thread, NULL, helper, it) == 0)
        return true;
    pthread_mutex_lock(&it->lock);
    it->running--;
    pthread_mutex_unlock(&it->lock);
    return false;
}

/* Watched, all of it lies with the helpers, so that the caller's thread can look on; else the caller's takes
 * part. Whoever looks on is asked before anything begins: the work may be over before they are asked again. */
void gl_work_watched(size_t count, void (*job)(void *context, size_t index), void *context, gl_watch *watch) {
    work it = {.count = count,
               .job = job,
               .context = context,
               .watch = watch,
               .lock = PTHREAD_MUTEX_INITIALIZER,
               .ended = PTHREAD_COND_INITIALIZER};
    pthread_t threads[THREADS_MOST];
    size_t wanted = threads_wanted(count), started = 0;
    bool watched = watch && watch->by;
    if (watched && !gl_watch_tell(watch))
        return;
    if (wanted && !watched)
        wanted--;
    while (started < wanted && start_one(&it, &threads[started]))
        started++;
    if (watched && started)
        look_on(&it);
    else
        do_some(&it);
    while (started)
        pthread_join(threads[--started], NULL);
    if (watched)
        gl_watch_tell(watch); /* they may all be done before anybody looked on */
    pthread_mutex_destroy(&it.lock);
    pthread_cond_destroy(&it.ended);
}

void gl_work(size_t count, void (*job)(void *context, size_t index), void *context) {
    gl_work_watched(count, job, context, NULL);
}

void gl_work_on(uint64_t bytes, size_t count, void (*job)(void *context, size_t index), void *context,
                gl_watch *watch) {
    if (bytes > FEW_BYTES || (watch && watch->by)) {
        gl_work_watched(count, job, context, watch);
        return;
    }
    for (size_t i = 0; i < count; i++)
        job(context, i);
}

/* ---- memory ---- */

enum { PIECE = 2 * 1024 * 1024 };

typedef struct filling {
    char *to;
    const char *from; /* NULL: only asked for */
    size_t size;
} filling;

static void fill_piece(void *context, size_t index) {
    const filling *it = context;
    size_t at = index * PIECE, length = it->size - at < PIECE ? it->size - at : PIECE;
    if (it->from)
        memcpy(it->to + at, it->from + at, length);
    else
        gl_platform_hand_out(it->to + at, length);
}

void gl_work_hand_out(void *memory, size_t size) {
    filling it = {.to = memory, .size = size};
    if (size >= 2 * (size_t)PIECE)
        gl_work((size + PIECE - 1) / PIECE, fill_piece, &it);
}

void gl_work_copy(void *to, const void *from, size_t size) {
    filling it = {to, from, size};
    if (size)
        gl_work((size + PIECE - 1) / PIECE, fill_piece, &it);
}

/* ---- beside ---- */

struct gl_beside {
    pthread_t thread;
    void (*job)(void *context);
    void *context;
};

static void *do_beside(void *argument) {
    gl_beside *it = argument;
    it->job(it->context);
    return NULL;
}

gl_beside *gl_beside_begin(void (*job)(void *context), void *context) {
    gl_beside *it = gl_platform_processors() > 1 ? malloc(sizeof *it) : NULL;
    if (!it)
        return NULL;
    it->job = job;
    it->context = context;
    if (pthread_create(&it->thread, NULL, do_beside, it) == 0)
        return it;
    free(it);
    return NULL;
}

void gl_beside_end(gl_beside *beside) {
    if (!beside)
        return;
    pthread_join(beside->thread, NULL);
    free(beside);
}
