/* Metadata that several formats carry: image resources, IPTC records, XMP. Only whether they tell of places,
 * people or serial numbers is of interest, so this looks for the names that do. */
#include "images/parts.h"

/* A resource: "8BIM", id, a name (counted, padded to even), size, data (padded to even). */
void gl_resources_look(gl_source *source, uint64_t at, uint64_t length) {
    enum { IPTC_RESOURCE = 0x0404 };
    uint64_t end = at + length;
    while (end - at >= 12) {
        const uint8_t *head = gl_source_see(source, at, 7);
        if (!head || memcmp(head, "8BIM", 4) != 0)
            return;
        uint32_t id = gl_big16(head + 4);
        uint64_t name = ((uint64_t)head[6] + 2) & ~UINT64_C(1);
        if (!gl_range_fits(end - at, 6 + name, 4))
            return;
        at += 6 + name;
        const uint8_t *bytes = gl_source_see(source, at, 4);
        if (!bytes || gl_big32(bytes) > end - at - 4)
            return;
        uint64_t size = gl_big32(bytes);
        at += 4;
        if (id == IPTC_RESOURCE)
            gl_iptc_look(source, at, size);
        size += size & 1;
        if (size > end - at)
            return;
        at += size;
    }
}

/* IPTC-IIM 4.2, record 2: location code and name, city, sublocation, province, country; by-line, copyright
 * notice, contact, writer. */
static bool names_place(uint8_t set) {
    return set == 26 || set == 27 || set == 90 || set == 92 || set == 95 || set == 100 || set == 101;
}

static bool names_person(uint8_t set) {
    return set == 80 || set == 116 || set == 118 || set == 122;
}

void gl_iptc_look(gl_source *source, uint64_t at, uint64_t length) {
    uint64_t end = at + length;
    while (end - at >= 5) {
        const uint8_t *head = gl_source_see(source, at, 5);
        if (!head || head[0] != 0x1C)
            return;
        uint8_t record = head[1], set = head[2];
        uint64_t size = gl_big16(head + 3);
        if (size & 0x8000 || size > end - at - 5) /* extended sizes are for pictures within the record */
            return;
        if (record == 2 && size > 0) {
            source->image->place = source->image->place || names_place(set);
            source->image->person = source->image->person || names_person(set);
        }
        at += 5 + size;
    }
}

static bool is_name(uint8_t c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
}

static bool one_of(const uint8_t *word, size_t length, const char *const *names) {
    for (; *names; names++)
        if (strlen(*names) == length && memcmp(word, *names, length) == 0)
            return true;
    return false;
}

void gl_xmp_look(gl_image *image, const uint8_t *text, size_t length) {
    static const char *const places[] = {
        "GPSLatitude", "GPSLongitude", "GPSDestLatitude", "GPSDestLongitude", "City",          "State",
        "Country",     "CountryCode",  "Location",        "LocationCreated",  "LocationShown", NULL};
    static const char *const people[] = {"creator",
                                         "rights",
                                         "Artist",
                                         "OwnerName",
                                         "CameraOwnerName",
                                         "PersonInImage",
                                         "CreatorContactInfo",
                                         "Copyright",
                                         NULL};
    static const char *const serials[] = {"SerialNumber", "BodySerialNumber", "LensSerialNumber",
                                          "CameraSerialNumber", NULL};
    const uint8_t *end = text + length, *at = text;
    while (at < end && (at = memchr(at, ':', (size_t)(end - at))) != NULL) {
        const uint8_t *word = ++at;
        while (at < end && is_name(*at))
            at++;
        size_t size = (size_t)(at - word);
        image->place = image->place || one_of(word, size, places);
        image->person = image->person || one_of(word, size, people);
        image->maker_serial = image->maker_serial || one_of(word, size, serials);
    }
}
