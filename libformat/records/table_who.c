/* The table of types, first part: who and what. */
#include "records/fields.h"

static const glassine_field_info contributor_fields[] = {
    TEXT("name", SHARED, NEEDED, "as the person signs letters"),
    HEX("key", SHARED, OPTIONAL, "public key of this person's signatures (Ed25519)"),
    HEX("key_before", SHARED, OPTIONAL, "the key that it took the place of"),
    TEXT("note", PRIVATE, OPTIONAL, "remarks for yourself"),
    TEXT("contact", PRIVATE, OPTIONAL, "address, telephone, e-mail"),
    SET_ASIDE(SHARED),
};

static const glassine_field_info collection_fields[] = {
    TEXT("title", SHARED, NEEDED, "what the collection is called"),
    TEXT("note", SHARED, OPTIONAL, "what it is about"),
    TEXT("instructions", PRIVATE, OPTIONAL, "what to do with it all one day"),
    SET_ASIDE(SHARED),
};

static const glassine_field_info item_fields[] = {
    TEXT("label", SHARED, NEEDED, "its number in the collection, as written on its page or envelope"),
    TEXT("title", TELLING, OPTIONAL, "a line that describes it"),
    CHOICE("kind", SHARED, OPTIONAL,
           LIST("single", "pair", "strip", "block", "sheet", "piece", "cover", "proof", "forgery", "other"),
           "what sort of thing it is"),
    CHOICE("holding", SHARED, OPTIONAL, LIST("owned", "formerly", "reference", "seen"),
           "whether it is, or was, in the collection"),
    TEXT("rate", SHARED, OPTIONAL, "the postal rate that was paid"),
    TEXT("destination", SHARED, OPTIONAL, "where it was sent"),
    TEXT("addressee", SHARED, OPTIONAL, "to whom it was sent"),
    TEXT("contents", SHARED, OPTIONAL, "what the letter says"),
    TEXT("provenance", SHARED, OPTIONAL, "through whose hands it came"),
    TEXT("note", TELLING, OPTIONAL, "remarks"),
    TEXT("storage", PRIVATE, OPTIONAL, "where it is kept"),
    DATE("acquired", PRIVATE, "when it was acquired"),
    TEXT("source", PRIVATE, OPTIONAL, "from whom it was acquired"),
    INTEGER("cost_minor", PRIVATE, OPTIONAL, 0, GL_JSON_INTEGER_MAX, "minor units of the currency",
            "what it cost"),
    TEXT("currency", PRIVATE, OPTIONAL, "the currency's ISO 4217 code, in capitals"),
    SET_ASIDE(SHARED),
};

#define SIDES_OF_STAMP LIST("left", "right", "top", "bottom")
#define GAUGE(name, help) INTEGER(name, SHARED, OPTIONAL, 100, 5000, "hundredths of a hole per 20 mm", help)

static const glassine_field_info stamp_fields[] = {
    REF("item", SHARED, NEEDED, LIST("item"), "the item it is on"),
    REF("design", SHARED, OPTIONAL, LIST("design"), "its design"),
    INTEGER("row", SHARED, OPTIONAL, 1, GL_SUBJECTS_MOST, NULL, "its row in the multiple, from 1 at the top"),
    INTEGER("column", SHARED, OPTIONAL, 1, GL_SUBJECTS_MOST, NULL,
            "its place in that row, from 1 at the left"),
    CHOICE("portion", SHARED, OPTIONAL, LIST("whole", "half", "third", "quarter", "other"),
           "how much of the stamp is there"),
    CHOICES("selvedge", SHARED, SIDES_OF_STAMP, "sides on which sheet margin is attached"),
    CHOICES("straight_edge", SHARED, SIDES_OF_STAMP, "sides without perforation on a perforated stamp"),
    TEXT("condition", SHARED, OPTIONAL, "its condition"),
    TEXT("gum", SHARED, OPTIONAL, "its gum"),
    TEXT("faults", SHARED, OPTIONAL, "tears, thins, creases, repairs"),
    TEXT("colour", SHARED, OPTIONAL, "its colour or shade"),
    TEXT("paper", SHARED, OPTIONAL, "its paper"),
    INTEGER("paper_um", SHARED, OPTIONAL, 1, 10000, "micrometres", "thickness of the paper"),
    TEXT("perforation", SHARED, OPTIONAL, "kind of separation, in words"),
    GAUGE("gauge_top", "perforation gauge at the top"),
    GAUGE("gauge_right", "perforation gauge on the right"),
    GAUGE("gauge_bottom", "perforation gauge at the bottom"),
    GAUGE("gauge_left", "perforation gauge on the left"),
    TEXT("watermark", SHARED, OPTIONAL, "its watermark and which way it stands"),
    TEXT("letters", SHARED, OPTIONAL, "the corner letters that are on it"),
    TEXT("plate_number", SHARED, OPTIONAL, "the plate number that is on it or its margin"),
    TEXTS("varieties", TELLING, "varieties it shows"),
    TEXTS("catalogue", TELLING, "catalogue numbers, each with its catalogue"),
    TEXT("note", TELLING, OPTIONAL, "remarks"),
    SET_ASIDE(SHARED),
};

static const glassine_field_info marking_fields[] = {
    REF("item", SHARED, NEEDED, LIST("item"), "the item it is on"),
    REFS("stamps", SHARED, OPTIONAL, LIST("stamp"), 1, 0, "the stamps it touches"),
    CHOICE("kind", SHARED, OPTIONAL,
           LIST("postmark", "obliterator", "precancel", "railway", "transit", "receiving", "rate",
                "manuscript", "other"),
           "what sort of marking it is"),
    TEXT("text", SHARED, OPTIONAL, "what it reads"),
    TEXT("town", SHARED, OPTIONAL, "the town it names"),
    TEXT("number", SHARED, OPTIONAL, "the number or letters of an obliterator"),
    TEXT("direction", SHARED, OPTIONAL, "direction of travel, of a railway or transit marking"),
    TEXT("colour", SHARED, OPTIONAL, "colour of the ink"),
    DATE("on", SHARED, "its date"),
    CHOICE("dated_by", SHARED, OPTIONAL, LIST("postmark", "docketing", "contents", "inferred"),
           "what the date rests on"),
    CHOICE("side", SHARED, OPTIONAL, LIST("front", "back", "inside"), "side of the item it is on"),
    REF("scan", SHARED, OPTIONAL, LIST("scan"), "a scan that shows it"),
    REGION("region", SHARED, "where on that scan: left, top, width, height"),
    TEXT("note", SHARED, OPTIONAL, "remarks"),
    SET_ASIDE(SHARED),
};

#define PIXELS(name, help) INTEGER(name, SHARED, OPTIONAL, 1, GL_PIXELS_MOST, "pixels", help)
#define DPI(name, help) INTEGER(name, SHARED, OPTIONAL, 1, 10000000, "hundredths of a dot per inch", help)

static const glassine_field_info scan_fields[] = {
    REF("item", SHARED, NEEDED, LIST("item"), "the item it shows"),
    REF("stamp", SHARED, OPTIONAL, LIST("stamp"), "the one stamp it shows"),
    HEX("sha256", SHARED, NEEDED, "SHA-256 of the file's bytes, which name it in the bundle"),
    INTEGER("bytes", SHARED, NEEDED, 0, GL_JSON_INTEGER_MAX, "bytes", "size of the file"),
    TEXT("media", SHARED, NEEDED, "media type of the file"),
    TEXT("name", TELLING, OPTIONAL, "name of the file it was taken in from"),
    PIXELS("width", "width as stored, before any turning"),
    PIXELS("height", "height as stored, before any turning"),
    DPI("dpi_x", "resolution across"),
    DPI("dpi_y", "resolution down"),
    CHOICE("side", SHARED, OPTIONAL, LIST("front", "back", "detail"), "what of the item it shows"),
    DATE("made", SHARED, "when it was scanned or photographed"),
    REF("taken_from", SHARED, OPTIONAL, LIST("scan"), "the scan that it was made smaller or cut out from"),
    TEXT("caption", TELLING, OPTIONAL, "what to see on it"),
    TEXT("credit", SHARED, OPTIONAL, "whose picture it is"),
    SET_ASIDE(SHARED),
};

static const glassine_type_info types[] = {
    TYPE("contributor", COMMON, "name", NULL, "a person who makes statements", contributor_fields),
    TYPE("collection", COMMON, "title", NULL, "the collection that the bundle is about", collection_fields),
    TYPE("item", COMMON, "label", NULL, "one thing that is kept: a stamp, a multiple, a cover …",
         item_fields),
    TYPE("stamp", COMMON, NULL, NULL, "one stamp of an item", stamp_fields),
    TYPE("marking", COMMON, NULL, NULL, "what the post put on an item", marking_fields),
    TYPE("scan", COMMON, NULL, NULL, "a picture or document of an item", scan_fields),
};
const gl_table_part gl_table_who = {types, sizeof types / sizeof types[0]};
