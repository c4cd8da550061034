/* Sheets into a draft. */
#include <errno.h>
#include <stdlib.h>

#include "converters.h"
#include "csv_get.h"
#include "take.h"

static glassine_status refuse_foreign(const grid *sheet, glassine_error *error) {
    return conv_fail(error, GLASSINE_REFUSED, sheet->place, "Its first row has the headers id and version",
                     "this is no sheet that to-csv wrote");
}

static glassine_status get_all(const char *const *paths, size_t count, grid **sheets, glassine_error *error) {
    for (size_t i = 0; i < count; i++) {
        sheets[i] = calloc(1, sizeof(grid));
        if (!sheets[i])
            return conv_fail_system(error, ENOMEM, paths[i], "Cannot read the sheet");
        glassine_status status = csv_get(paths[i], NULL, sheets[i], error);
        if (!status && !take_is_own(sheets[i]))
            status = refuse_foreign(sheets[i], error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

glassine_status glassine_from_csv(glassine_bundle *bundle, glassine_draft *draft, const char *const *sheets,
                                  size_t count, const glassine_sheets_options *options,
                                  glassine_report *report, glassine_error *error) {
    taking t = {.bundle = bundle, .draft = draft, .report = report};
    if (options)
        t.options = *options;
    grid **grids = calloc(count + 1, sizeof *grids);
    glassine_status status =
        grids ? take_begin(&t, error) : conv_fail_system(error, ENOMEM, NULL, "Cannot read the sheets");
    if (!status)
        status = get_all(sheets, count, grids, error);
    if (!status)
        status = take_grids(&t, grids, count, error);
    if (!status)
        status = take_end(&t, error);
    else if (glassine_draft_slips(draft))
        glassine_draft_back(draft, 0);
    for (size_t i = 0; grids && i < count && grids[i]; i++) {
        grid_free(grids[i]);
        free(grids[i]);
    }
    free(grids);
    take_free(&t);
    return status;
}
