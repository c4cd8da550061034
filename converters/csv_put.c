#include "csv_put.h"

#include "cell.h"

/* RFC 4180 section 2, rules 5 to 7. */
void csv_put_cell(conv_output *sheet, glassine_span text, bool first) {
    bool quoted = false;
    for (size_t i = 0; i < text.length && !quoted; i++)
        quoted = memchr(",\"\r\n", text.text[i], 4) != NULL;
    if (!first)
        conv_add_char(sheet, ',');
    if (!quoted) {
        conv_add(sheet, text);
        return;
    }
    conv_add_char(sheet, '"');
    for (size_t i = 0; i < text.length; i++) {
        if (text.text[i] == '"')
            conv_add_char(sheet, '"');
        conv_add_char(sheet, text.text[i]);
    }
    conv_add_char(sheet, '"');
}

void csv_put_text(conv_output *sheet, glassine_span text, bool first) {
    conv_output cell = {0};
    if (text.length)
        cell_text(&cell, text);
    csv_put_cell(sheet, conv_span(&cell), first);
    sheet->failed = sheet->failed ? sheet->failed : cell.failed;
    conv_free(&cell);
}

void csv_end_row(conv_output *sheet) {
    conv_add_text(sheet, "\r\n");
}
