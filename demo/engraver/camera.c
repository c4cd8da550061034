#include "camera.h"

#include <stdint.h>
#include <string.h>

enum { ASCII = 2, SHORT = 3, LONG = 4, RATIONAL = 5 };

/* A TIFF block that grows: a directory's entries first, their longer values behind it. */
typedef struct writer {
    unsigned char *base; /* of the TIFF header: offsets count from here */
    size_t entry, value; /* where the next entry, the next long value goes */
} writer;

static void put16(unsigned char *at, uint32_t value) {
    at[0] = (unsigned char)(value & 0xff);
    at[1] = (unsigned char)(value >> 8 & 0xff);
}

static void put32(unsigned char *at, uint32_t value) {
    put16(at, value & 0xffff);
    put16(at + 2, value >> 16);
}

static void directory(writer *w, unsigned entries) {
    w->entry = w->value;
    put16(w->base + w->entry, entries);
    w->value = w->entry + 2 + entries * 12 + 4; /* no further directory: the four bytes stay 0 */
    w->entry += 2;
}

static void entry(writer *w, unsigned tag, unsigned type, uint32_t count, uint32_t value) {
    unsigned char *at = w->base + w->entry;
    put16(at, tag);
    put16(at + 2, type);
    put32(at + 4, count);
    put32(at + 8, value);
    w->entry += 12;
}

static void text(writer *w, unsigned tag, const char *string) {
    size_t size = strlen(string) + 1;
    if (size <= 4) {
        entry(w, tag, ASCII, (uint32_t)size, 0);
        memcpy(w->base + w->entry - 4, string, size);
        return;
    }
    entry(w, tag, ASCII, (uint32_t)size, (uint32_t)w->value);
    memcpy(w->base + w->value, string, size);
    w->value += size + size % 2;
}

static void rationals(writer *w, unsigned tag, uint32_t count, const uint32_t *parts) {
    entry(w, tag, RATIONAL, count, (uint32_t)w->value);
    for (uint32_t i = 0; i < 2 * count; i++, w->value += 4)
        put32(w->base + w->value, parts[i]);
}

static void patch_offset(const writer *w, size_t entry_at) {
    put32(w->base + entry_at + 8, (uint32_t)w->value);
}

size_t camera_block(unsigned char block[CAMERA_BLOCK_MOST], int width, int height) {
    memset(block, 0, CAMERA_BLOCK_MOST);
    memcpy(block, "Exif\0", 6);
    writer w = {.base = block + 6, .value = 8};
    memcpy(w.base, "II*\0", 4);
    put32(w.base + 4, 8);

    directory(&w, 10);
    text(&w, 0x010f, "Tarn & Pellow");
    text(&w, 0x0110, "Lamp House No. 3");
    entry(&w, 0x0112, SHORT, 1, 1);
    rationals(&w, 0x011a, 1, (const uint32_t[]){1200, 1});
    rationals(&w, 0x011b, 1, (const uint32_t[]){1200, 1});
    entry(&w, 0x0128, SHORT, 1, 2);
    text(&w, 0x0132, "2019:06:25 11:04:30");
    text(&w, 0x013b, "Wren Alderby");
    size_t exif = w.entry;
    entry(&w, 0x8769, LONG, 1, 0);
    size_t gps = w.entry;
    entry(&w, 0x8825, LONG, 1, 0);

    patch_offset(&w, exif);
    directory(&w, 6);
    entry(&w, 0x9000, 7, 4, 0x30333230); /* "0230" */
    text(&w, 0x9003, "2019:06:25 11:04:30");
    entry(&w, 0xa002, LONG, 1, (uint32_t)width);
    entry(&w, 0xa003, LONG, 1, (uint32_t)height);
    text(&w, 0xa430, "Wren Alderby");
    text(&w, 0xa431, "TP-0004173");

    patch_offset(&w, gps);
    directory(&w, 5); /* 26° 12' 45" S, 18° 30' 06" W: open ocean */
    entry(&w, 0x0000, 1, 4, 0x00000302);
    text(&w, 0x0001, "S");
    rationals(&w, 0x0002, 3, (const uint32_t[]){26, 1, 12, 1, 45, 1});
    text(&w, 0x0003, "W");
    rationals(&w, 0x0004, 3, (const uint32_t[]){18, 1, 30, 1, 6, 1});
    return 6 + w.value;
}
