#include "base/calls.h"

#include <fcntl.h>
#include <stdio.h>
#include <time.h>
#include <unistd.h>

#include "base/platform.h"

static int system_open(const char *path, int flags, mode_t mode) {
    return open(path, flags, mode);
}

static void system_sleep_ms(unsigned milliseconds) {
    struct timespec span = {.tv_sec = (time_t)(milliseconds / 1000),
                            .tv_nsec = (long)(milliseconds % 1000) * 1000000};
    nanosleep(&span, NULL);
}

static const gl_calls system_calls = {
    .open = system_open,
    .close = close,
    .read = read,
    .pread = pread,
    .pwrite = pwrite,
    .fstat = fstat,
    .stat = stat,
    .ftruncate = ftruncate,
    .fchmod = fchmod,
    .fdatasync = fdatasync,
    .fsync = fsync,
    .rename = rename,
    .link = link,
    .unlink = unlink,
    .mkdir = mkdir,
    .copy_file_range = gl_platform_copy_file_range,
    .sync_file_range = gl_platform_sync_file_range,
    .rename_new = gl_platform_rename_new,
    .flock = gl_platform_try_lock,
    .sleep_ms = system_sleep_ms,
};

static const gl_calls *calls_in_use = &system_calls;

const gl_calls *gl_calls_system(void) {
    return &system_calls;
}

void gl_calls_use(const gl_calls *calls) {
    calls_in_use = calls ? calls : &system_calls;
}

const gl_calls *gl_calls_now(void) {
    return calls_in_use;
}
