/* What stands beside the sheets: read-me.txt for people, csv-metadata.json for programs. */
#ifndef CONVERTERS_CSV_ABOUT_H
#define CONVERTERS_CSV_ABOUT_H

#include "columns.h"

typedef struct csv_about {
    glassine_bundle *bundle;
    bool with_private;
    conv_cautions cautions;
    conv_output tables; /* of csv-metadata.json, as far as it has come */
} csv_about;

void csv_about_sheet(csv_about *about, const char *file, const table_columns *columns, bool authored);
void csv_about_metadata(conv_output *out, const csv_about *about);
void csv_about_read_me(conv_output *out, const csv_about *about);

#endif
