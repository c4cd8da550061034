/* PNG files: ISO/IEC 15948 (PNG, second edition), with eXIf of the third. */
#include "base/hash.h"
#include "images/parts.h"
#include "images/png_text.h"

#define PIECE ((size_t)1 << 16)
#define LENGTH_MOST 0x7FFFFFFF /* of a chunk: 5.3 */

typedef struct gl_chunk {
    uint8_t type[4];
    uint64_t at; /* of its data */
    uint32_t length;
} gl_chunk;

static bool is(const gl_chunk *chunk, const char *type) {
    return memcmp(chunk->type, type, 4) == 0;
}

/* The chunk at `at`; false, with its trouble said, where it is not all there. */
static bool next_chunk(gl_source *source, uint64_t at, gl_chunk *chunk) {
    const uint8_t *head = gl_source_see(source, at, 8);
    if (!head) {
        gl_image_trouble(source->image, "truncated");
        return false;
    }
    chunk->length = gl_big32(head);
    memcpy(chunk->type, head + 4, 4);
    chunk->at = at + 8;
    if (chunk->length > LENGTH_MOST) {
        gl_image_trouble(source->image, "a chunk longer than chunks may be");
        return false;
    }
    if (!gl_range_fits(source->size, chunk->at, (uint64_t)chunk->length + 4)) {
        gl_image_trouble(source->image, "truncated");
        return false;
    }
    return true;
}

/* Critical chunks have a capital first letter: 5.4. */
static bool is_critical(const gl_chunk *chunk) {
    return (chunk->type[0] & 0x20) == 0;
}

static bool crc_holds(gl_source *source, const gl_chunk *chunk) {
    uint32_t crc = gl_crc32(0, chunk->type, 4);
    for (uint64_t done = 0; done < chunk->length;) {
        size_t length = chunk->length - done < PIECE ? (size_t)(chunk->length - done) : PIECE;
        const uint8_t *bytes = gl_source_see(source, chunk->at + done, length);
        if (!bytes)
            return false;
        crc = gl_crc32(crc, bytes, length);
        done += length;
    }
    const uint8_t *said = gl_source_see(source, chunk->at + chunk->length, 4);
    return said && gl_big32(said) == crc;
}

static const char *bad_crc(const gl_chunk *chunk) {
    return is(chunk, "IHDR")   ? "bad CRC in chunk IHDR"
           : is(chunk, "PLTE") ? "bad CRC in chunk PLTE"
           : is(chunk, "IDAT") ? "bad CRC in chunk IDAT"
           : is(chunk, "IEND") ? "bad CRC in chunk IEND"
                               : "bad CRC in a critical chunk";
}

static void see_header(gl_source *source, const gl_chunk *chunk) {
    const uint8_t *bytes = chunk->length == 13 ? gl_source_see(source, chunk->at, 13) : NULL;
    if (!bytes || gl_big32(bytes) == 0 || gl_big32(bytes + 4) == 0) {
        gl_image_trouble(source->image, "no size in chunk IHDR");
        return;
    }
    source->image->width = gl_big32(bytes);
    source->image->height = gl_big32(bytes + 4);
}

/* Pixels per metre where the unit is 1: 11.3.5.3. */
static void see_density(gl_source *source, const gl_chunk *chunk) {
    const uint8_t *bytes = chunk->length == 9 ? gl_source_see(source, chunk->at, 9) : NULL;
    if (!bytes || bytes[8] != 1)
        return;
    source->image->dpi_x = gl_resolution(gl_big32(bytes), 100, true);
    source->image->dpi_y = gl_resolution(gl_big32(bytes + 4), 100, true);
}

static void see_chunk(gl_source *source, const gl_chunk *chunk) {
    if (is(chunk, "IHDR"))
        see_header(source, chunk);
    else if (is(chunk, "pHYs"))
        see_density(source, chunk);
    else if (is(chunk, "eXIf"))
        gl_exif_look(source, chunk->at, chunk->length);
    else if (is(chunk, "tEXt") || is(chunk, "zTXt") || is(chunk, "iTXt"))
        gl_png_text_look(source, (char)chunk->type[0], chunk->at, chunk->length);
}

void gl_png_look(gl_source *source) {
    gl_chunk chunk;
    for (uint64_t at = 8; next_chunk(source, at, &chunk); at = chunk.at + chunk.length + 4) {
        if (at == 8 && !is(&chunk, "IHDR")) {
            gl_image_trouble(source->image, "does not begin with chunk IHDR");
            return;
        }
        see_chunk(source, &chunk);
        if (is_critical(&chunk) && !crc_holds(source, &chunk))
            gl_image_trouble(source->image, bad_crc(&chunk));
        if (source->failure || source->left == 0 || is(&chunk, "IEND"))
            return;
    }
}
