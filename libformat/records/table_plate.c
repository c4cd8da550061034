/* The table of types, second part: the plate. */
#include "records/fields.h"

#define LENGTH(name, help) INTEGER(name, SHARED, OPTIONAL, 1, GL_MICROMETRES_MOST, "micrometres", help)

static const glassine_field_info design_fields[] = {
    TEXT("label", SHARED, NEEDED, "a short name for it"),
    TEXT("title", SHARED, OPTIONAL, "its full name"),
    TEXT("authority", SHARED, OPTIONAL, "the postal authority that issued it"),
    TEXT("denomination", SHARED, OPTIONAL, "its face value"),
    TEXT("colour", SHARED, OPTIONAL, "its colour"),
    DATE("issued", SHARED, "when it was issued"),
    TEXT("method", SHARED, OPTIONAL, "how it was printed"),
    TEXT("printer", SHARED, OPTIONAL, "who printed it"),
    LENGTH("width_um", "width of the design"),
    LENGTH("height_um", "height of the design"),
    TEXT("note", SHARED, OPTIONAL, "remarks"),
    SET_ASIDE(SHARED),
};

#define SUBJECTS(name, help) INTEGER(name, SHARED, NEEDED, 1, GL_SUBJECTS_MOST, "subjects", help)
#define PANES(name, help) INTEGER(name, SHARED, OPTIONAL, 1, GL_PANES_MOST, "panes", help)

static const glassine_field_info plate_fields[] = {
    TEXT("label", SHARED, NEEDED, "its number or name"),
    REF("design", SHARED, NEEDED, LIST("design"), "the design it prints"),
    SUBJECTS("rows", "rows of one pane"),
    SUBJECTS("columns", "columns of one pane"),
    PANES("panes_across", "panes beside each other; 1 where unsaid"),
    PANES("panes_down", "panes below each other; 1 where unsaid"),
    TEXTS("pane_names", SHARED, "names of the panes, across, then down: L, R"),
    CHOICE("numbering", SHARED, OPTIONAL, LIST("across", "down", "across_sheet"),
           "how positions count: along the rows or down the columns of a pane, or through all panes"),
    TRUTH("corner_letters", SHARED, "positions are named by corner letters"),
    LENGTH("pitch_x_um", "from a subject to the next across"),
    LENGTH("pitch_y_um", "from a subject to the next down"),
    TEXT("note", SHARED, OPTIONAL, "remarks"),
    SET_ASIDE(SHARED),
};

static const glassine_field_info plate_state_fields[] = {
    REF("plate", SHARED, NEEDED, LIST("plate"), "the plate"),
    TEXT("name", SHARED, NEEDED, "what the state is called"),
    INTEGER("order", SHARED, NEEDED, -1000000, 1000000, NULL, "its place among the states, early to late"),
    DATE("from", SHARED, "when it came into use"),
    DATE("to", SHARED, "when it went out of use"),
    TEXT("note", SHARED, OPTIONAL, "what tells it apart"),
    SET_ASIDE(SHARED),
};

static const glassine_field_info printing_fields[] = {
    REF("design", SHARED, NEEDED, LIST("design"), "the design"),
    TEXT("label", SHARED, NEEDED, "what the printing is called"),
    DATE("on", SHARED, "when it was printed"),
    REFS("plates", SHARED, OPTIONAL, LIST("plate"), 1, 0, "the plates it was printed from"),
    TEXTS("papers", SHARED, "papers it is known on"),
    TEXTS("shades", SHARED, "shades it is known in"),
    TEXT("perforation", SHARED, OPTIONAL, "how it was separated"),
    TEXT("note", SHARED, OPTIONAL, "remarks"),
    SET_ASIDE(SHARED),
};

#define PLACE(name, help)                                                                                    \
    INTEGER(name, SHARED, OPTIONAL, -GL_OFF_DESIGN, GL_OFF_DESIGN, "thousandths of the design", help)

static const glassine_field_info mark_fields[] = {
    REF("plate", SHARED, NEEDED, LIST("plate"), "the plate it is on"),
    EXPRESSION("positions", SHARED, "where on the plate; unsaid while that is unknown"),
    CHOICE("appearance", SHARED, NEEDED, APPEARANCES, "what one sees"),
    CHOICE("cause", SHARED, OPTIONAL,
           LIST("re_entry", "fresh_entry", "shifted_transfer", "short_transfer", "misplaced_entry", "layout",
                "damage", "repair", "other"),
           "what it is held to come from"),
    CHOICE("origin", SHARED, OPTIONAL, LIST("die", "relief", "plate"), "where it arose"),
    TEXT("name", SHARED, OPTIONAL, "what it is called"),
    PLACE("x", "from the left edge of the design; in the margin below 0 or above 1000"),
    PLACE("y", "from the top edge of the design; in the margin below 0 or above 1000"),
    INTEGER("spread", SHARED, OPTIONAL, 0, GL_OFF_DESIGN, "thousandths of the design",
            "how far off its place it may be seen"),
    REF("first_state", SHARED, OPTIONAL, LIST("plate_state"), "the first state of the plate that shows it"),
    REF("last_state", SHARED, OPTIONAL, LIST("plate_state"), "the last state of the plate that shows it"),
    INTEGER("visibility", SHARED, OPTIONAL, 0, 100, "per cent",
            "of copies from there, how many show it to somebody who looks"),
    DATE("earliest", SHARED, "the earliest date published for it"),
    TEXT("reference", SHARED, OPTIONAL, "where it is published"),
    TEXT("note", SHARED, OPTIONAL, "remarks"),
    SET_ASIDE(SHARED),
};

static const glassine_type_info types[] = {
    TYPE("design", COMMON, "label", NULL, "a stamp design", design_fields),
    TYPE("plate", COMMON, "label", NULL, "a printing plate and its layout", plate_fields),
    TYPE("plate_state", COMMON, "name", NULL, "a plate between two changes made to it", plate_state_fields),
    TYPE("printing", COMMON, "label", NULL, "one printing of a design", printing_fields),
    TYPE("mark", COMMON, "name", NULL, "something on a plate by which its positions are known", mark_fields),
};
const gl_table_part gl_table_plate = {types, sizeof types / sizeof types[0]};
