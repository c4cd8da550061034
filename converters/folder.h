/* Several files written into a folder, all of them or none: under temporary names first, and nothing that is
 * there is replaced. */
#ifndef CONVERTERS_FOLDER_H
#define CONVERTERS_FOLDER_H

#include "output.h"

typedef struct conv_file conv_file;

typedef struct conv_folder {
    const char *path; /* the caller's */
    conv_file **files;
    size_t count, room;
    size_t placed; /* how many stand under their own names */
    bool made;     /* the folder itself was */
} conv_folder;

/* Makes the folder where it is not there. */
glassine_status conv_folder_open(conv_folder *folder, const char *path, glassine_error *error);
/* A new file; what goes into `out` goes into it, until conv_folder_end. */
glassine_status conv_folder_begin(conv_folder *folder, const char *name, conv_output *out,
                                  glassine_error *error);
glassine_status conv_folder_end(conv_folder *folder, conv_output *out, glassine_error *error);
/* A new empty file that somebody else opens by *temporary and writes, until conv_folder_settle. */
glassine_status conv_folder_claim(conv_folder *folder, const char *name, const char **temporary,
                                  glassine_error *error);
glassine_status conv_folder_settle(conv_folder *folder, glassine_error *error);
/* Gives every file its name. Refused, naming it, where one is there already. */
glassine_status conv_folder_keep(conv_folder *folder, glassine_error *error);
/* Takes away what was not kept, and frees. */
void conv_folder_close(conv_folder *folder);

#endif
