#include "foreign_in.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "csv_get.h"
#include "folder.h"
#include "map.h"

glassine_status foreign_refuse(const char *place, glassine_error *error) {
    return conv_fail(
        error, GLASSINE_REFUSED, place,
        "For a sheet of another program --map-draft MAP writes a first map, and --map MAP takes it in",
        "it has not the headers id and version, as our own sheets have");
}

/* ------------------------------------------------------------------------------------------- taking in */

/* The sheet of a workbook that the map names, else the only one that holds something. */
static const grid *choose_sheet(const xlsx_book *book, const char *name) {
    const grid *found = NULL;
    size_t filled = 0;
    for (size_t i = 0; i < book->part_count; i++) {
        bool named = name && strcmp(book->parts[i].name, name) == 0;
        filled += book->sheets[i].row_count > 0;
        if (named || (!name && book->sheets[i].row_count))
            found = &book->sheets[i];
    }
    return name || filled == 1 ? found : NULL;
}

static glassine_status refuse_choice(const xlsx_book *book, glassine_error *error) {
    return conv_fail(error, GLASSINE_REFUSED, book->path,
                     "Save the sheet as a workbook of its own, or name it in the map: sheet,sheet,,NAME,",
                     "the workbook has not one sheet, or not the one that is named");
}

static glassine_status take_sheet(taking *t, const grid *sheet, const map *by, glassine_error *error) {
    glassine_status status = take_begin(t, error);
    if (!status)
        status = take_foreign(t, sheet, by, error);
    if (!status)
        return take_end(t, error);
    glassine_draft_back(t->draft, 0);
    return status;
}

glassine_status foreign_csv(taking *t, const char *path, glassine_error *error) {
    map by;
    grid sheet = {0};
    glassine_status status = map_read(t->options.map, &by, t->report, error);
    const csv_reading how = {by.encoding, by.delimiter};
    if (!status)
        status = csv_get(path, &how, &sheet, error);
    if (!status)
        status = take_sheet(t, &sheet, &by, error);
    grid_free(&sheet);
    map_free(&by);
    return status;
}

glassine_status foreign_book(taking *t, const xlsx_book *book, glassine_error *error) {
    map by;
    glassine_status status = map_read(t->options.map, &by, t->report, error);
    const grid *sheet = status ? NULL : choose_sheet(book, by.sheet);
    if (!status)
        status = sheet ? take_sheet(t, sheet, &by, error) : refuse_choice(book, error);
    map_free(&by);
    return status;
}

/* ----------------------------------------------------------------------------------------- a first map */

/* A file that begins as a ZIP file does is a workbook, whatever it is called. */
static bool is_workbook(const char *path) {
    char start[4] = {0};
    FILE *file = fopen(path, "rb");
    bool read = file && fread(start, 1, sizeof start, file) == sizeof start;
    if (file)
        fclose(file);
    return read && memcmp(start, "PK\003\004", sizeof start) == 0;
}

/* Into a new file, whole or not at all. */
static glassine_status write_map(const char *path, const conv_output *text, glassine_error *error) {
    const char *slash = strrchr(path, '/');
    char *in = slash ? strndup(path, slash == path ? 1 : (size_t)(slash - path)) : strdup(".");
    if (!in || text->failed) {
        free(in);
        return conv_fail_system(error, ENOMEM, path, "Cannot write the map");
    }
    conv_folder folder = {.path = in};
    conv_output out;
    glassine_status status = conv_folder_begin(&folder, slash ? slash + 1 : path, &out, error);
    if (!status) {
        conv_add(&out, conv_span(text));
        status = conv_folder_end(&folder, &out, error);
    }
    if (!status)
        status = conv_folder_keep(&folder, error);
    conv_folder_close(&folder);
    free(in);
    return status;
}

static glassine_status draft_of(const grid *sheet, const char *path, glassine_report *report,
                                glassine_error *error) {
    conv_output text = {0};
    size_t questions = 0;
    glassine_status status =
        sheet->row_count ? map_draft(sheet, &text, &questions, error)
                         : conv_fail(error, GLASSINE_REFUSED, sheet->place, NULL, "the sheet is empty");
    if (!status)
        status = write_map(path, &text, error);
    conv_free(&text);
    if (status)
        return status;
    glassine_node *result = glassine_report_result(report);
    glassine_node_string(result, "map", "Map", path);
    glassine_node_integer(result, "questions", "Questions that it leaves to you", (int64_t)questions);
    if (questions)
        glassine_report_attention(report);
    return GLASSINE_OK;
}

glassine_status glassine_sheet_map_draft(const char *sheet, const char *path, glassine_report *report,
                                         glassine_error *error) {
    xlsx_book book = {0};
    grid file = {0};
    const grid *chosen = &file;
    glassine_status status;
    if (is_workbook(sheet)) {
        status = xlsx_get(sheet, &book, error);
        chosen = status ? NULL : choose_sheet(&book, NULL);
        if (!status && !chosen)
            status = refuse_choice(&book, error);
    } else {
        status = csv_get(sheet, NULL, &file, error);
    }
    if (!status)
        status = draft_of(chosen, path, report, error);
    xlsx_free(&book);
    grid_free(&file);
    return status;
}
