/* How long it takes to check, chain and index a log, and to read all its records: bench_slips [SLIPS].
 * Prints figures for people; nothing depends on them. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

#include "base/clock.h"
#include "slips/log.h"
#include "slips/reading.h"

#define ROUNDS 3 /* slips on one record */

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void say(const char *what, double since) {
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    printf("%-44s %6.3f s, peak %ld MiB\n", what, seconds() - since, usage.ru_maxrss / 1024);
}

static void fail(const glassine_error *error) {
    fprintf(stderr, "%s: %s (%s)\n", error->place, error->message, error->rule);
    exit(1);
}

/* Records of ROUNDS slips each, the later ones following the first. */
static void write_slips(uint32_t count, gl_buf *out) {
    gl_digest before = {{0}};
    gl_hash *hash = gl_hash_new();
    for (uint32_t i = 0; i < count; i++) {
        size_t start = out->length;
        char record[64], set[256];
        snprintf(record, sizeof record, "claim/%08x-0000-4000-8000-000000000000", i / ROUNDS);
        snprintf(
            set, sizeof set,
            "{\"confidence\":\"probable\",\"positions\":\"column %u and row 1-%u\",\"remark\":\"guide dot "
            "touches the left frame\",\"stamp\":\"stamp/%08x-0000-4000-8000-000000000001\"}",
            i % 10 + 1, i % 12 + 1, i);
        gl_slip_parts parts = {.after = &before,
                               .after_count = i % ROUNDS ? 1 : 0,
                               .at = GL_SPAN("2026-11-25T08:50:59Z"),
                               .by = GL_SPAN("contributor/00000000-0000-4000-8000-000000000002"),
                               .record = gl_span_of(record),
                               .reach = GLASSINE_SHARED,
                               .set = gl_span_of(set)};
        gl_slip_write(&parts, out);
        if (i % ROUNDS == 0)
            before = gl_hash_once(hash, out->text + start, out->length - start);
        gl_buf_add_char(out, '\n');
    }
    gl_hash_free(hash);
}

static void close_edition(uint32_t count, gl_buf *out) {
    glassine_error error;
    gl_edition_parts parts = {.edition = 1,
                              .at = GL_SPAN("2026-11-25T08:50:59Z"),
                              .by = GL_SPAN("contributor/00000000-0000-4000-8000-000000000002"),
                              .note = GL_SPAN(""),
                              .tool = GL_SPAN("bench"),
                              .slips = count,
                              .brings = GL_SPAN("[]")};
    gl_buf line = GL_BUF_EMPTY;
    if (gl_log_close(NULL, gl_buf_span(out), &parts, &line, &error))
        fail(&error);
    gl_buf_add(out, gl_buf_span(&line));
    gl_buf_free(&line);
}

static size_t read_all(const gl_store *store, glassine_error *error) {
    size_t fields = 0;
    for (uint32_t i = 0; i < gl_store_records(store); i++) {
        gl_arena *arena = gl_arena_new();
        gl_reading reading;
        if (gl_reading_make(store, i, GL_NONE, arena, &reading, NULL, error))
            fail(error);
        fields += reading.field_count;
        gl_arena_free(arena);
    }
    return fields;
}

int main(int argc, char **argv) {
    uint32_t count = argc > 1 ? (uint32_t)strtoul(argv[1], NULL, 10) : 500000;
    glassine_error error = {0};
    gl_buf text = GL_BUF_EMPTY;
    double start = seconds();
    write_slips(count, &text);
    close_edition(count, &text);
    printf("%" PRIu32 " slips, %zu bytes (%zu a slip)\n", count, text.length,
           text.length / (count ? count : 1));
    say("write", start);

    start = seconds();
    glassine_limits limits = glassine_limits_default();
    gl_line_kind kind;
    for (const char *at = text.text; at < text.text + text.length;) {
        const char *end = strchr(at, '\n');
        if (gl_line_check((gl_span){at, (size_t)(end - at)}, &limits, "", &kind, &error))
            fail(&error);
        at = end + 1;
    }
    say("check only", start);

    start = seconds();
    gl_store *store = gl_store_new();
    gl_log *log = gl_log_new(store);
    if (gl_log_read(log, gl_buf_span(&text), 1, 1, 0, &limits, "log", &error))
        fail(&error);
    say("check, hash, chain and index", start);

    start = seconds();
    gl_digest digest;
    if (gl_store_digest(store, &digest, &error))
        fail(&error);
    say("content digest", start);

    start = seconds();
    printf("%zu fields\n", read_all(store, &error));
    say("read all records", start);
    gl_log_free(log);
    gl_store_free(store);
    gl_buf_free(&text);
    return 0;
}
