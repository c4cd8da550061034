/* A small picture of an item in its row. */
#include "xlsx_out.h"

#define PICTURE_PIXELS 240
#define SCREEN_DPI 96.0

typedef struct dots {
    double across, down; /* an inch */
} dots;

static double number_at(const unsigned char *bytes, size_t length) {
    double number = 0;
    for (size_t i = 0; i < length; i++)
        number = number * 256 + bytes[i];
    return number;
}

/* Dots to the metre, in the chunk pHYs before the pixels (ISO/IEC 15948, 11.3.5.3). */
static dots dots_of_png(const unsigned char *png, size_t length) {
    for (size_t at = 8; at + 21 <= length && memcmp(png + at + 4, "IDAT", 4) != 0;) {
        double size = number_at(png + at, 4);
        if (memcmp(png + at + 4, "pHYs", 4) == 0 && png[at + 16] == 1)
            return (dots){number_at(png + at + 8, 4) * 0.0254, number_at(png + at + 12, 4) * 0.0254};
        if (size > (double)(length - at))
            break;
        at += (size_t)size + 12;
    }
    return (dots){0, 0};
}

/* The resolution by which the library that writes workbooks would size the picture: what we mean by a scale
 * has nothing to do with it. */
static dots dots_of(const unsigned char *bytes, size_t length) {
    dots found = {0, 0};
    if (length > 18 && memcmp(bytes, "\x89PNG", 4) == 0) {
        found = dots_of_png(bytes, length);
    } else if (length > 18 && memcmp(bytes + 6, "JFIF", 5) == 0 && bytes[13]) {
        double unit = bytes[13] == 2 ? 2.54 : 1; /* the centimetre, or the inch */
        found = (dots){number_at(bytes + 14, 2) * unit, number_at(bytes + 16, 2) * unit};
    }
    return found.across > 0 && found.down > 0 ? found : (dots){SCREEN_DPI, SCREEN_DPI};
}

/* Is the record there for those whom the workbook is for? */
static bool is_shown(xlsx_out *out, glassine_record *record) {
    conv_view view = {.bundle = out->bundle, .with_private = out->options.with_private};
    bool shown = false;
    glassine_status status = conv_view_look(&view, record, &shown, NULL);
    conv_view_free(&view);
    if (status)
        xlsx_note(out, LXW_ERROR_MEMORY_MALLOC_FAILED);
    return !status && shown;
}

/* The digest of the item's front, else of its first scan. */
static glassine_span first_scan(xlsx_out *out, glassine_record *item) {
    glassine_record *const *scans;
    size_t count;
    glassine_span found = {NULL, 0};
    if (glassine_record_referrers(out->bundle, item, "scan", false, &scans, &count, NULL))
        return found;
    for (size_t i = 0; i < count; i++) {
        if (!is_shown(out, scans[i]))
            continue;
        bool front = conv_is(glassine_record_text(out->bundle, scans[i], "side"), "front");
        glassine_span sha256 = glassine_record_text(out->bundle, scans[i], "sha256");
        if (sha256.text && glassine_scan_has(out->bundle, sha256.text, NULL) && (front || !found.text))
            found = sha256;
        if (front && found.text)
            break;
    }
    return found;
}

void xlsx_picture(xlsx_out *out, glassine_record *item, size_t row) {
    glassine_span sha256 = first_scan(out, item);
    glassine_picture picture;
    glassine_error error;
    if (!sha256.text)
        return;
    glassine_status status =
        glassine_picture_make(out->bundle, sha256.text, PICTURE_PIXELS, &picture, &error);
    if (status) {
        out->pictures_failed++;
        if (status == GLASSINE_SYSTEM) {
            out->picture = error;
            xlsx_note(out, LXW_ERROR_MEMORY_MALLOC_FAILED);
        }
        return;
    }
    double scale = XLSX_PICTURE_HIGH / 72.0 * SCREEN_DPI / (picture.height ? picture.height : 1);
    double widest = (XLSX_PICTURE_WIDE * 7 + 5) / (picture.width ? picture.width : 1);
    scale = scale < widest ? scale : widest;
    dots at = dots_of((const unsigned char *)picture.bytes, picture.length);
    lxw_image_options options = {.x_scale = scale * at.across / SCREEN_DPI,
                                 .y_scale = scale * at.down / SCREEN_DPI,
                                 .object_position = LXW_OBJECT_MOVE_AND_SIZE,
                                 .description =
                                     (char *)conv_label(out->bundle, item, out->options.with_private).text};
    lxw_error placed = libxlsx.worksheet_insert_image_buffer_opt(out->sheet, (lxw_row_t)row, 1, picture.bytes,
                                                                 picture.length, &options);
    out->pictures += !placed;
    out->pictures_failed += placed != 0;
    glassine_picture_free(&picture);
}
