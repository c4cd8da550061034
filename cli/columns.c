#include <stddef.h>
#include <string.h>

#include "describe.h"

#define LIST(...) ((const char *const[]){__VA_ARGS__, NULL})

/* What one looks for first in each type; what names the record itself stands before these. */
static const struct {
    const char *type;
    const char *const *fields;
} COLUMNS[] = {
    {"contributor", LIST("key", "note")},
    {"collection", LIST("note")},
    {"item", LIST("title", "kind", "holding", "storage")},
    {"stamp", LIST("design", "row", "column", "colour", "paper", "perforation", "letters", "plate_number")},
    {"marking", LIST("item", "kind", "text", "town", "number", "on", "dated_by")},
    {"scan", LIST("item", "side", "name", "width", "height", "caption")},
    {"design", LIST("title", "denomination", "colour", "issued")},
    {"plate", LIST("design", "rows", "columns", "panes_across", "panes_down", "numbering", "corner_letters")},
    {"plate_state", LIST("plate", "order", "from", "to")},
    {"printing", LIST("design", "on", "plates", "papers", "perforation")},
    {"mark", LIST("plate", "positions", "appearance", "cause", "x", "y", "first_state", "last_state")},
    {"observation", LIST("stamp", "item", "appearance", "seen", "x", "y", "mark", "text")},
    {"claim", LIST("stamp", "plates", "positions", "state", "confidence", "made", "withdrawn", "remark")},
    {"match", LIST("stamps", "relation", "down", "across", "confidence", "withdrawn", "remark")},
    {"opinion", LIST("stamp", "item", "about", "withdrawn", "text")},
    {"conclusion", LIST("stamp", "plates", "positions", "state", "why")},
    {"letter", LIST("contributor", "direction", "on", "items", "text")},
    {"join", LIST("records", "why", "withdrawn")},
    {"event", LIST("item", "items", "kind", "on", "contributor", "party", "note")},
    {"certificate", LIST("item", "issuer", "number", "on", "opinion")},
    {"valuation", LIST("item", "kind", "amount_minor", "currency", "as_of", "catalogue", "number")},
    {"selection", LIST("purpose", "items")},
};

/* Of a type that this version does not know. */
static const char *const UNKNOWN[] = {"label", "name", "title", NULL};

const char *const *cli_columns(const char *type) {
    for (size_t i = 0; i < sizeof COLUMNS / sizeof COLUMNS[0]; i++) {
        if (strcmp(COLUMNS[i].type, type) == 0) {
            return COLUMNS[i].fields;
        }
    }
    return UNKNOWN;
}
