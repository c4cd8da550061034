#define _XOPEN_SOURCE 700 /* nftw */
#include "scene.h"

#include <fcntl.h>
#include <ftw.h>
#include <png.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* clang-format off */
#include <jpeglib.h> /* wants stdio.h before it */
/* clang-format on */
#include <tiffio.h>

char scene_digest[65];
static char folder[128];

void scene_stop(const char *what, const glassine_error *error) {
    char line[2048];
    glassine_error_line(error, line, sizeof line);
    fprintf(stderr, "cannot go on: %s: %s\n", what, line);
    _exit(1);
}

const char *scene_path(const char *name) {
    static char paths[16][256];
    static unsigned next;
    char *path = paths[next++ % 16];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

static void no_system(const char *what) {
    scene_stop(what, &(glassine_error){.message = "the system does not do it"});
}

void scene_copy(const char *from, const char *to) {
    static char bytes[1 << 16];
    int in = open(scene_path(from), O_RDONLY | O_CLOEXEC);
    int out = open(scene_path(to), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    ssize_t got = 0;
    while (in >= 0 && out >= 0 && (got = read(in, bytes, sizeof bytes)) > 0)
        if (write(out, bytes, (size_t)got) != got)
            no_system(to);
    if (in < 0 || out < 0 || got < 0)
        no_system(from);
    close(in);
    close(out);
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *where) {
    (void)about, (void)kind, (void)where;
    return remove(path);
}

void scene_drop(const char *name) {
    const char *path = scene_path(name);
    if (unlink(path) != 0)
        nftw(path, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

void scene_remove(void) {
    nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

static void write_text(const char *name, const char *text) {
    FILE *out = fopen(scene_path(name), "wb");
    if (!out || fputs(text, out) < 0 || fclose(out) != 0)
        no_system(name);
}

/* --------------------------------------------------------------------------------------------- pictures */

enum { WIDE = 24, HIGH = 30 };

static void fill_pixels(unsigned char *pixels, unsigned kind) {
    for (unsigned i = 0; i < WIDE * HIGH * 3; i++)
        pixels[i] = (unsigned char)(i * (kind + 3) / 2);
}

static void make_png(const char *name, unsigned kind) {
    static unsigned char pixels[WIDE * HIGH * 3];
    png_image image = {.version = PNG_IMAGE_VERSION, .width = WIDE, .height = HIGH, .format = PNG_FORMAT_RGB};
    fill_pixels(pixels, kind);
    if (!png_image_write_to_file(&image, scene_path(name), 0, pixels, 0, NULL))
        no_system(name);
}

static void make_jpeg(const char *name, unsigned kind) {
    static unsigned char pixels[WIDE * HIGH * 3];
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    FILE *out = fopen(scene_path(name), "wb");
    fill_pixels(pixels, kind);
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, out);
    jpeg.image_width = WIDE;
    jpeg.image_height = HIGH;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    for (unsigned row = 0; row < HIGH; row++)
        jpeg_write_scanlines(&jpeg, (JSAMPROW[]){pixels + row * WIDE * 3}, 1);
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    fclose(out);
}

static void make_tiff(const char *name, unsigned kind) {
    static unsigned char pixels[WIDE * HIGH * 3];
    TIFF *tiff = TIFFOpen(scene_path(name), "w");
    fill_pixels(pixels, kind);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, WIDE);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, HIGH);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 3);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_RGB);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_LZW);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, HIGH);
    TIFFWriteEncodedStrip(tiff, 0, pixels, sizeof pixels);
    TIFFClose(tiff);
}

/* ---------------------------------------------------------------------------------------------- bundles */

typedef struct session {
    glassine_bundle *bundle;
    glassine_draft *draft;
} session;

static session begin(const char *name) {
    session it;
    MUST(glassine_bundle_open(scene_path(name), GLASSINE_WRITE, NULL, &it.bundle, error));
    MUST(glassine_draft_new(it.bundle, NULL, NULL, &it.draft, error));
    return it;
}

static void end(session *it) {
    MUST(glassine_draft_save(it->draft, "scene", error));
    glassine_draft_free(it->draft);
    glassine_bundle_close(it->bundle);
}

static glassine_record *enter_fields(session *it, const char *type, const glassine_assignment *fields,
                                     size_t count) {
    glassine_record *record;
    MUST(glassine_draft_enter(it->draft, type, fields, count, NULL, &record, error));
    return record;
}

#define ENTER(it, type, ...)                                                                                 \
    enter_fields(it, type, (glassine_assignment[]){__VA_ARGS__},                                             \
                 sizeof((glassine_assignment[]){__VA_ARGS__}) / sizeof(glassine_assignment))

static void revise(session *it, const char *name, const char *field, const char *value) {
    glassine_record *record;
    bool changed;
    MUST(glassine_bundle_find(it->bundle, "stamp", name, &record, error));
    MUST(glassine_draft_revise(it->draft, record, &(glassine_assignment){field, value, NULL}, 1, NULL,
                               &changed, error));
}

static void speak(session *it, const char *name) {
    glassine_record *who;
    MUST(glassine_bundle_find(it->bundle, "contributor", name, &who, error));
    char id[64];
    glassine_span span = glassine_record_id(it->bundle, who);
    snprintf(id, sizeof id, "%.*s", (int)span.length, span.text);
    MUST(glassine_draft_speaker(it->draft, id, NULL, error));
}

static void fill_plate(session *it) {
    ENTER(it, "contributor", {"name", "Odile Farrow", NULL});
    ENTER(it, "design", {"label", "KF", NULL}, {"title", "Twopence Kingfisher", NULL});
    ENTER(it, "plate", {"label", "1", NULL}, {"design", "KF", NULL}, {"rows", "6", NULL},
          {"columns", "5", NULL});
    ENTER(it, "plate_state", {"plate", "1", NULL}, {"name", "early", NULL}, {"order", "1", NULL},
          {"from", "1861", NULL});
    ENTER(it, "plate_state", {"plate", "1", NULL}, {"name", "late", NULL}, {"order", "2", NULL});
    ENTER(it, "mark", {"plate", "1", NULL}, {"positions", "column 4", NULL}, {"appearance", "dot", NULL},
          {"x", "20", NULL}, {"y", "500", NULL});
    ENTER(it, "mark", {"plate", "1", NULL}, {"positions", "7", NULL}, {"appearance", "scratch", NULL},
          {"x", "700", NULL}, {"y", "100", NULL});
}

static void fill_stamps(session *it) {
    static const char *const places[] = {"column 4 but not row 2", "7", "3", "12"};
    for (int i = 1; i <= 4; i++) {
        char label[16];
        snprintf(label, sizeof label, "K-%03d", i);
        ENTER(it, "item", {"label", label, NULL}, {"cost_minor", "1250", NULL}, {"currency", "EUR", NULL});
        ENTER(it, "stamp", {"item", label, NULL}, {"design", "KF", NULL});
        ENTER(it, "observation", {"stamp", label, NULL}, {"appearance", "dot", NULL}, {"x", "20", NULL},
              {"y", "500", NULL});
        ENTER(it, "claim", {"stamp", label, NULL}, {"positions", places[i - 1], NULL},
              {"confidence", "possible", NULL});
    }
    ENTER(it, "event", {"item", "K-001", NULL}, {"kind", "acquired", NULL}, {"on", "14 Mar 1998", NULL});
    ENTER(it, "marking", {"item", "K-002", NULL}, {"stamps", "K-002", NULL}, {"on", "1862-03-14", NULL});
}

static void attach(session *it, const char *item, const char *file) {
    glassine_record *record, *scan;
    bool known;
    MUST(glassine_bundle_find(it->bundle, "item", item, &record, error));
    MUST(glassine_draft_attach(it->draft, record, scene_path(file), NULL, 0, &scan, &known, NULL, error));
}

/* Kept in edition 2; what Odile thinks of it, in edition 3; the same field changed by two, brought together
 * by a merge. */
static void make_bundles(void) {
    MUST(glassine_bundle_make(scene_path("base.glassine"), "Kingfishers", "Wren Alderby", error));
    session it = begin("base.glassine");
    fill_plate(&it);
    fill_stamps(&it);
    attach(&it, "K-001", "front.png");
    attach(&it, "K-002", "front.jpg");
    attach(&it, "K-003", "front.tif");
    end(&it);
    scene_copy("base.glassine", "other.glassine");
    it = begin("base.glassine");
    revise(&it, "K-002", "colour", "bottle green");
    end(&it);
    it = begin("other.glassine");
    speak(&it, "Odile Farrow");
    revise(&it, "K-002", "colour", "green");
    ENTER(&it, "claim", {"stamp", "K-002", NULL}, {"positions", "8", NULL}, {"confidence", "certain", NULL});
    ENTER(&it, "claim", {"stamp", "K-003", NULL}, {"positions", "3", NULL}, {"confidence", "certain", NULL});
    ENTER(&it, "item", {"label", "K-009", NULL});
    attach(&it, "K-009", "new.png");
    end(&it);
    scene_copy("base.glassine", "merged.glassine");
    it = begin("merged.glassine");
    MUST(glassine_merge(it.draft, (const char *[]){scene_path("other.glassine")}, 1, NULL, NULL, error));
    glassine_draft_free(it.draft);
    glassine_bundle_close(it.bundle);
}

static void make_sent(void) {
    scene_copy("merged.glassine", "sender.glassine");
    session it = begin("sender.glassine");
    glassine_dispatch_options options = {.to = "Odile Farrow",
                                         .items = (const char *[]){"K-001", "K-002"},
                                         .item_count = 2,
                                         .scans = GLASSINE_SCANS_FULL};
    MUST(glassine_dispatch(it.draft, &options, scene_path("sent.glassine"), NULL, error));
    glassine_draft_free(it.draft);
    glassine_bundle_close(it.bundle);
    scene_copy("sent.glassine", "answered.glassine");
    it = begin("answered.glassine");
    ENTER(&it, "claim", {"stamp", "K-001", NULL}, {"positions", "9", NULL}, {"confidence", "certain", NULL});
    end(&it);
    MUST(glassine_unpack(scene_path("base.glassine"), scene_path("folder"), NULL, NULL, error));
    write_text(
        "answers.txt",
        "Dear Wren,\n\n1: plate 1, 9, early state, certain\n2: column 3, possible\n\nBest wishes\nOdile\n");
}

static void make_sheets(void) {
    glassine_bundle *bundle;
    MUST(glassine_bundle_open(scene_path("base.glassine"), GLASSINE_READ, NULL, &bundle, error));
    glassine_csv_options csv = {.with_private = true};
    MUST(glassine_to_csv(bundle, scene_path("sheets"), &csv, NULL, error));
    MUST(glassine_to_xlsx(bundle, scene_path("book.xlsx"), &(glassine_xlsx_options){.with_private = true},
                          NULL, error));
    glassine_bundle_close(bundle);
    write_text("foreign.csv", "No.;Colour;Bought\nH-201;blue;14.3.1998\nH-202;\"green\";15.3.1998\n");
    MUST(glassine_sheet_map_draft(scene_path("foreign.csv"), scene_path("map.csv"), NULL, error));
}

static int into_file(void *out, const char *bytes, size_t length) {
    return fwrite(bytes, 1, length, out) == length ? 0 : 5;
}

static void make_document(void) {
    glassine_bundle *bundle;
    FILE *out = fopen(scene_path("document.json"), "wb");
    MUST(glassine_bundle_open(scene_path("other.glassine"), GLASSINE_READ, NULL, &bundle, error));
    MUST(glassine_to_json(bundle, &(glassine_json_options){true, true}, into_file, out, error));
    fclose(out);
    glassine_bundle_close(bundle);
}

static void damage(const char *name, long at) {
    static const char junk[100] = "this is not what was here before";
    FILE *file = fopen(scene_path(name), "r+b");
    fseek(file, at, SEEK_SET);
    fwrite(junk, 1, sizeof junk, file);
    fclose(file);
}

static void make_damaged(void) {
    MUST(glassine_tidy_with_parity(scene_path("merged.glassine"), scene_path("parity.glassine"), 20, NULL,
                                   NULL, error));
    scene_copy("parity.glassine", "mendable.glassine");
    scene_copy("merged.glassine", "damaged.glassine");
    damage("mendable.glassine", 3000);
    damage("damaged.glassine", 3000);
}

void scene_make(void) {
    const char *root = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/glassine-memory-XXXXXX", root ? root : "/tmp");
    if (!mkdtemp(folder))
        no_system(folder);
    /* Temporary names come from numbers, which are the same in each of these programs. */
    const char *temporary = scene_path("temporary");
    if (mkdir(temporary, 0700) || setenv("TMPDIR", temporary, 1))
        no_system(temporary);
    make_png("front.png", 1);
    make_png("new.png", 2);
    make_jpeg("front.jpg", 3);
    make_tiff("front.tif", 4);
    MUST(glassine_file_digest(scene_path("front.png"), scene_digest, error));
    make_bundles();
    make_sent();
    make_sheets();
    make_document();
    make_damaged();
}
