#include "images/strip.h"

#include "images/ifd.h"
#include "images/image.h"

gl_stripped gl_strip(gl_span file, gl_buf *out) {
    if (gl_span_starts(file, GL_SPAN("\xFF\xD8\xFF")))
        return gl_strip_jpeg(file, out);
    if (gl_span_starts(file, GL_SPAN("\x89PNG\r\n\x1A\n")))
        return gl_strip_png(file, out);
    if (gl_span_starts(file, GL_SPAN("II")) || gl_span_starts(file, GL_SPAN("MM")))
        return gl_strip_tiff(file, out);
    return GL_STRIP_UNABLE;
}

void gl_add_big16(gl_buf *out, uint32_t value) {
    gl_buf_add_char(out, (char)(value >> 8 & 0xFF));
    gl_buf_add_char(out, (char)(value & 0xFF));
}

void gl_add_big32(gl_buf *out, uint32_t value) {
    gl_add_big16(out, value >> 16);
    gl_add_big16(out, value & 0xFFFF);
}

/* ---- what is kept of EXIF ---- */

enum { ORIENTATION = 274, RESOLUTION_X = 282, RESOLUTION_Y = 283, RESOLUTION_UNIT = 296 };

static void take(const gl_ifds *ifds, const gl_tag *tag, gl_essence *essence) {
    uint64_t number = 0;
    if (tag->tag == ORIENTATION && gl_tag_number(ifds, tag, 0, &number) && number >= 1 && number <= 8)
        essence->orientation = (uint8_t)number;
    else if (tag->tag == RESOLUTION_X)
        gl_tag_rational(ifds, tag, &essence->x, &essence->x_per);
    else if (tag->tag == RESOLUTION_Y)
        gl_tag_rational(ifds, tag, &essence->y, &essence->y_per);
    else if (tag->tag == RESOLUTION_UNIT && gl_tag_number(ifds, tag, 0, &number) && number <= 3)
        essence->unit = (uint32_t)number;
}

gl_essence gl_essence_of_exif(gl_span block) {
    gl_essence essence = {.unit = 2}; /* inches, where it is not said: TIFF 6.0 section 3 */
    gl_image ignored = {0};
    gl_source source = {.fd = -1,
                        .memory = (const uint8_t *)block.text,
                        .size = block.length,
                        .left = gl_source_allowance(block.length),
                        .image = &ignored};
    gl_ifds ifds;
    uint64_t at, entries, next;
    if (!gl_ifds_open(&ifds, &source, 0, block.length, &at) || !gl_ifd_count(&ifds, at, &entries, &next))
        return essence;
    gl_tag tag;
    for (uint64_t i = 0; i < entries; i++)
        if (gl_ifd_entry(&ifds, at, i, &tag))
            take(&ifds, &tag, &essence);
    return essence;
}

gl_essence gl_essence_of(uint8_t orientation, uint32_t dpi_x, uint32_t dpi_y) {
    gl_essence essence = {.orientation = orientation, .unit = 2};
    if (dpi_x && dpi_y) {
        essence.x = dpi_x;
        essence.y = dpi_y;
        essence.x_per = essence.y_per = 100;
    }
    return essence;
}

static void add_entry(gl_buf *out, uint32_t tag, uint32_t type, uint32_t value) {
    gl_add_big16(out, tag);
    gl_add_big16(out, type);
    gl_add_big32(out, 1);
    gl_add_big32(out, value);
}

void gl_essence_write(const gl_essence *essence, gl_buf *out) {
    enum { SHORT = 3, RATIONAL = 5, HEADER = 8, ENTRY = 12 };
    bool turned = essence->orientation > 1;
    bool sized = essence->x_per && essence->y_per && essence->x && essence->y;
    uint32_t entries = (turned ? 1u : 0u) + (sized ? 3u : 0u);
    uint32_t behind = HEADER + 2 + ENTRY * entries + 4;
    if (!entries)
        return;
    gl_buf_add_bytes(out, "MM\0*\0\0\0\x08", HEADER);
    gl_add_big16(out, entries);
    if (turned)
        add_entry(out, ORIENTATION, SHORT, (uint32_t)essence->orientation << 16);
    if (sized) {
        add_entry(out, RESOLUTION_X, RATIONAL, behind);
        add_entry(out, RESOLUTION_Y, RATIONAL, behind + 8);
        add_entry(out, RESOLUTION_UNIT, SHORT, essence->unit << 16);
    }
    gl_add_big32(out, 0);
    if (sized) {
        gl_add_big32(out, essence->x);
        gl_add_big32(out, essence->x_per);
        gl_add_big32(out, essence->y);
        gl_add_big32(out, essence->y_per);
    }
}
