/* Sheets into a draft. */
#include <errno.h>
#include <stdlib.h>

#include "converters.h"
#include "csv_get.h"
#include "foreign_in.h"

static glassine_status get_all(const char *const *paths, size_t count, grid **sheets, glassine_error *error) {
    for (size_t i = 0; i < count; i++) {
        sheets[i] = calloc(1, sizeof(grid));
        if (!sheets[i])
            return conv_fail_system(error, ENOMEM, paths[i], "Cannot read the sheet");
        glassine_status status = csv_get(paths[i], NULL, sheets[i], error);
        if (!status && !take_is_own(sheets[i]))
            status = foreign_refuse(sheets[i]->place, error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

/* All that was read, into the draft; or none of it. */
static glassine_status take_all(taking *t, grid *const *sheets, size_t count, glassine_error *error) {
    glassine_status status = take_begin(t, error);
    if (!status)
        status = take_grids(t, sheets, count, error);
    if (!status)
        return take_end(t, error);
    glassine_draft_back(t->draft, 0);
    return status;
}

static glassine_status take_by_map(taking *t, const char *const *sheets, size_t count,
                                   glassine_error *error) {
    glassine_status status = count == 1 ? foreign_csv(t, sheets[0], error)
                                        : conv_fail(error, GLASSINE_REFUSED, t->options.map,
                                                    "Take them in one by one", "a map is of one sheet");
    take_free(t);
    return status;
}

glassine_status glassine_from_csv(glassine_bundle *bundle, glassine_draft *draft, const char *const *sheets,
                                  size_t count, const glassine_sheets_options *options,
                                  glassine_report *report, glassine_error *error) {
    taking t = {.bundle = bundle, .draft = draft, .report = report};
    if (options)
        t.options = *options;
    if (t.options.map)
        return take_by_map(&t, sheets, count, error);
    grid **grids = calloc(count + 1, sizeof *grids);
    glassine_status status = grids ? get_all(sheets, count, grids, error)
                                   : conv_fail_system(error, ENOMEM, NULL, "Cannot read the sheets");
    if (!status)
        status = take_all(&t, grids, count, error);
    for (size_t i = 0; grids && i < count && grids[i]; i++) {
        grid_free(grids[i]);
        free(grids[i]);
    }
    free(grids);
    take_free(&t);
    return status;
}

static glassine_status take_book(taking *t, xlsx_book *book, glassine_error *error) {
    grid **own = calloc(book->part_count + 1, sizeof *own);
    size_t count = 0;
    if (!own)
        return conv_fail_system(error, ENOMEM, book->path, "Cannot read the workbook");
    for (size_t i = 0; i < book->part_count; i++) {
        if (take_is_own(&book->sheets[i]))
            own[count++] = &book->sheets[i];
    }
    glassine_status status = count ? take_all(t, own, count, error) : foreign_refuse(book->path, error);
    free(own);
    return status;
}

glassine_status glassine_from_xlsx(glassine_bundle *bundle, glassine_draft *draft, const char *path,
                                   const glassine_sheets_options *options, glassine_report *report,
                                   glassine_error *error) {
    taking t = {.bundle = bundle, .draft = draft, .report = report};
    if (options)
        t.options = *options;
    xlsx_book book;
    glassine_status status = xlsx_get(path, &book, error);
    if (!status)
        status = t.options.map ? foreign_book(&t, &book, error) : take_book(&t, &book, error);
    xlsx_free(&book);
    take_free(&t);
    return status;
}
