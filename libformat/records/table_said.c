/* The table of types, third part: what people say. */
#include "records/fields.h"

#define STAMP_OR_ITEM                                                                                        \
    REF("stamp", SHARED, OPTIONAL, LIST("stamp"), "the stamp; it or the item is needed"),                    \
        REF("item", SHARED, OPTIONAL, LIST("item"), "the item; it or the stamp is needed")

static const glassine_field_info observation_fields[] = {
    STAMP_OR_ITEM,
    REF("scan", SHARED, OPTIONAL, LIST("scan"), "the scan on which it was seen"),
    REGION("region", SHARED, "where on that scan: left, top, width, height"),
    CHOICE("appearance", SHARED, OPTIONAL, APPEARANCES, "what one sees"),
    INTEGER("x", SHARED, OPTIONAL, -GL_OFF_DESIGN, GL_OFF_DESIGN, "thousandths of the design",
            "from the left edge of the design"),
    INTEGER("y", SHARED, OPTIONAL, -GL_OFF_DESIGN, GL_OFF_DESIGN, "thousandths of the design",
            "from the top edge of the design"),
    CHOICE("seen", SHARED, OPTIONAL, LIST("present", "absent", "unclear"),
           "whether it is there; unclear also where it is torn off or cancelled"),
    INTEGER("size_um", SHARED, OPTIONAL, 1, GL_MICROMETRES_MOST, "micrometres", "its greatest extent"),
    INTEGER("count", SHARED, OPTIONAL, 0, 1000000, NULL, "how many there are"),
    REF("mark", TELLING, OPTIONAL, LIST("mark"), "the known mark that it is held to be"),
    TEXT("text", TELLING, OPTIONAL, "in words"),
    SET_ASIDE(SHARED),
};

#define PLACED(plates_help)                                                                                  \
    REFS("plates", SHARED, OPTIONAL, LIST("plate"), 1, 0, plates_help),                                      \
        EXPRESSION("positions", SHARED, "where on the plate; any where unsaid"),                             \
        REF("state", SHARED, OPTIONAL, LIST("plate_state"), "the state of the plate")
#define BASIS REFS("basis", SHARED, OPTIONAL, ANY_TYPE, 1, 0, "the records that it rests on")
#define WITHDRAWN TRUTH("withdrawn", SHARED, "its author has taken it back")
#define REMARK TEXT("remark", SHARED, OPTIONAL, "remarks")

static const glassine_field_info claim_fields[] = {
    REF("stamp", SHARED, NEEDED, LIST("stamp"), "the stamp"),
    PLACED("the plates it may come from; every plate of the design where unsaid"),
    CHOICE("confidence", SHARED, OPTIONAL, CONFIDENCES, "how sure its author is"),
    BASIS,
    DATE("made", SHARED, "when it was made"),
    TRUTH("blind", SHARED, "made without knowing what others had claimed"),
    REF("instead_of", SHARED, OPTIONAL, LIST("claim"), "the author's own earlier claim that it replaces"),
    WITHDRAWN,
    REMARK,
    SET_ASIDE(SHARED),
};

static const glassine_field_info match_fields[] = {
    REFS("stamps", SHARED, NEEDED, LIST("stamp"), 2, 2, "the two stamps"),
    CHOICE("relation", SHARED, NEEDED, LIST("same", "different", "neighbour"),
           "from the same place, from different ones, or from places side by side"),
    INTEGER("down", SHARED, OPTIONAL, -GL_SUBJECTS_MOST, GL_SUBJECTS_MOST, "positions",
            "of neighbours: rows from the first stamp down to the second"),
    INTEGER("across", SHARED, OPTIONAL, -GL_SUBJECTS_MOST, GL_SUBJECTS_MOST, "positions",
            "of neighbours: columns from the first stamp right to the second"),
    CHOICE("confidence", SHARED, OPTIONAL, CONFIDENCES, "how sure its author is"),
    BASIS,
    WITHDRAWN,
    REMARK,
    SET_ASIDE(SHARED),
};

static const glassine_field_info opinion_fields[] = {
    STAMP_OR_ITEM,
    TEXT("about", SHARED, OPTIONAL, "what it is about, in a word or two"),
    TEXT("text", SHARED, NEEDED, "the opinion"),
    REF("letter", SHARED, OPTIONAL, LIST("letter"), "the letter in which it was given"),
    WITHDRAWN,
    SET_ASIDE(SHARED),
};

static const glassine_field_info conclusion_fields[] = {
    REF("stamp", SHARED, NEEDED, LIST("stamp"), "the stamp"),
    PLACED("the plates it is taken to come from"),
    TEXT("why", SHARED, OPTIONAL, "the reasons"),
    BASIS,
    SET_ASIDE(SHARED),
};

static const glassine_field_info letter_fields[] = {
    REF("contributor", PRIVATE, OPTIONAL, LIST("contributor"), "with whom it was exchanged"),
    CHOICE("direction", PRIVATE, OPTIONAL, LIST("to", "from"), "to that person, or from them"),
    DATE("on", PRIVATE, "its date"),
    REFS("items", PRIVATE, OPTIONAL, LIST("item"), 1, 0, "the items it speaks of"),
    TEXT("text", PRIVATE, OPTIONAL, "what it says"),
    REF("document", PRIVATE, OPTIONAL, LIST("scan"), "a scan of it"),
    SET_ASIDE(PRIVATE),
};

static const glassine_field_info join_fields[] = {
    REFS("records", SHARED, NEEDED, ANY_TYPE, 2, 0, "the records, all of one type"),
    TEXT("why", SHARED, OPTIONAL, "the reasons"),
    WITHDRAWN,
    SET_ASIDE(SHARED),
};

#define OPINION_ONLY " is its author's opinion and no certificate."

static const glassine_type_info types[] = {
    TYPE("observation", AUTHORED, NULL, NULL, "what somebody sees, or looked for, on a stamp or an item",
         observation_fields),
    TYPE("claim", AUTHORED, NULL, "A claim" OPINION_ONLY, "that a stamp comes from certain plate positions",
         claim_fields),
    TYPE("match", AUTHORED, NULL, "A match" OPINION_ONLY,
         "that two stamps come from one place, or from places side by side", match_fields),
    TYPE("opinion", AUTHORED, NULL, "This" OPINION_ONLY, "anything else that somebody holds", opinion_fields),
    TYPE("conclusion", AUTHORED, NULL, "A conclusion" OPINION_ONLY,
         "what its author takes as settled for now, beside whatever is disputed", conclusion_fields),
    TYPE("letter", COMMON, NULL, NULL, "a letter or message", letter_fields),
    TYPE("join", AUTHORED, NULL, NULL, "that records entered more than once are one and the same thing",
         join_fields),
};
const gl_table_part gl_table_said = {types, sizeof types / sizeof types[0]};
