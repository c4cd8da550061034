/* JPEG files: ITU-T T.81 (segments), ITU-T T.871 (JFIF), EXIF 2.32 (APP1), ICC.1 annex B.4 (APP2). Of the
 * segments for applications only those stay that pixels and colours rest on. */
#include "images/strip.h"

#include "images/source.h"

enum {
    SOI = 0xD8,
    EOI = 0xD9,
    SOS = 0xDA,
    APP0 = 0xE0,
    APP1 = 0xE1,
    APP2 = 0xE2,
    APP14 = 0xEE,
    APP15 = 0xEF
};
enum { COM = 0xFE, TEM = 0x01, JFIF_SIZE = 14 };

typedef struct stripping {
    gl_span file;
    gl_buf *out;
    gl_essence essence;
    bool said_resolution; /* by JFIF, which comes before EXIF: T.871 10.1 */
    bool head_done;       /* what is kept of EXIF is written */
} stripping;

static uint8_t byte_at(gl_span file, size_t at) {
    return (uint8_t)file.text[at];
}

static bool has_no_length(uint8_t marker) {
    return marker == TEM || (marker >= 0xD0 && marker <= SOI);
}

static bool begins(gl_span content, const char *text, size_t length) {
    return content.length >= length && memcmp(content.text, text, length) == 0;
}

/* ---- segments for applications ---- */

static void write_segment(gl_buf *out, uint8_t marker, gl_span content) {
    gl_buf_add_char(out, (char)0xFF);
    gl_buf_add_char(out, (char)marker);
    gl_add_big16(out, (uint32_t)content.length + 2);
    gl_buf_add(out, content);
}

/* JFIF without the small picture that may lie in it. */
static void keep_jfif(stripping *it, gl_span content) {
    char head[JFIF_SIZE];
    memcpy(head, content.text, JFIF_SIZE);
    head[12] = head[13] = 0;
    it->said_resolution = head[7] == 1 || head[7] == 2;
    write_segment(it->out, APP0, (gl_span){head, JFIF_SIZE});
}

static void take_application(stripping *it, uint8_t marker, gl_span content) {
    if (marker == APP0 && begins(content, "JFIF", 5) && content.length >= JFIF_SIZE)
        keep_jfif(it, content);
    else if ((marker == APP2 && begins(content, "ICC_PROFILE", 12)) ||
             (marker == APP14 && begins(content, "Adobe", 5)))
        write_segment(it->out, marker, content);
    else if (marker == APP1 && begins(content, "Exif\0", 6) && !it->head_done)
        it->essence = gl_essence_of_exif(gl_span_part(content, 6, content.length));
    /* Everything else goes. */
}

/* ---- the whole ---- */

/* The marker at `at`, fill bytes before it passed over: T.81 B.1.1.2. */
static bool find_marker(gl_span file, size_t *at, uint8_t *marker) {
    if (*at + 1 >= file.length || byte_at(file, *at) != 0xFF)
        return false;
    while (*at + 1 < file.length && byte_at(file, *at + 1) == 0xFF)
        ++*at;
    if (*at + 1 >= file.length || byte_at(file, *at + 1) == 0)
        return false;
    *marker = byte_at(file, *at + 1);
    return true;
}

/* The end of coded data: the next marker that is no restart; the file's end where none comes. */
static size_t coded_end(gl_span file, size_t at) {
    while (at + 1 < file.length) {
        const char *next = memchr(file.text + at, 0xFF, file.length - at - 1);
        if (!next)
            break;
        at = (size_t)(next - file.text);
        uint8_t code = byte_at(file, at + 1);
        if (code == 0xFF)
            at++;
        else if (code == 0 || (code >= 0xD0 && code <= 0xD7))
            at += 2;
        else
            return at;
    }
    return file.length;
}

/* Behind the application segments, which come first, stands what is kept of EXIF. */
static void write_head(stripping *it) {
    gl_buf block = GL_BUF_EMPTY;
    if (it->head_done)
        return;
    it->head_done = true;
    if (it->said_resolution)
        it->essence.x_per = 0;
    gl_buf_add_bytes(&block, "Exif\0", 6);
    gl_essence_write(&it->essence, &block);
    if (block.length > 6)
        write_segment(it->out, APP1, gl_buf_span(&block));
    it->out->failed = it->out->failed || block.failed;
    gl_buf_free(&block);
}

/* Takes the segment at *at; false where there is none. */
static bool take_segment(stripping *it, size_t *at, uint8_t marker) {
    gl_span file = it->file;
    if (*at + 4 > file.length)
        return false;
    size_t length = gl_big16((const uint8_t *)file.text + *at + 2), end = *at + 2 + length;
    if (length < 2 || end > file.length)
        return false;
    gl_span whole = gl_span_part(file, *at, end - *at);
    if (marker >= APP0 && marker <= APP15) {
        take_application(it, marker, gl_span_part(whole, 4, whole.length));
    } else if (marker != COM) {
        write_head(it);
        gl_buf_add(it->out, whole);
    }
    *at = end;
    if (marker != SOS)
        return true;
    size_t coded = coded_end(file, end);
    gl_buf_add(it->out, gl_span_part(file, end, coded - end));
    *at = coded;
    return true;
}

gl_stripped gl_strip_jpeg(gl_span file, gl_buf *out) {
    gl_buf made = GL_BUF_EMPTY;
    stripping it = {.file = file, .out = &made};
    size_t at = 2;
    uint8_t marker = 0;
    bool whole = file.length > 2;
    gl_buf_add_bytes(&made, "\xFF\xD8", 2);
    while (whole && at < file.length && marker != EOI) {
        whole = find_marker(file, &at, &marker);
        if (whole && (marker == EOI || has_no_length(marker))) {
            write_head(&it);
            gl_buf_add(&made, gl_span_part(file, at, 2));
            at += 2;
        } else if (whole) {
            whole = take_segment(&it, &at, marker);
        }
    }
    bool same = gl_span_equal(gl_buf_span(&made), file);
    gl_buf_add(out, gl_buf_span(&made));
    out->failed = out->failed || made.failed;
    gl_buf_free(&made);
    return !whole ? GL_STRIP_UNABLE : same ? GL_STRIP_NOTHING : GL_STRIP_DONE;
}
