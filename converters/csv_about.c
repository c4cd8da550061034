#include "csv_about.h"

#define PRIVATE_SAID                                                                                         \
    "These sheets hold PRIVATE fields (prices, storage places, addresses). Do not pass them on."

/* ------------------------------------------------------------------------------------------ for people */

static const char sheets_said[] =
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
    "- Columns called NAME_label are there to be read; changes in them go nowhere.\n";

static const char table_said[] =
    "items.csv is one table to read: a row for each item, with what belongs to it and what was said on it.\n"
    "Text is UTF-8, cells are parted by commas.\n\n"
    "- A cell that begins with ` holds the text behind it. The mark keeps spreadsheet programs from\n"
    "  turning 007 into 7, 7-8 into a day in July, or =A1 into a sum.\n"
    "- What an item has several of stands in one cell, with a semicolon and a space between.\n"
    "- contested: tells that people differ; their values follow.\n"
    "- It cannot be taken in again. For changes use the sheets that to-csv writes without --flat.\n";

void csv_about_read_me(conv_output *out, const csv_about *about) {
    conv_printf(out, "%s\n\n", glassine_bundle_title(about->bundle));
    if (about->with_private)
        conv_add_text(out, PRIVATE_SAID "\n\n");
    conv_add_text(out, about->flat ? table_said : sheets_said);
    for (size_t i = 0; i < about->cautions.count; i++)
        conv_printf(out, "%s- %s\n", i ? "" : "\nBear in mind\n\n", about->cautions.text[i]);
    for (size_t i = 0; i < about->signers.count; i++) {
        conv_add_text(out, i ? "- " : "\nStatements that are signed\n\n- ");
        conv_signer_say(&about->signers.list[i], out);
        conv_add_char(out, '\n');
    }
    conv_printf(out, "\nFrom the bundle %s.\n", glassine_bundle_uuid(about->bundle));
}

/* -------------------------------------------------------------------- for programs: CSV on the Web (W3C) */

/* A name as RFC 6570 section 2.3 has it, which knows no @. */
static void add_name(conv_output *out, const char *header) {
    for (; *header; header++)
        conv_add_char(out, *header == '@' ? '.' : *header);
}

void csv_about_begin(csv_about *about, const char *file) {
    conv_output *out = &about->tables;
    conv_printf(out, "%s\n{\"url\":\"%s\",\"tableSchema\":{\"columns\":[", out->length ? "," : "", file);
}

void csv_about_column(csv_about *about, const char *header, const char *help, bool required) {
    conv_output *out = &about->tables;
    conv_add_text(out, out->last == '[' ? "{\"name\":\"" : ",{\"name\":\"");
    add_name(out, header);
    conv_printf(out, "\",\"titles\":\"%s\",\"datatype\":\"string\"", header);
    if (help) {
        conv_add_text(out, ",\"dc:description\":");
        conv_add_json_string(out, conv_span_of(help));
    }
    conv_add_text(out, required ? ",\"required\":true}" : "}");
}

void csv_about_end(csv_about *about, const char *keys) {
    conv_printf(&about->tables, "],\"primaryKey\":%s}}", keys);
}

void csv_about_sheet(csv_about *about, const char *file, const table_columns *columns, bool authored) {
    conv_output header = {0};
    csv_about_begin(about, file);
    for (size_t i = 0; i < columns->count; i++) {
        const table_column *column = &columns->list[i];
        conv_clear(&header);
        table_column_header(&header, column);
        csv_about_column(about, header.text ? header.text : "",
                         column->kind == TABLE_FIELD && column->info ? column->info->help : NULL,
                         column->kind == TABLE_ID || column->kind == TABLE_VERSION);
    }
    csv_about_end(about, authored ? "[\"id\",\"author\"]" : "\"id\"");
    about->tables.failed = about->tables.failed ? about->tables.failed : header.failed;
    conv_free(&header);
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
