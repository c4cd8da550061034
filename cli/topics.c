#include "topics.h"

#include <string.h>

static const cli_topic TOPICS[] = {
    {"names", "how records are named",
     "A bundle is a .glassine file; FILE#3 is its edition 3, for reading. A command that only reads also "
     "takes an "
     "unpacked folder, or another program's archive of one.\n"
     "A record is named by its id (item/6f3a…), by six or more of the id's digits, or by its label or name. "
     "A stamp "
     "is also named by its item: H-014, or H-014.2 for the second stamp of a multiple. Where a field wants a "
     "record "
     "of a known type, its label will do:\n"
     "  design=KF   plate=1   stamps=H-014.1,H-014.2\n"
     "A name that fits several records is refused with the choices."},
    {"values", "how fields are given",
     "Fields are given as name=value; everything after the first = is the value. name= clears a field. "
     "name=@PATH "
     "reads the value from a file; name=@@… begins with an at sign. Where a shell reads along, put a value "
     "with spaces "
     "in quotes.\n"
     "Several values are separated by commas; a comma inside a value is written \\,. Of a place on a scan "
     "the parts are "
     "left, top, width and height in pixels:\n"
     "  varieties='re-entry,double letters'   region=10,20,300,200\n"
     "Dates are understood as people write them, and kept as EDTF (ISO 8601-2); the program says what it "
     "understood:\n"
     "  14 Mar 1860   1860-03   about 1860   1861 or 1862   1861?\n"
     "Lengths are micrometres, places on a design thousandths of its width and height, money minor units.\n"
     "Private fields (storage, source, cost_minor …) never leave with a dispatch. --reach says otherwise for "
     "the fields "
     "of a command."},
    {"positions", "how positions on a plate are written",
     "Positions count from 1, from the top left as the sheet is looked at.\n"
     "  41             one position\n"
     "  41-50, 64      several\n"
     "  row 4          a row; also: row 3-5, column 4\n"
     "  R6/3           row 6, stamp 3\n"
     "  TL             corner letters, where the plate has them\n"
     "  7R, 7R1E       position 7 of the right pane; with the plate and its state\n"
     "  pane L         a pane\n"
     "  any            every position\n"
     "  row 3-10 and column 4\n"
     "  column 4 but not row 2\n"
     "What stands after 'but not' is taken away. An expression that names a position that the plate lacks is "
     "refused."},
};

enum { TOPICS_COUNT = sizeof TOPICS / sizeof TOPICS[0] };

size_t cli_topic_count(void) {
    return TOPICS_COUNT;
}

const cli_topic *cli_topic_at(size_t index) {
    return &TOPICS[index];
}

const cli_topic *cli_topic_find(const char *name) {
    for (size_t i = 0; i < TOPICS_COUNT; i++) {
        if (strcmp(TOPICS[i].name, name) == 0) {
            return &TOPICS[i];
        }
    }
    return NULL;
}
