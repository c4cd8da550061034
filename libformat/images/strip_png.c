/* PNG files: ISO/IEC 15948, with eXIf and cICP of the third edition, and the chunks of animations. */
#include "images/strip.h"

#include "base/hash.h"
#include "images/parts.h"

#define LENGTH_MOST 0x7FFFFFFFu /* of a chunk: 5.3 */

/* Chunks that pixels, colours and sizes rest on. Others that a reader must know to show the picture have a
 * capital first letter (5.4), and stay too. */
static bool is_kept(gl_span type) {
    static const char kept[] = "tRNS cHRM gAMA iCCP sBIT sRGB cICP mDCV cLLI bKGD pHYs hIST acTL fcTL fdAT";
    if ((type.text[0] & 0x20) == 0)
        return true;
    for (size_t i = 0; i + 4 < sizeof kept; i += 5)
        if (memcmp(kept + i, type.text, 4) == 0)
            return true;
    return false;
}

static void write_chunk(gl_buf *out, const char *type, gl_span data) {
    gl_add_big32(out, (uint32_t)data.length);
    gl_buf_add_bytes(out, type, 4);
    gl_buf_add(out, data);
    gl_add_big32(out, gl_crc32(gl_crc32(0, type, 4), data.text, data.length));
}

/* How the picture is turned, and its resolution where no chunk of its own says it: 11.3.5.3. */
static void write_essence(gl_span file, bool has_density, gl_buf *out) {
    gl_image image = {0};
    gl_source source = {.fd = -1,
                        .memory = (const uint8_t *)file.text,
                        .size = file.length,
                        .left = gl_source_allowance(file.length),
                        .image = &image};
    gl_png_look(&source);
    gl_essence essence =
        gl_essence_of(image.orientation, has_density ? 0 : image.dpi_x, has_density ? 0 : image.dpi_y);
    gl_buf kept = GL_BUF_EMPTY;
    gl_essence_write(&essence, &kept);
    if (kept.length)
        write_chunk(out, "eXIf", gl_buf_span(&kept));
    out->failed = out->failed || kept.failed;
    gl_buf_free(&kept);
}

typedef struct chunk {
    gl_span whole, type, data;
} chunk;

static bool chunk_at(gl_span file, size_t at, chunk *out) {
    gl_span head = gl_span_part(file, at, 8);
    size_t length = head.length == 8 ? gl_big32((const uint8_t *)head.text) : 0;
    if (head.length < 8 || length > LENGTH_MOST || file.length - at < 12 + length)
        return false;
    *out = (chunk){gl_span_part(file, at, 12 + length), gl_span_part(head, 4, 4),
                   gl_span_part(file, at + 8, length)};
    return true;
}

static bool has_density(gl_span file) {
    chunk one;
    for (size_t at = 8; chunk_at(file, at, &one); at += one.whole.length)
        if (gl_span_is(one.type, "pHYs") && one.data.length == 9 && one.data.text[8] == 1)
            return true;
    return false;
}

gl_stripped gl_strip_png(gl_span file, gl_buf *out) {
    size_t at = 8, before = out->length;
    bool end = false;
    gl_buf_add(out, gl_span_part(file, 0, at));
    while (!end) {
        chunk one;
        if (!chunk_at(file, at, &one))
            return GL_STRIP_UNABLE;
        end = gl_span_is(one.type, "IEND");
        if (is_kept(one.type))
            gl_buf_add(out, one.whole);
        if (gl_span_is(one.type, "IHDR"))
            write_essence(file, has_density(file), out);
        at += one.whole.length;
    }
    gl_span made = gl_span_part(gl_buf_span(out), before, out->length);
    return gl_span_equal(made, file) ? GL_STRIP_NOTHING : GL_STRIP_DONE;
}
