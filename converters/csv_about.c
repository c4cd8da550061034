#include "csv_about.h"

#define PRIVATE_SAID                                                                                         \
    "These sheets hold PRIVATE fields (prices, storage places, addresses). Do not pass them on."

/* ---------------------------------------------------------------------------------------------- for people
 */

void csv_about_read_me(conv_output *out, const csv_about *about) {
    conv_printf(out, "%s\n\n", glassine_bundle_title(about->bundle));
    if (about->with_private)
        conv_add_text(out, PRIVATE_SAID "\n\n");
    conv_add_text(
        out,
        "One sheet for each type of record, one row for each record, one column for each field. Text is\n"
        "UTF-8, cells are parted by commas.\n\n"
        "- id names the record. Leave this column and the last one, version, as they are: by them a changed\n"
        "  sheet finds its way back.\n"
        "- A cell that begins with ` holds the text behind it. The mark keeps spreadsheet programs from\n"
        "  turning 007 into 7, 7-8 into a day in July, or =A1 into a sum. Cells that you fill in need none.\n"
        "- A list has a semicolon and a space between its parts: 4; 14; 24.\n"
        "- A cell that begins with `contested: shows the values of people who differ. Put one value in its\n"
        "  place to settle it, or leave it alone.\n"
        "- An empty cell says nothing.\n"
        "- Columns called NAME_label are there to be read; changes in them go nowhere.\n");
    for (size_t i = 0; i < about->cautions.count; i++)
        conv_printf(out, "%s- %s\n", i ? "" : "\nBear in mind\n\n", about->cautions.text[i]);
    conv_printf(out, "\nFrom the bundle %s.\n", glassine_bundle_uuid(about->bundle));
}

/* -------------------------------------------------------------------- for programs: CSV on the Web (W3C) */

/* A name as RFC 6570 section 2.3 has it, which knows no @. */
static void add_column_name(conv_output *out, const table_column *column) {
    conv_output name = {0};
    table_column_header(&name, column);
    for (size_t i = 0; i < name.length; i++)
        conv_add_char(out, name.text[i] == '@' ? '.' : name.text[i]);
    conv_free(&name);
}

static void add_column(conv_output *out, const table_column *column) {
    conv_add_text(out, "{\"name\":\"");
    add_column_name(out, column);
    conv_add_text(out, "\",\"titles\":\"");
    table_column_header(out, column);
    conv_add_text(out, "\",\"datatype\":\"string\"");
    if (column->kind == TABLE_FIELD && column->info && column->info->help) {
        conv_add_text(out, ",\"dc:description\":");
        conv_add_json_string(out, conv_span_of(column->info->help));
    }
    if (column->kind == TABLE_ID || column->kind == TABLE_VERSION)
        conv_add_text(out, ",\"required\":true");
    conv_add_char(out, '}');
}

void csv_about_sheet(csv_about *about, const char *file, const table_columns *columns, bool authored) {
    conv_output *out = &about->tables;
    conv_printf(out, "%s\n{\"url\":\"%s\",\"tableSchema\":{\"columns\":[", out->length ? "," : "", file);
    for (size_t i = 0; i < columns->count; i++) {
        if (i)
            conv_add_char(out, ',');
        add_column(out, &columns->list[i]);
    }
    conv_printf(out, "],\"primaryKey\":%s}}", authored ? "[\"id\",\"author\"]" : "\"id\"");
}

void csv_about_metadata(conv_output *out, const csv_about *about) {
    char digest[65];
    glassine_bundle_digest(about->bundle, digest);
    conv_add_text(out, "{\"@context\":[\"http://www.w3.org/ns/csvw\",{\"@language\":\"en\"}],\"dc:title\":");
    conv_add_json_string(out, conv_span_of(glassine_bundle_title(about->bundle)));
    conv_printf(out, ",\"dc:identifier\":\"urn:uuid:%s\",\"dc:source\":\"content digest %s\"",
                glassine_bundle_uuid(about->bundle), digest);
    if (about->with_private)
        conv_add_text(out, ",\"dc:accessRights\":\"" PRIVATE_SAID "\"");
    if (about->cautions.count)
        conv_add_text(out, ",\"dc:description\":[");
    for (size_t i = 0; i < about->cautions.count; i++) {
        if (i)
            conv_add_char(out, ',');
        conv_add_json_string(out, conv_span_of(about->cautions.text[i]));
    }
    conv_add_text(out, about->cautions.count ? "]" : "");
    conv_add_text(out, ",\n\"dialect\":{\"encoding\":\"utf-8\",\"header\":true,\"delimiter\":\",\","
                       "\"lineTerminators\":[\"\\r\\n\"],\"doubleQuote\":true},\n\"tables\":[");
    conv_add(out, conv_span(&about->tables));
    conv_add_text(out, "\n]}\n");
}
