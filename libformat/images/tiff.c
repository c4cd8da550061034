/* TIFF files, and the EXIF blocks of others, which are built the same way. */
#include "images/ifd.h"
#include "images/parts.h"

#define PAGES_MOST 64
#define STRIPS_MOST 65536 /* of one page whose place is checked */

/* TIFF 6.0, EXIF 2.32, DNG 1.4, and the tags registered for XMP, IPTC and image resources. */
enum {
    WIDTH = 256,
    HEIGHT = 257,
    STRIP_OFFSETS = 273,
    ORIENTATION = 274,
    STRIP_BYTES = 279,
    RESOLUTION_X = 282,
    RESOLUTION_Y = 283,
    RESOLUTION_UNIT = 296,
    ARTIST = 315,
    TILE_OFFSETS = 324,
    TILE_BYTES = 325,
    XMP = 700,
    COPYRIGHT = 33432,
    IPTC = 33723,
    IMAGE_RESOURCES = 34377,
    EXIF_DIRECTORY = 34665,
    GPS_DIRECTORY = 34853,
    AUTHOR = 40093,
    OWNER = 42032,
    BODY_SERIAL = 42033,
    LENS_SERIAL = 42037,
    CAMERA_SERIAL = 50735
};

/* What a page's directory says that takes several tags to understand. */
typedef struct gl_page {
    uint64_t width, height, orientation;
    uint32_t x, x_per, y, y_per;
    uint64_t unit;
    uint64_t exif_at, gps_at; /* 0: none */
    gl_tag offsets, sizes;    /* of strips or tiles; count 0: none */
} gl_page;

static void see_xmp(const gl_ifds *ifds, const gl_tag *tag) {
    size_t length = tag->bytes < GL_WINDOW_MOST ? (size_t)tag->bytes : GL_WINDOW_MOST;
    const uint8_t *text = gl_source_see(ifds->source, ifds->start + tag->at, length);
    if (text)
        gl_xmp_look(ifds->source->image, text, length);
}

/* Tags that tell of people, things and places, wherever they stand. */
static void see_private(const gl_ifds *ifds, const gl_tag *tag) {
    gl_image *image = ifds->source->image;
    bool says = tag->count > 1; /* a text of one byte is its end alone */
    switch (tag->tag) {
    case ARTIST:
    case COPYRIGHT:
    case AUTHOR:
    case OWNER:
        image->person = image->person || says;
        break;
    case BODY_SERIAL:
    case LENS_SERIAL:
    case CAMERA_SERIAL:
        image->maker_serial = image->maker_serial || says;
        break;
    case XMP:
        see_xmp(ifds, tag);
        break;
    case IPTC:
        gl_iptc_look(ifds->source, ifds->start + tag->at, tag->bytes);
        break;
    case IMAGE_RESOURCES:
        gl_resources_look(ifds->source, ifds->start + tag->at, tag->bytes);
        break;
    default:
        break;
    }
}

static void see_tag(const gl_ifds *ifds, const gl_tag *tag, gl_page *page) {
    switch (tag->tag) {
    case WIDTH:
        gl_tag_number(ifds, tag, 0, &page->width);
        break;
    case HEIGHT:
        gl_tag_number(ifds, tag, 0, &page->height);
        break;
    case ORIENTATION:
        gl_tag_number(ifds, tag, 0, &page->orientation);
        break;
    case RESOLUTION_X:
        gl_tag_rational(ifds, tag, &page->x, &page->x_per);
        break;
    case RESOLUTION_Y:
        gl_tag_rational(ifds, tag, &page->y, &page->y_per);
        break;
    case RESOLUTION_UNIT:
        gl_tag_number(ifds, tag, 0, &page->unit);
        break;
    case EXIF_DIRECTORY:
        gl_tag_number(ifds, tag, 0, &page->exif_at);
        break;
    case GPS_DIRECTORY:
        gl_tag_number(ifds, tag, 0, &page->gps_at);
        break;
    case STRIP_OFFSETS:
    case TILE_OFFSETS:
        page->offsets = *tag;
        break;
    case STRIP_BYTES:
    case TILE_BYTES:
        page->sizes = *tag;
        break;
    default:
        see_private(ifds, tag);
    }
}

/* The EXIF directory: serial numbers and the owner's name. */
static void see_exif_directory(const gl_ifds *ifds, uint64_t at) {
    uint64_t entries, next;
    gl_tag tag;
    if (at == 0 || !gl_ifd_count(ifds, at, &entries, &next))
        return;
    for (uint64_t i = 0; i < entries; i++)
        if (gl_ifd_entry(ifds, at, i, &tag))
            see_private(ifds, &tag);
}

/* The GPS directory gives a place where it has a latitude or longitude (of the camera or of what it looked
 * at), or names the area; many cameras write one that has its version only. */
static void see_gps_directory(const gl_ifds *ifds, uint64_t at) {
    uint64_t entries, next;
    gl_tag tag;
    if (at == 0 || !gl_ifd_count(ifds, at, &entries, &next))
        return;
    for (uint64_t i = 0; i < entries; i++)
        if (gl_ifd_entry(ifds, at, i, &tag) &&
            (tag.tag == 2 || tag.tag == 4 || tag.tag == 20 || tag.tag == 22 || tag.tag == 28))
            ifds->source->image->place = true;
}

static bool see_page(const gl_ifds *ifds, uint64_t at, gl_page *page, uint64_t *next) {
    uint64_t entries;
    gl_tag tag;
    *page = (gl_page){.unit = 2}; /* inches, where it is not said: TIFF 6.0 section 3 */
    if (!gl_ifd_count(ifds, at, &entries, next))
        return false;
    bool whole = true;
    for (uint64_t i = 0; i < entries; i++)
        if (gl_ifd_entry(ifds, at, i, &tag))
            see_tag(ifds, &tag, page);
        else
            whole = false;
    see_exif_directory(ifds, page->exif_at);
    see_gps_directory(ifds, page->gps_at);
    return whole;
}

static void take_resolution(const gl_page *page, gl_image *image) {
    if (image->dpi_x || image->dpi_y || (page->unit != 2 && page->unit != 3))
        return;
    image->dpi_x = gl_resolution(page->x, page->x_per, page->unit == 3);
    image->dpi_y = gl_resolution(page->y, page->y_per, page->unit == 3);
}

static void take_orientation(const gl_page *page, gl_image *image) {
    if (page->orientation >= 1 && page->orientation <= 8)
        image->orientation = (uint8_t)page->orientation;
}

/* Up to `room` elements from number `from` on. */
static size_t numbers(const gl_ifds *ifds, const gl_tag *tag, uint64_t from, uint64_t *out, size_t room) {
    size_t count = 0;
    while (count < room && gl_tag_number(ifds, tag, from + count, &out[count]))
        count++;
    return count;
}

/* Do the page's strips or tiles lie inside the file? Both lists are read in pieces, since they lie apart. */
static bool pixels_are_there(const gl_ifds *ifds, const gl_page *page) {
    enum { PIECE = 512 };
    uint64_t offsets[PIECE], sizes[PIECE];
    for (uint64_t at = 0; at < page->offsets.count && at < STRIPS_MOST; at += PIECE) {
        size_t count = numbers(ifds, &page->offsets, at, offsets, PIECE);
        size_t sized = numbers(ifds, &page->sizes, at, sizes, PIECE);
        for (size_t i = 0; i < count && i < sized; i++)
            if (!gl_range_fits(ifds->length, offsets[i], sizes[i]))
                return false;
    }
    return true;
}

static uint32_t fitting(uint64_t value) {
    return value <= UINT32_MAX ? (uint32_t)value : 0;
}

static bool visited(const uint64_t *pages, size_t count, uint64_t at) {
    for (size_t i = 0; i < count; i++)
        if (pages[i] == at)
            return true;
    return false;
}

void gl_tiff_look(gl_source *source) {
    gl_image *image = source->image;
    gl_ifds ifds;
    uint64_t at, pages[PAGES_MOST];
    gl_page page;
    if (!gl_ifds_open(&ifds, source, 0, source->size, &at) || at == 0) {
        gl_image_trouble(image, "truncated: no directory");
        return;
    }
    for (size_t count = 0; at != 0 && count < PAGES_MOST; count++) {
        uint64_t next = 0;
        if (visited(pages, count, at)) {
            gl_image_trouble(image, "directories that lead back to each other");
            return;
        }
        pages[count] = at;
        bool whole = see_page(&ifds, at, &page, &next);
        if (count == 0) {
            image->width = fitting(page.width);
            image->height = fitting(page.height);
            take_resolution(&page, image);
            take_orientation(&page, image);
            if (whole && (image->width == 0 || image->height == 0))
                gl_image_trouble(image, "no size in its directory");
        }
        if (!whole || !pixels_are_there(&ifds, &page))
            gl_image_trouble(image, "truncated");
        at = next;
    }
}

void gl_exif_look(gl_source *source, uint64_t start, uint64_t length) {
    gl_ifds ifds;
    uint64_t at, next = 0;
    gl_page page;
    if (!gl_ifds_open(&ifds, source, start, length, &at) || !see_page(&ifds, at, &page, &next)) {
        gl_image_trouble(source->image, "EXIF data that cannot be read whole");
        return;
    }
    take_resolution(&page, source->image);
    take_orientation(&page, source->image);
}
