/* JPEG files: ITU-T T.81 (segments), ITU-T T.871 (JFIF), EXIF 2.32 (APP1). */
#include "images/parts.h"

#define END_WITHIN 65536 /* bytes before the end of the file in which the end marker is looked for */

enum { SOI = 0xD8, EOI = 0xD9, SOS = 0xDA, APP0 = 0xE0, APP1 = 0xE1, APP13 = 0xED, TEM = 0x01 };

typedef struct gl_segment {
    uint8_t marker;
    uint64_t at; /* of its content */
    uint32_t length;
    uint64_t next;
} gl_segment;

static bool has_no_length(uint8_t marker) {
    return marker == TEM || (marker >= 0xD0 && marker <= EOI);
}

/* The segment at `at`; false, with its trouble said, where there is none. */
static bool next_segment(gl_source *source, uint64_t at, gl_segment *segment) {
    const uint8_t *head;
    while ((head = gl_source_see(source, at, 2)) != NULL && head[0] == 0xFF && head[1] == 0xFF)
        at++; /* fill bytes: T.81 B.1.1.2 */
    if (!head || head[0] != 0xFF || head[1] == 0) {
        gl_image_trouble(source->image, head ? "bytes between its segments that are none" : "truncated");
        return false;
    }
    *segment = (gl_segment){.marker = head[1], .at = at + 2, .next = at + 2};
    if (has_no_length(segment->marker))
        return true;
    const uint8_t *bytes = gl_source_see(source, at + 2, 2);
    uint32_t length = bytes ? gl_big16(bytes) : 0;
    if (length < 2 || !gl_range_fits(source->size, at + 2, length)) {
        gl_image_trouble(source->image, bytes && length < 2 ? "a segment of no length" : "truncated");
        return false;
    }
    segment->at = at + 4;
    segment->length = length - 2;
    segment->next = at + 2 + length;
    return true;
}

/* A start of frame, other than the four codes among them that are not: T.81 table B.1. */
static bool is_frame(uint8_t marker) {
    return marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC;
}

static void see_frame(gl_source *source, const gl_segment *segment) {
    const uint8_t *bytes = segment->length >= 5 ? gl_source_see(source, segment->at, 5) : NULL;
    if (!bytes)
        return;
    source->image->height = gl_big16(bytes + 1);
    source->image->width = gl_big16(bytes + 3);
}

/* JFIF's density comes before what EXIF says: T.871 10.1. Units: 1 per inch, 2 per centimetre, 0 a ratio
 * only. */
static void see_jfif(gl_source *source, const gl_segment *segment) {
    const uint8_t *bytes = segment->length >= 12 ? gl_source_see(source, segment->at, 12) : NULL;
    if (!bytes || memcmp(bytes, "JFIF", 5) != 0 || bytes[7] < 1 || bytes[7] > 2)
        return;
    source->image->dpi_x = gl_resolution(gl_big16(bytes + 8), 1, bytes[7] == 2);
    source->image->dpi_y = gl_resolution(gl_big16(bytes + 10), 1, bytes[7] == 2);
}

/* Does the segment begin with this text and its NUL byte? */
static bool begins(gl_source *source, const gl_segment *segment, const char *text) {
    size_t length = strlen(text) + 1;
    const uint8_t *bytes = segment->length >= length ? gl_source_see(source, segment->at, length) : NULL;
    return bytes && memcmp(bytes, text, length) == 0;
}

static void see_app1(gl_source *source, const gl_segment *segment) {
    if (begins(source, segment, "Exif")) {
        if (segment->length >= 6)
            gl_exif_look(source, segment->at + 6, segment->length - 6);
    } else if (begins(source, segment, "http://ns.adobe.com/xap/1.0/") ||
               begins(source, segment, "http://ns.adobe.com/xmp/extension/")) {
        const uint8_t *text = gl_source_see(source, segment->at, segment->length);
        if (text)
            gl_xmp_look(source->image, text, segment->length);
    }
}

static void see_app13(gl_source *source, const gl_segment *segment) {
    static const char head[] = "Photoshop 3.0";
    if (begins(source, segment, head))
        gl_resources_look(source, segment->at + sizeof head, segment->length - sizeof head);
}

/* The coded data cannot hold an end marker, so one in the last part of the file, behind the start of the scan
 * at `from`, is the picture's; some programs write more behind it. */
static bool has_end(gl_source *source, uint64_t from) {
    uint64_t length = source->size - from < END_WITHIN ? source->size - from : END_WITHIN;
    const uint8_t *bytes = gl_source_see(source, source->size - length, (size_t)length);
    for (uint64_t i = length; bytes && i >= 2; i--)
        if (bytes[i - 2] == 0xFF && bytes[i - 1] == EOI)
            return true;
    return false;
}

void gl_jpeg_look(gl_source *source) {
    gl_segment segment;
    bool frame = false;
    for (uint64_t at = 2; next_segment(source, at, &segment); at = segment.next) {
        if (segment.marker == SOS || segment.marker == EOI) {
            if (segment.marker == EOI || !frame)
                gl_image_trouble(source->image, "no picture in it");
            else if (!has_end(source, segment.next))
                gl_image_trouble(source->image, "truncated: no end of the picture");
            return;
        }
        if (is_frame(segment.marker)) {
            frame = true;
            see_frame(source, &segment);
        } else if (segment.marker == APP0) {
            see_jfif(source, &segment);
        } else if (segment.marker == APP1) {
            see_app1(source, &segment);
        } else if (segment.marker == APP13) {
            see_app13(source, &segment);
        }
    }
}
