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

enum { THREADS = 4, ROUNDS = 3, STAMPS = 12, PICTURES = 8 };

static char folder[128];
static char scan_path[256], scan_digest[65];
/* PNG: two pixels. */
static const unsigned char scan_bytes[] = {
    0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44,
    0x52, 0x00, 0x00, 0x00, 0x02, 0x00, 0x00, 0x00, 0x01, 0x08, 0x02, 0x00, 0x00, 0x00, 0x7b,
    0x40, 0xe8, 0xdd, 0x00, 0x00, 0x00, 0x0f, 0x49, 0x44, 0x41, 0x54, 0x78, 0x9c, 0x63, 0x50,
    0x70, 0x48, 0x68, 0x58, 0x70, 0x00, 0x00, 0x07, 0x07, 0x02, 0xa1, 0x42, 0x6d, 0x5c, 0x3f,
    0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82};

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

static void fill(glassine_bundle *bundle, glassine_draft *draft) {
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
    glassine_record *item = NULL, *scan = NULL;
    bool known;
    MUST(glassine_bundle_find(bundle, "item", "K-001", &item, &error));
    MUST(glassine_draft_attach(draft, item, scan_path, NULL, 0, &scan, &known, NULL, &error));
    MUST(glassine_draft_save(draft, "filled", &error));
}

static void put_scan(void) {
    snprintf(scan_path, sizeof scan_path, "%s/scan.png", folder);
    FILE *file = fopen(scan_path, "wb");
    if (!file || fwrite(scan_bytes, sizeof scan_bytes, 1, file) != 1 || fclose(file) != 0)
        stop("a scan to attach", &(glassine_error){.message = "it cannot be written"});
    MUST(glassine_file_digest(scan_path, scan_digest, &error));
}

/* Made by several threads out of one handle. */
static void make_pictures(glassine_bundle *bundle) {
    glassine_picture_wanted wanted[PICTURES] = {0};
    for (size_t i = 0; i < PICTURES; i++) {
        wanted[i].bundle = bundle;
        memcpy(wanted[i].sha256, scan_digest, sizeof scan_digest);
    }
    glassine_pictures_make(wanted, PICTURES);
    for (size_t i = 0; i < PICTURES; i++) {
        if (wanted[i].status || wanted[i].picture.width != 2)
            stop("a picture of the scan", &wanted[i].error);
        glassine_picture_free(&wanted[i].picture);
    }
}

static void make(const char *path) {
    MUST(glassine_bundle_make(path, "Kingfishers", "Wren Alderby", &error));
    glassine_bundle *bundle = NULL;
    glassine_draft *draft = NULL;
    MUST(glassine_bundle_open(path, GLASSINE_WRITE, NULL, &bundle, &error));
    MUST(glassine_draft_new(bundle, NULL, NULL, &draft, &error));
    fill(bundle, draft);
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
    make_pictures(bundle);
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
    put_scan();
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
