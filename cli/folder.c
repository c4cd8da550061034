#include "folder.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <utf8proc.h>

#include "refuse.h"

static const char *const EXTENSIONS[] = {"jpg",  "jpeg", "png", "tif", "tiff",
                                         "webp", "gif",  "bmp", "jp2", "heic"};

static int compare_digits(const char **a, const char **b) {
    const char *x = *a + strspn(*a, "0"), *y = *b + strspn(*b, "0");
    size_t x_length = strspn(x, "0123456789"), y_length = strspn(y, "0123456789");
    *a = x + x_length;
    *b = y + y_length;
    if (x_length != y_length) {
        return x_length < y_length ? -1 : 1;
    }
    return memcmp(x, y, x_length);
}

int cli_natural(const char *a, const char *b) {
    const char *x = a, *y = b;
    while (*x != '\0' && *y != '\0') {
        if (isdigit((unsigned char)*x) && isdigit((unsigned char)*y)) {
            int order = compare_digits(&x, &y);
            if (order != 0) {
                return order;
            }
        } else if (*x != *y) {
            return (unsigned char)*x < (unsigned char)*y ? -1 : 1;
        } else {
            x++;
            y++;
        }
    }
    return *x != *y ? (*x == '\0' ? -1 : 1) : strcmp(a, b); /* 07 and 7 are not the same name */
}

static int by_label(const void *a, const void *b) {
    const cli_image *x = a, *y = b;
    int order = cli_natural(x->label, y->label);
    return order != 0 ? order : cli_natural(x->name, y->name);
}

static bool is_image_name(const char *name) {
    const char *dot = strrchr(name, '.');
    for (size_t i = 0; dot != NULL && i < sizeof EXTENSIONS / sizeof EXTENSIONS[0]; i++) {
        if (strcasecmp(dot + 1, EXTENSIONS[i]) == 0) {
            return true;
        }
    }
    return false;
}

/* NULL where the file may be gathered, else why it is skipped. */
static const char *why_skipped(const char *name, const char *path) {
    struct stat about;
    if (name[0] == '.') {
        return "is hidden";
    }
    if (stat(path, &about) != 0) {
        return "cannot be looked at";
    }
    if (S_ISDIR(about.st_mode)) {
        return "is a folder; gather it by itself";
    }
    if (!S_ISREG(about.st_mode)) {
        return "is no file";
    }
    return is_image_name(name) ? NULL : "is no image by its name; 'attach' takes any file";
}

/* The label is NFC, as the bundle keeps it, so that it meets the labels there. NULL: the name says none. */
static const char *take_label(cli_call *call, const char *stem, size_t length) {
    char *part = cli_pool_copy(call->pool, stem, length);
    if (part == NULL || length == 0) {
        return NULL;
    }
    for (size_t i = 0; i < length; i++) {
        if ((unsigned char)part[i] < 0x20 || part[i] == 0x7f) {
            return NULL;
        }
    }
    utf8proc_uint8_t *normal = utf8proc_NFC((const utf8proc_uint8_t *)part);
    const char *label =
        normal != NULL ? cli_pool_copy(call->pool, (char *)normal, strlen((char *)normal)) : NULL;
    free(normal);
    return label;
}

static bool take_image(cli_call *call, const char *path, const char *name, cli_image *image) {
    size_t stem = (size_t)(strrchr(name, '.') - name);
    size_t label = strcspn(name, " _");
    label = label < stem ? label : stem;
    size_t rest = label + strspn(name + label, " _");
    *image = (cli_image){path, name, take_label(call, name, label), NULL};
    if (rest < stem) {
        image->caption = take_label(call, name + rest, stem - rest);
    }
    return image->label != NULL && (rest >= stem || image->caption != NULL);
}

static bool make_room(cli_call *call, cli_folder *folder, size_t *room) {
    if (folder->count < *room) {
        return true;
    }
    *room = *room > 0 ? *room * 2 : 64;
    cli_image *more = cli_pool_take(call->pool, *room * sizeof *more);
    if (more != NULL && folder->count > 0) {
        memcpy(more, folder->images, folder->count * sizeof *more);
    }
    folder->images = more;
    return more != NULL;
}

static glassine_status take_entry(cli_call *call, const char *folder_path, const char *entry,
                                  cli_folder *folder, size_t *room) {
    const char *name = cli_pool_copy(call->pool, entry, strlen(entry));
    const char *path = cli_pool_print(call->pool, "%s/%s", folder_path, entry);
    if (name == NULL || path == NULL || !make_room(call, folder, room)) {
        return cli_memory(call->error);
    }
    const char *why = why_skipped(name, path);
    if (why != NULL) {
        folder->skipped++;
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, name, NULL, "skipped: it %s", why);
    } else if (!take_image(call, path, name, &folder->images[folder->count])) {
        folder->skipped++;
        glassine_report_finding(call->report, GLASSINE_WARNING, NULL, name,
                                "Name it by the item's label, a space, and what it shows",
                                "skipped: its name begins with no label");
    } else {
        folder->count++;
    }
    return GLASSINE_OK;
}

static int by_name(const struct dirent **a, const struct dirent **b) {
    return cli_natural((*a)->d_name, (*b)->d_name);
}

static int not_dots(const struct dirent *entry) {
    return strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
}

glassine_status cli_folder_read(cli_call *call, const char *path, cli_folder *folder) {
    struct dirent **entries;
    int count = scandir(path, &entries, not_dots, by_name);
    if (count < 0) {
        return cli_system(call->error, errno, path, "gather takes a folder of images", "cannot be read");
    }
    *folder = (cli_folder){NULL, 0, 0};
    size_t room = 0;
    glassine_status status = GLASSINE_OK;
    for (int i = 0; i < count; i++) {
        if (status == GLASSINE_OK) {
            status = take_entry(call, path, entries[i]->d_name, folder, &room);
        }
        free(entries[i]);
    }
    free(entries);
    if (status == GLASSINE_OK && folder->count > 0) {
        qsort(folder->images, folder->count, sizeof *folder->images, by_label);
    }
    return status;
}
