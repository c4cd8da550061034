/* The table of types, fourth part: an item's life. */
#include "records/fields.h"

/* All fields of an event that is a purchase or a sale are private: gl_field_reach. */
static const glassine_field_info event_fields[] = {
    REF("item", SHARED, OPTIONAL, LIST("item"), "the item; it or the items are needed"),
    REFS("items", SHARED, OPTIONAL, LIST("item"), 1, 0, "several items; they or the item are needed"),
    CHOICE("kind", SHARED, NEEDED,
           LIST("acquired", "sold", "sent", "returned", "exhibited", "published", "treated", "repaired"),
           "what happened"),
    DATE("on", SHARED, "when it happened"),
    REF("contributor", SHARED, OPTIONAL, LIST("contributor"), "to whom it went or from whom it came"),
    REFS("stamps", SHARED, OPTIONAL, LIST("stamp"), 1, 0,
         "the stamps that were asked about, in the letter's order"),
    TRUTH("blind", SHARED, "it went without what might tell a position"),
    HEX("digest", SHARED, OPTIONAL, "content digest of what was sent"),
    REF("answers", SHARED, OPTIONAL, LIST("event"), "the sending that a return answers"),
    TEXT("party", PRIVATE, OPTIONAL, "buyer, seller, exhibition, restorer"),
    REF("document", SHARED, OPTIONAL, LIST("scan"), "a scan of the paper that goes with it"),
    TEXT("note", SHARED, OPTIONAL, "remarks"),
    SET_ASIDE(SHARED),
};

static const glassine_field_info certificate_fields[] = {
    REF("item", SHARED, NEEDED, LIST("item"), "the item"),
    TEXT("issuer", SHARED, OPTIONAL, "who issued it"),
    TEXT("number", SHARED, OPTIONAL, "its number"),
    DATE("on", SHARED, "its date"),
    TEXT("opinion", TELLING, OPTIONAL, "what it states, in its own words"),
    REF("scan", SHARED, OPTIONAL, LIST("scan"), "a scan of it"),
    SET_ASIDE(SHARED),
};

static const glassine_field_info valuation_fields[] = {
    REF("item", PRIVATE, NEEDED, LIST("item"), "the item"),
    CHOICE("kind", PRIVATE, OPTIONAL, LIST("catalogue", "realised", "insured", "appraised", "asked"),
           "what sort of figure it is"),
    TEXT("catalogue", PRIVATE, OPTIONAL, "the catalogue it is taken from"),
    INTEGER("catalogue_year", PRIVATE, OPTIONAL, 1, 9999, NULL, "the year of that catalogue"),
    TEXT("number", PRIVATE, OPTIONAL, "the catalogue number"),
    INTEGER("amount_minor", PRIVATE, OPTIONAL, 0, GL_JSON_INTEGER_MAX, "minor units of the currency",
            "the figure"),
    TEXT("currency", PRIVATE, OPTIONAL, "the currency's ISO 4217 code, in capitals"),
    DATE("as_of", PRIVATE, "the date it holds for"),
    TEXT("note", PRIVATE, OPTIONAL, "remarks"),
    SET_ASIDE(PRIVATE),
};

static const glassine_field_info selection_fields[] = {
    TEXT("label", TELLING, NEEDED, "what the selection is called"),
    TEXT("purpose", TELLING, OPTIONAL, "what it is for"),
    REFS("items", TELLING, OPTIONAL, LIST("item"), 1, 0, "the items, in their order"),
    TEXTS("captions", TELLING, "a caption for each item, in the same order"),
    TEXT("note", TELLING, OPTIONAL, "remarks"),
    SET_ASIDE(TELLING),
};

static const glassine_type_info types[] = {
    TYPE("event", COMMON, NULL,
         "Of treatments (chemical cleaning, reversing a so-called oxidised colour, soaking): they cannot be "
         "undone. Peroxide burns skin and eyes and feeds fire; solvents burn and their vapour harms; soaking "
         "destroys a cover. Follow the safety data sheet and the rules where you are, ventilate, wear gloves "
         "and eye protection, ask a conservator first, and say it when the item is sold.",
         "something that happened to items", event_fields),
    TYPE(
        "certificate", COMMON, NULL,
        "What its issuer stated on its date. This entry is no certificate; where it matters, ask the issuer.",
        "a certificate that was issued for an item", certificate_fields),
    TYPE("valuation", COMMON, NULL,
         "Somebody's figure at a date: no offer, and no promise of what it would fetch.",
         "a figure for an item", valuation_fields),
    TYPE("selection", COMMON, "label", NULL,
         "items in an order: for a talk, a frame, an insurance list, a dispatch", selection_fields),
};
const gl_table_part gl_table_life = {types, sizeof types / sizeof types[0]};
