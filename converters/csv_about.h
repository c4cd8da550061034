/* What stands beside the sheets: read-me.txt for people, csv-metadata.json for programs. */
#ifndef CONVERTERS_CSV_ABOUT_H
#define CONVERTERS_CSV_ABOUT_H

#include "columns.h"
#include "signers.h"

typedef struct csv_about {
    glassine_bundle *bundle;
    bool with_private;
    bool flat; /* it is the flat table */
    conv_signers signers;
    conv_cautions cautions;
    conv_output tables; /* of csv-metadata.json, as far as it has come */
} csv_about;

/* Of csv-metadata.json: a sheet's columns, one by one; `keys` is JSON. */
void csv_about_begin(csv_about *about, const char *file);
void csv_about_column(csv_about *about, const char *header, const char *help, bool required);
void csv_about_end(csv_about *about, const char *keys);
/* All of them. */
void csv_about_sheet(csv_about *about, const char *file, const table_columns *columns, bool authored);
void csv_about_metadata(conv_output *out, const csv_about *about);
void csv_about_read_me(conv_output *out, const csv_about *about);

#endif
