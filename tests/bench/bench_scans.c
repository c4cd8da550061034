/* bench_scans FOLDER ITEMS [SCANS [WIDTH HEIGHT]]: a folder of pictures to be gathered, SCANS of each of
 * ITEMS items (3 unless said), JPEG files of WIDTH × HEIGHT pixels (3264 × 2448: 8 megapixels) at 1200 dots
 * per inch. The same arguments make the same bytes. There are 24 different pictures; a number in a comment
 * makes each file another. */
#include <errno.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <jpeglib.h>

enum { PICTURES = 24, QUALITY = 85 };

typedef struct picture {
    unsigned char *bytes;
    unsigned long length;
} picture;

/* xorshift32 (Marsaglia, "Xorshift RNGs", 2003). */
static uint32_t next(uint32_t *state) {
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

/* Rings and lines as an engraving has them, with the grain of paper. */
static void draw_row(uint32_t *chance, unsigned seed, unsigned width, unsigned y, unsigned char *row) {
    for (unsigned x = 0; x < width; x++) {
        uint64_t dx = x > width / 2 ? x - width / 2 : width / 2 - x, dy = y;
        bool ring = ((dx * dx + dy * dy) >> 14) % (7 + seed % 5) == 0, line = (x + 2 * y + seed) % 23 < 4;
        unsigned base = ring || line ? 70 : 205, grain = next(chance) % 24;
        row[3 * x] = (unsigned char)(base + grain);
        row[3 * x + 1] = (unsigned char)(base + 20 + grain);
        row[3 * x + 2] = (unsigned char)(base + 6 + grain);
    }
}

static bool draw(unsigned seed, unsigned width, unsigned height, picture *out) {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr errors;
    uint32_t chance = 0x9E3779B9u * (seed + 1);
    unsigned char *row = malloc(3 * (size_t)width);
    if (!row)
        return false;
    jpeg.err = jpeg_std_error(&errors);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &out->bytes, &out->length);
    jpeg.image_width = width;
    jpeg.image_height = height;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, QUALITY, TRUE);
    jpeg.density_unit = 1;
    jpeg.X_density = jpeg.Y_density = 1200;
    jpeg_start_compress(&jpeg, TRUE);
    for (unsigned y = 0; y < height; y++) {
        draw_row(&chance, seed, width, y, row);
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    free(row);
    return true;
}

/* The picture with a comment behind its first marker (ITU-T T.81, B.2.4.5). */
static bool write_scan(const char *path, const picture *from, unsigned number) {
    FILE *file = fopen(path, "wbx");
    unsigned char comment[12] = {0xFF, 0xFE, 0, 10};
    snprintf((char *)comment + 4, 8, "%07u", number % 10000000);
    bool done = file && fwrite(from->bytes, 1, 2, file) == 2 &&
                fwrite(comment, 1, sizeof comment, file) == sizeof comment &&
                fwrite(from->bytes + 2, 1, from->length - 2, file) == from->length - 2;
    return file && fclose(file) == 0 && done;
}

int main(int count, char **words) {
    static const char *const sides[] = {"front", "back", "detail"};
    unsigned items = count > 2 ? (unsigned)atoi(words[2]) : 0,
             scans = count > 3 ? (unsigned)atoi(words[3]) : 3;
    unsigned width = count > 5 ? (unsigned)atoi(words[4]) : 3264,
             height = count > 5 ? (unsigned)atoi(words[5]) : 2448;
    picture pictures[PICTURES] = {{NULL, 0}};
    if (!items || !scans || scans > 3 || !width || !height || width > 60000 || height > 60000) {
        fputs("bench_scans FOLDER ITEMS [SCANS [WIDTH HEIGHT]]\n", stderr);
        return 2;
    }
    if (mkdir(words[1], 0777) != 0) {
        perror(words[1]);
        return 3;
    }
    unsigned long long bytes = 0;
    for (unsigned i = 0; i < items * scans; i++) {
        char path[4096];
        picture *from = &pictures[i % PICTURES];
        snprintf(path, sizeof path, "%s/B-%04u %s.jpg", words[1], i / scans + 1, sides[i % scans]);
        if ((!from->bytes && !draw(i, width, height, from)) || !write_scan(path, from, i)) {
            perror(path);
            return 3;
        }
        bytes += from->length;
    }
    for (unsigned i = 0; i < PICTURES; i++)
        free(pictures[i].bytes);
    printf("%u scans of %u x %u pixels, %llu bytes\n", items * scans, width, height, bytes);
    return 0;
}
