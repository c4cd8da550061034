/* The image files of a folder, each with the item's label and the caption that its name says. */
#ifndef CLI_FOLDER_H
#define CLI_FOLDER_H

#include "call.h"

typedef struct cli_image {
    const char *path;
    const char *name;
    const char *label;   /* the name up to the first space or underscore */
    const char *caption; /* the rest, without the extension; NULL: nothing */
} cli_image;

typedef struct cli_folder {
    cli_image *images; /* by label, then name, runs of digits by their value */
    size_t count;
    size_t skipped; /* hidden files, folders, files that are no images */
} cli_folder;

/* In the call's pool. What is skipped is told in the report. */
glassine_status cli_folder_read(cli_call *call, const char *path, cli_folder *folder);

/* Order for people: runs of digits by value, the rest by bytes; 0 for equal bytes only. */
int cli_natural(const char *a, const char *b);

#endif
