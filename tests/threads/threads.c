/* Handles are independent: threads that each have their own work side by side, on one file and on several,
 * and ThreadSanitizer sees no access that is not ordered. The library is built for this test with
 * -fsanitize=thread. */
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "glassine.h"

enum { THREADS = 4, ROUNDS = 3, STAMPS = 12 };

static char folder[128];

static void stop(const char *what, const glassine_error *error) {
    char line[2048];
    glassine_error_line(error, line, sizeof line);
    fprintf(stderr, "FAIL %s: %s\n", what, line);
    exit(1);
}

#define MUST(call)                                                                                           \
    do {                                                                                                     \
        glassine_error error = {0};                                                                          \
        if ((call) != GLASSINE_OK)                                                                           \
            stop(#call, &error);                                                                             \
    } while (0)

static glassine_record *enter(glassine_draft *draft, const char *type, size_t count,
                              const glassine_assignment *fields) {
    glassine_record *record = NULL;
    MUST(glassine_draft_enter(draft, type, fields, count, NULL, &record, &error));
    return record;
}

static void fill(glassine_draft *draft) {
    enter(draft, "design", 1, (glassine_assignment[]){{"label", "KF", NULL}});
    enter(draft, "plate", 4,
          (glassine_assignment[]){
              {"label", "1", NULL}, {"design", "KF", NULL}, {"rows", "12", NULL}, {"columns", "10", NULL}});
    enter(draft, "mark", 5,
          (glassine_assignment[]){{"plate", "1", NULL},
                                  {"positions", "column 4", NULL},
                                  {"appearance", "dot", NULL},
                                  {"x", "20", NULL},
                                  {"y", "500", NULL}});
    for (int i = 1; i <= STAMPS; i++) {
        char label[16], position[16];
        snprintf(label, sizeof label, "K-%03d", i);
        snprintf(position, sizeof position, "%d", i * 7);
        enter(draft, "item", 1, (glassine_assignment[]){{"label", label, NULL}});
        enter(draft, "stamp", 2, (glassine_assignment[]){{"item", label, NULL}, {"design", "KF", NULL}});
        enter(draft, "claim", 2,
              (glassine_assignment[]){{"stamp", label, NULL}, {"positions", position, NULL}});
    }
    MUST(glassine_draft_save(draft, "filled", &error));
}

static void make(const char *path) {
    MUST(glassine_bundle_make(path, "Kingfishers", "Wren Alderby", &error));
    glassine_bundle *bundle = NULL;
    glassine_draft *draft = NULL;
    MUST(glassine_bundle_open(path, GLASSINE_WRITE, NULL, &bundle, &error));
    MUST(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    fill(draft);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
}

static void read_all(const char *path, char digest[65]) {
    glassine_bundle *bundle = NULL;
    glassine_cursor *cursor = NULL;
    glassine_standings *standings = NULL;
    MUST(glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error));
    glassine_bundle_digest(bundle, digest);
    MUST(glassine_cursor_new(bundle, "stamp", false, &cursor, &error));
    size_t stamps = 0;
    for (glassine_record *stamp; (stamp = glassine_cursor_next(cursor)); stamps++) {
        size_t count = 0;
        const glassine_field *fields = NULL;
        MUST(glassine_record_fields(bundle, stamp, &fields, &count, &error));
        if (count < 2)
            stop("a stamp has two fields", &(glassine_error){.message = "it has fewer"});
    }
    if (stamps != STAMPS)
        stop("stamps", &(glassine_error){.message = "not all of them are there"});
    MUST(glassine_standings_new(bundle, NULL, &standings, &error));
    glassine_standings_free(standings);
    glassine_cursor_free(cursor);
    glassine_bundle_close(bundle);
    glassine_report *report = glassine_report_new("audit");
    MUST(glassine_audit(path, &(glassine_audit_options){0}, report, &error));
    if (glassine_report_findings(report, GLASSINE_WARNING))
        stop("a sound file", &(glassine_error){.message = "the audit finds something"});
    glassine_report_free(report);
}

/* One thread: reads the file that all read, makes and fills one of its own, merges the common one into it,
 * and saves into the one that all write to, in turn. */
static void *work(void *argument) {
    const unsigned number = *(const unsigned *)argument;
    char common[256], own[256], shared[256], digest[65], first[65] = "";
    snprintf(common, sizeof common, "%s/common.glassine", folder);
    snprintf(own, sizeof own, "%s/own-%u.glassine", folder, number);
    snprintf(shared, sizeof shared, "%s/shared.glassine", folder);
    make(own);
    for (int round = 0; round < ROUNDS; round++) {
        read_all(common, digest);
        if (first[0] && strcmp(first, digest) != 0)
            stop("the same file has the same digest", &(glassine_error){.message = "it has another"});
        memcpy(first, digest, sizeof first);
    }
    glassine_bundle *bundle = NULL;
    glassine_draft *draft = NULL;
    MUST(glassine_bundle_open(own, GLASSINE_WRITE, NULL, &bundle, &error));
    MUST(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    const char *source = common;
    glassine_report *report = glassine_report_new("merge");
    MUST(glassine_merge(draft, &source, 1, &(glassine_merge_options){0}, report, &error));
    glassine_report_free(report);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);

    MUST(
        glassine_bundle_open(shared, GLASSINE_WRITE, &(glassine_options){.wait_ms = 60000}, &bundle, &error));
    MUST(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    char label[16];
    snprintf(label, sizeof label, "T-%03u", number);
    enter(draft, "item", 1, (glassine_assignment[]){{"label", label, NULL}});
    MUST(glassine_draft_save(draft, NULL, &error));
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    return NULL;
}

int main(void) {
    const char *root = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/glassine-threads-XXXXXX", root ? root : "/tmp");
    if (!mkdtemp(folder))
        return 1;
    char path[256], command[256];
    snprintf(path, sizeof path, "%s/common.glassine", folder);
    make(path);
    snprintf(path, sizeof path, "%s/shared.glassine", folder);
    make(path);
    pthread_t threads[THREADS];
    unsigned numbers[THREADS];
    for (unsigned i = 0; i < THREADS; i++) {
        numbers[i] = i;
        if (pthread_create(&threads[i], NULL, work, &numbers[i]) != 0)
            return 1;
    }
    for (unsigned i = 0; i < THREADS; i++)
        pthread_join(threads[i], NULL);
    glassine_bundle *bundle = NULL;
    MUST(glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error));
    unsigned editions = glassine_bundle_edition(bundle);
    glassine_bundle_close(bundle);
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    if (system(command) != 0)
        return 1;
    printf("%u editions of the shared file\n", editions);
    return editions == 2 + THREADS ? 0 : 1;
}
