#ifndef GL_BASE_WINDOWS_DIRENT_H
#define GL_BASE_WINDOWS_DIRENT_H

#include "base/windows/posix.h"

struct dirent {
    char d_name[1024]; /* 255 units of UTF-16 take less */
};
typedef struct gl_posix_folder DIR;

DIR *opendir(const char *path) GL_POSIX(opendir);
struct dirent *readdir(DIR *folder) GL_POSIX(readdir);
int closedir(DIR *folder) GL_POSIX(closedir);
int scandir(const char *path, struct dirent ***entries, int (*wanted)(const struct dirent *),
            int (*order)(const struct dirent **, const struct dirent **)) GL_POSIX(scandir);

#endif
