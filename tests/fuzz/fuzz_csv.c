/* A sheet as CSV in whatever encoding: what is read is UTF-8, and a first map is made of it. */
#include "fuzz.h"

#include "base/text.h"
#include "csv_get.h"
#include "map.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    grid sheet = {0};
    glassine_error error = {0};
    const char *path = fuzz_file("a.csv", fuzz_span(data, size));
    glassine_status status = csv_get(path, &(csv_reading){0}, &sheet, &error);
    fuzz_said(status, &error);
    for (size_t i = 0; !status && i < sheet.cell_count; i++)
        FUZZ_HOLDS(gl_utf8_check((gl_span){sheet.cells[i].text, sheet.cells[i].length}) ==
                   sheet.cells[i].length);
    if (!status) {
        conv_output draft = {0};
        size_t questions = 0;
        map_draft(&sheet, &draft, &questions, &error);
        conv_free(&draft);
    }
    grid_free(&sheet);
    return 0;
}
