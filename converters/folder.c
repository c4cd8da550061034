#include "folder.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#define NAMES_TRIED 1000

struct conv_file {
    char *path, *temporary;
    int fd;
};

static char *joined(const char *folder, const char *before, const char *name, const char *after) {
    conv_output path = {0};
    size_t length = strlen(folder);
    conv_add_text(&path, folder);
    if (length && folder[length - 1] != '/')
        conv_add_char(&path, '/');
    conv_printf(&path, "%s%s%s", before, name, after);
    if (path.failed)
        conv_free(&path);
    return path.text;
}

static void free_file(conv_file *file) {
    if (file->fd >= 0)
        close(file->fd);
    free(file->path);
    free(file->temporary);
    free(file);
}

glassine_status conv_folder_open(conv_folder *folder, const char *path, glassine_error *error) {
    *folder = (conv_folder){.path = path};
    if (mkdir(path, 0777) == 0) {
        folder->made = true;
        return GLASSINE_OK;
    }
    struct stat found;
    if (errno != EEXIST)
        return conv_fail_system(error, errno, path, "Cannot make the folder");
    if (stat(path, &found) != 0 || !S_ISDIR(found.st_mode))
        return conv_fail(error, GLASSINE_REFUSED, path, "Name another folder",
                         "There is something of that name that is no folder");
    return GLASSINE_OK;
}

static int write_file(void *context, const char *bytes, size_t length) {
    const conv_file *file = context;
    while (length) {
        ssize_t written = write(file->fd, bytes, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return errno;
        bytes += written;
        length -= (size_t)written;
    }
    return 0;
}

/* Opens a file of a name that nobody has. */
static int open_temporary(conv_folder *folder, const char *name, conv_file *file) {
    for (int i = 0; i < NAMES_TRIED; i++) {
        char after[32];
        snprintf(after, sizeof after, ".%d.part", i);
        free(file->temporary);
        file->temporary = joined(folder->path, ".", name, after);
        if (!file->temporary)
            return ENOMEM;
        file->fd = open(file->temporary, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
        if (file->fd >= 0)
            return 0;
        if (errno != EEXIST)
            break;
    }
    int code = errno;
    free(file->temporary);
    file->temporary = NULL;
    return code;
}

static glassine_status add_file(conv_folder *folder, const char *name, conv_file **added,
                                glassine_error *error) {
    conv_file **grown = conv_grow(folder->files, &folder->room, folder->count + 1, sizeof *grown);
    conv_file *file = calloc(1, sizeof *file);
    if (grown)
        folder->files = grown;
    if (file) {
        file->fd = -1;
        file->path = joined(folder->path, "", name, "");
    }
    int code = grown && file && file->path ? open_temporary(folder, name, file) : ENOMEM;
    if (code) {
        glassine_status status = conv_fail_system(error, code, file ? file->path : name, "Cannot write");
        if (file)
            free_file(file);
        return status;
    }
    *added = folder->files[folder->count++] = file;
    return GLASSINE_OK;
}

glassine_status conv_folder_begin(conv_folder *folder, const char *name, conv_output *out,
                                  glassine_error *error) {
    conv_file *file;
    glassine_status status = add_file(folder, name, &file, error);
    if (!status)
        *out = (conv_output){.write = write_file, .context = file};
    return status;
}

glassine_status conv_folder_claim(conv_folder *folder, const char *name, const char **temporary,
                                  glassine_error *error) {
    conv_file *file;
    glassine_status status = add_file(folder, name, &file, error);
    if (status)
        return status;
    close(file->fd);
    file->fd = -1;
    *temporary = file->temporary;
    return GLASSINE_OK;
}

glassine_status conv_folder_settle(conv_folder *folder, glassine_error *error) {
    conv_file *file = folder->files[folder->count - 1];
    int code = 0;
    file->fd = open(file->temporary, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (file->fd < 0 || fsync(file->fd) != 0)
        code = errno;
    if (file->fd >= 0)
        close(file->fd);
    file->fd = -1;
    return code ? conv_fail_system(error, code, file->path, "Cannot write") : GLASSINE_OK;
}

glassine_status conv_folder_end(conv_folder *folder, conv_output *out, glassine_error *error) {
    conv_file *file = folder->files[folder->count - 1];
    int code = conv_finish(out);
    conv_free(out);
    if (!code && fsync(file->fd) != 0)
        code = errno;
    if (close(file->fd) != 0 && !code)
        code = errno;
    file->fd = -1;
    return code ? conv_fail_system(error, code, file->path, "Cannot write") : GLASSINE_OK;
}

/* Where the file system has no links, an empty file reserves the name. */
static int place(const conv_file *file) {
    if (link(file->temporary, file->path) == 0) {
        unlink(file->temporary);
        return 0;
    }
    if (errno == EEXIST)
        return EEXIST;
    int fd = open(file->path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (fd < 0)
        return errno;
    close(fd);
    if (rename(file->temporary, file->path) == 0)
        return 0;
    int code = errno;
    unlink(file->path);
    return code;
}

static glassine_status exists(const conv_file *file, glassine_error *error) {
    return conv_fail(error, GLASSINE_REFUSED, file->path,
                     "Name an empty or a new folder, or move the file away",
                     "There is a file of that name already; nothing was written");
}

static void sync_folder(const char *path) {
    int fd = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return;
    fsync(fd);
    close(fd);
}

glassine_status conv_folder_keep(conv_folder *folder, glassine_error *error) {
    struct stat found;
    for (size_t i = 0; i < folder->count; i++) {
        if (lstat(folder->files[i]->path, &found) == 0)
            return exists(folder->files[i], error);
    }
    for (; folder->placed < folder->count; folder->placed++) {
        conv_file *file = folder->files[folder->placed];
        int code = place(file);
        if (code == EEXIST)
            return exists(file, error);
        if (code)
            return conv_fail_system(error, code, file->path, "Cannot write");
    }
    sync_folder(folder->path);
    for (size_t i = 0; i < folder->count; i++)
        free_file(folder->files[i]);
    folder->count = folder->placed = 0;
    folder->made = false;
    return GLASSINE_OK;
}

void conv_folder_close(conv_folder *folder) {
    for (size_t i = 0; i < folder->count; i++) {
        conv_file *file = folder->files[i];
        unlink(i < folder->placed ? file->path : file->temporary);
        free_file(file);
    }
    free(folder->files);
    if (folder->made)
        rmdir(folder->path);
}
