/* What the fuzzing targets share. A target is one function that takes any bytes and must come to an answer:
 * no crash, no sanitizer's complaint, no property broken (FUZZ_HOLDS). libFuzzer calls it (`scripts/fuzz`),
 * and replay.c, with the files that it is given. */
#ifndef TESTS_FUZZ_H
#define TESTS_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/buf.h"
#include "base/calls.h"
#include "base/file.h"
#include "glassine.h"

#define UNUSED __attribute__((unused))

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* A property of the answer: broken, the program stops where everybody sees it. */
#define FUZZ_HOLDS(condition)                                                                                \
    do {                                                                                                     \
        if (!(condition)) {                                                                                  \
            fprintf(stderr, "%s:%d: does not hold: %s\n", __FILE__, __LINE__, #condition);                   \
            abort();                                                                                         \
        }                                                                                                    \
    } while (0)

static inline gl_span fuzz_span(const uint8_t *data, size_t size) {
    return (gl_span){(const char *)data, size};
}

/* A refusal says why. */
static inline void fuzz_said(glassine_status status, const glassine_error *error) {
    if (status)
        FUZZ_HOLDS(error->message[0] != '\0');
}

static char fuzz_folder[96];

static inline void fuzz_drop_folder(void) {
    char command[128];
    snprintf(command, sizeof command, "rm -rf '%s'", fuzz_folder);
    if (system(command))
        fprintf(stderr, "%s stays behind\n", fuzz_folder);
}

static inline int fuzz_sync_nothing(int fd) {
    (void)fd;
    return 0;
}

/* A path in a folder of this process, which goes when it ends. Disks are not made to write anything. */
UNUSED static const char *fuzz_path(const char *name, char out[160]) {
    static gl_calls calls;
    if (!fuzz_folder[0]) {
        calls = *gl_calls_system();
        calls.fdatasync = calls.fsync = fuzz_sync_nothing;
        gl_calls_use(&calls);
        const char *root = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
        snprintf(fuzz_folder, sizeof fuzz_folder, "%s/glassine-fuzz-XXXXXX", root);
        FUZZ_HOLDS(mkdtemp(fuzz_folder) != NULL);
        atexit(fuzz_drop_folder);
    }
    snprintf(out, 160, "%s/%s", fuzz_folder, name);
    return out;
}

/* The bytes as a file. */
UNUSED static const char *fuzz_file(const char *name, gl_span bytes) {
    static char paths[2][160];
    static unsigned next;
    char *path = paths[next++ % 2];
    fuzz_path(name, path);
    unlink(path);
    FUZZ_HOLDS(gl_file_write_all(path, bytes, true) == 0);
    return path;
}

#endif
