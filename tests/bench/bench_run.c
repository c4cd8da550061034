/* Runs a command and says how long it took and what it used: bench_run REPORT COMMAND… (its output goes where
 * ours goes). Into the file REPORT: wall seconds, processor seconds, peak memory in KiB, exit status, bytes
 * written to disk. Small, so that a process of milliseconds is measured and not the one that starts it. */
#define _GNU_SOURCE /* wait4 */
#include <spawn.h>
#include <stdio.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>

extern char **environ;

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec / 1e9;
}

static double seconds(struct timeval time) {
    return (double)time.tv_sec + (double)time.tv_usec / 1e6;
}

int main(int count, char **words) {
    if (count < 3) {
        fprintf(stderr, "usage: bench_run REPORT COMMAND...\n");
        return 2;
    }
    pid_t child;
    double began = now();
    int code = posix_spawnp(&child, words[2], NULL, NULL, words + 2, environ), status = 0;
    struct rusage used;
    if (code != 0 || wait4(child, &status, 0, &used) != child) {
        fprintf(stderr, "bench_run: %s cannot be run\n", words[2]);
        return 3;
    }
    double took = now() - began;
    FILE *report = fopen(words[1], "w");
    if (report == NULL)
        return 3;
    fprintf(report, "%.6f %.6f %ld %d %ld\n", took, seconds(used.ru_utime) + seconds(used.ru_stime),
            used.ru_maxrss, WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status),
            used.ru_oublock * 512);
    return fclose(report) == 0 ? 0 : 3;
}
