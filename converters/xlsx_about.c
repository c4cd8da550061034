/* The first sheet of a workbook: what it is of, how to use it, what to bear in mind. */
#include "signers.h"
#include "xlsx_out.h"

static void add_fact(xlsx_out *out, size_t *row, const char *name, glassine_span value) {
    xlsx_line(out, out->about, *row, 0, name, out->header);
    xlsx_text(out, out->about, *row, 1, value, out->plain);
    ++*row;
}

static void add_facts(xlsx_out *out, size_t *row) {
    glassine_bundle *bundle = out->bundle;
    char digest[65], edition[64];
    uint32_t number = glassine_bundle_edition(bundle);
    glassine_span at = glassine_bundle_edition_at(bundle, number).at;
    snprintf(edition, sizeof edition, "%lu, of %.*s", (unsigned long)number,
             (int)(at.length < 20 ? at.length : 20), at.length ? at.text : "");
    glassine_bundle_digest(bundle, digest);
    glassine_span keeper = conv_span_of(glassine_bundle_keeper(bundle));
    add_fact(out, row, "Keeper", conv_name_of(bundle, keeper, out->options.with_private));
    add_fact(out, row, "Bundle", conv_span_of(glassine_bundle_uuid(bundle)));
    add_fact(out, row, "Edition", conv_span_of(edition));
    add_fact(out, row, "Content digest", conv_span_of(digest));
}

static void add_lines(xlsx_out *out, size_t *row, const char *const *lines, size_t count) {
    for (size_t i = 0; i < count; i++)
        xlsx_line(out, out->about, (*row)++, 1, lines[i], out->wrapped);
}

static void add_signers(xlsx_out *out, size_t *row) {
    conv_signers signers;
    glassine_error error = {0};
    if (conv_signers_find(out->bundle, out->options.with_private, &signers, &error))
        xlsx_note(out, LXW_ERROR_MEMORY_MALLOC_FAILED);
    for (size_t i = 0; i < signers.count; i++) {
        conv_output said = {0};
        conv_signer_say(&signers.list[i], &said);
        add_fact(out, row, i ? "" : "Statements of", conv_span(&said));
        conv_free(&said);
    }
    conv_signers_free(&signers);
}

void xlsx_about(xlsx_out *out, const tables *walk) {
    static const char *const how[] = {
        "One sheet for each type of record, one row for each record, one column for each field.",
        "id and version lead a changed workbook back into the bundle: leave them as they are.",
        "A row without an id and a version is a new record. A row that is gone takes nothing away.",
        "A list has a semicolon and a space between its parts: 4; 14; 24.",
        "A cell that begins with `contested: shows the values of people who differ.",
        "Put one value in its place to settle it, or leave it alone.",
        "Columns called NAME_label are there to be read; changes in them go nowhere.",
        "Days before March 1900 stand as text, since spreadsheet programs do not agree on them."};
    size_t row = 0;
    libxlsx.worksheet_fit_to_pages(out->about, 1, 0);
    xlsx_note(out, libxlsx.worksheet_set_column(out->about, 0, 0, 18, NULL));
    xlsx_note(out, libxlsx.worksheet_set_column(out->about, 1, 1, 110, NULL));
    if (out->options.with_private)
        xlsx_line(out, out->about, row++, 0,
                  "PRIVATE: this workbook holds prices, storage places, addresses. Do not pass it on.",
                  out->warning);
    xlsx_text(out, out->about, row++, 0, conv_span_of(glassine_bundle_title(out->bundle)), out->title);
    add_facts(out, &row);
    add_signers(out, &row);
    row++;
    xlsx_line(out, out->about, row, 0, "How to use it", out->header);
    add_lines(out, &row, how, sizeof how / sizeof *how);
    if (!walk->cautions.count)
        return;
    row++;
    xlsx_line(out, out->about, row, 0, "Bear in mind", out->header);
    add_lines(out, &row, walk->cautions.text, walk->cautions.count);
}
