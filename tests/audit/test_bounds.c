/* What hostile files may cost: every file of testvectors/bad/ and attacks/ is audited, every pixel and
 * signature, in one process that may hold no more memory than spec/limits.md says, and reads no more of the
 * file than it says. No clock: a machine may be slow. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <dirent.h>
#include <stdatomic.h>
#include <sys/resource.h>

#include "base/calls.h"
#include "glassine.h"

enum {
    MEMORY_MIB = 64,
    READ_TIMES = 8,       /* the size of the file */
    READ_MORE = 64 * 1024 /* bytes, for small files */
};

static struct {
    gl_calls calls;
    atomic_uint_fast64_t bytes;
} reading;

static ssize_t count_bytes(int fd, void *bytes, size_t length, off_t at) {
    ssize_t got = gl_calls_system()->pread(fd, bytes, length, at);
    if (got > 0)
        atomic_fetch_add(&reading.bytes, (uint64_t)got);
    return got;
}

static uint64_t size_of(const char *path) {
    struct stat file;
    assert_int_equal(stat(path, &file), 0);
    return (uint64_t)file.st_size;
}

/* How many times its size the audit reads of the file; it never fails for want of memory. */
static double audited(const char *path) {
    const glassine_audit_options options = {.images = true};
    glassine_error error = {0};
    glassine_report *report = glassine_report_new("audit");
    assert_non_null(report);
    atomic_store(&reading.bytes, 0);
    glassine_status status = glassine_audit(path, &options, report, &error);
    if (status == GLASSINE_SYSTEM)
        fail_msg("%s: %s", path, error.message);
    glassine_report_free(report);
    uint64_t bytes = atomic_load(&reading.bytes), size = size_of(path);
    if (bytes > READ_TIMES * size + READ_MORE)
        fail_msg("%s has %llu bytes, and %llu were read", path, (unsigned long long)size,
                 (unsigned long long)bytes);
    return size ? (double)bytes / (double)size : 0;
}

static double most_of(const char *folder, size_t *count) {
    double most = 0;
    DIR *all = opendir(folder);
    assert_non_null(all);
    for (struct dirent *one; (one = readdir(all)) != NULL;) {
        const char *dot = strrchr(one->d_name, '.');
        if (!dot || strcmp(dot, ".glassine") != 0)
            continue;
        char path[512];
        snprintf(path, sizeof path, "%s/%s", folder, one->d_name);
        double times = audited(path);
        most = times > most ? times : most;
        ++*count;
    }
    closedir(all);
    return most;
}

static void hostile_files_cost_little(void **state) {
    (void)state;
#ifndef __SANITIZE_ADDRESS__
    const struct rlimit limit = {(rlim_t)MEMORY_MIB << 20, (rlim_t)MEMORY_MIB << 20};
    assert_int_equal(setrlimit(RLIMIT_DATA, &limit), 0);
#endif
    reading.calls = *gl_calls_system();
    reading.calls.pread = count_bytes;
    gl_calls_use(&reading.calls);
    size_t count = 0;
    double bad = most_of(TESTVECTORS "/bad", &count), attacks = most_of(TESTVECTORS "/attacks", &count);
    gl_calls_use(NULL);
    struct rusage used;
    assert_int_equal(getrusage(RUSAGE_SELF, &used), 0);
    assert_true(count > 300);
    print_message("%zu files, at most %.1f times their size read, peak of memory %.1f MiB\n", count,
                  bad > attacks ? bad : attacks, (double)used.ru_maxrss / 1024);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(hostile_files_cost_little)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
