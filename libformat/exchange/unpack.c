/* Unpacking into FOLDER/glassine-SLUG/. Everything is written into a new folder in one beside it, and gets
 * its name when it is whole: so nothing outside is touched, no link followed, nothing overwritten. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/error.h"
#include "base/file.h"
#include "base/work.h"
#include "exchange/draft.h"

typedef struct unpacking {
    const glassine_bundle *bundle;
    const char *root; /* the new folder */
    char **made;      /* what was made in it, in order: files and folders */
    size_t made_count, made_room;
    uint64_t bytes;
} unpacking;

static char *joined(const char *folder, gl_span name) {
    gl_buf path = GL_BUF_EMPTY;
    gl_buf_printf(&path, "%s/%.*s", folder, GL_SPAN_ARGS(name));
    if (path.failed) {
        gl_buf_free(&path);
        return NULL;
    }
    return path.text;
}

/* Remembers `path` (taking it over), so that a failure can take it away again. */
static bool note_made(unpacking *it, char *path) {
    void *grown = path ? gl_grow(it->made, &it->made_room, it->made_count + 1, sizeof *it->made) : NULL;
    if (!grown) {
        free(path);
        return false;
    }
    it->made = grown;
    it->made[it->made_count++] = path;
    return true;
}

static void take_away(unpacking *it) {
    while (it->made_count) {
        char *path = it->made[--it->made_count];
        if (gl_file_remove(path) != 0)
            rmdir(path);
        free(path);
    }
}

/* Makes a folder and remembers it, taking `path` over; what is there already is not ours to take away. */
static glassine_status make_folder_at(unpacking *it, char *path, bool may_exist, glassine_error *error) {
    if (!note_made(it, path))
        return gl_fail_memory(error);
    int code = gl_file_make_folder(path);
    glassine_status status = code && !(may_exist && code == EEXIST)
                                 ? gl_fail_making(error, code, path, "cannot be made")
                                 : GLASSINE_OK;
    if (code)
        free(it->made[--it->made_count]);
    return status;
}

static glassine_status make_folder(unpacking *it, gl_span name, glassine_error *error) {
    return make_folder_at(it, joined(it->root, name), true, error);
}

static glassine_status make_folders(unpacking *it, gl_span inner, glassine_error *error) {
    for (size_t i = 0; i < inner.length; i++) {
        if (inner.text[i] != '/')
            continue;
        glassine_status status = make_folder(it, gl_span_part(inner, 0, i), error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

typedef struct target {
    int fd;
    uint64_t at;
    gl_watch *watch;
} target;

/* The digest that a manifest gives this file; false where it is in none (tagmanifest itself). */
static bool listed(const unpacking *it, gl_span inner, gl_digest *digest) {
    return gl_manifest_find(gl_span_starts(inner, GL_SPAN("data/")) ? it->bundle->payload : it->bundle->tags,
                            inner, digest);
}

/* One file on its way out. */
typedef struct writing {
    const unpacking *all;
    const gl_entry *entry;
    char *path; /* the list of what was made keeps it */
    gl_watch *watch;
    uint64_t bytes;
    glassine_status status;
    glassine_error error;
} writing;

static int write_watched(void *context, const char *bytes, size_t length) {
    target *to = context;
    if (!gl_watch_add(to->watch, length))
        return ECANCELED;
    int code = gl_file_write_at(to->fd, bytes, length, to->at);
    to->at += length;
    return code;
}

static glassine_status write_content(writing *file, int fd, glassine_error *error) {
    const unpacking *it = file->all;
    gl_span inner = gl_zip_inner(it->bundle->zip, file->entry);
    target to = {fd, 0, file->watch};
    gl_digest found, wanted;
    glassine_status status = gl_zip_stream(it->bundle->zip, file->entry, write_watched, &to, &found, error);
    if (!status && listed(it, inner, &wanted) && !gl_digest_equal(&found, &wanted))
        status = gl_fail(error, GLASSINE_REFUSED, gl_span_starts(inner, GL_SPAN("data/")) ? "B024" : "B034",
                         it->bundle->path, "the bytes of %.*s have changed", GL_SPAN_ARGS(inner));
    file->bytes = to.at;
    return status;
}

/* Called on several threads at once. */
static void write_file(void *context, size_t index) {
    writing *file = &((writing *)context)[index];
    int fd, code = gl_file_open_write(file->path, true, &fd);
    if (code) {
        file->status = gl_fail_system(&file->error, code, file->path, "cannot be written");
        return;
    }
    file->status = write_content(file, fd, &file->error);
    code = gl_file_close(fd);
    if (!file->status && code)
        file->status = gl_fail_system(&file->error, code, file->path, "cannot be written");
}

static glassine_status list_files(unpacking *it, writing *files, gl_watch *watch, glassine_error *error) {
    glassine_status status = make_folder(it, GL_SPAN("."), error);
    for (size_t i = 0; i < gl_zip_count(it->bundle->zip) && !status; i++) {
        const gl_entry *entry = gl_zip_at(it->bundle->zip, i);
        gl_span inner = gl_zip_inner(it->bundle->zip, entry);
        status = make_folders(it, inner, error);
        files[i] = (writing){.all = it, .entry = entry, .watch = watch};
        if (!status && !note_made(it, files[i].path = joined(it->root, inner)))
            status = gl_fail_memory(error);
        watch->total += entry->size;
    }
    return status;
}

static glassine_status write_entries(unpacking *it, glassine_error *error) {
    size_t count = gl_zip_count(it->bundle->zip);
    gl_watch watch = {.by = it->bundle->watch, .doing = "unpacking"};
    writing *files = calloc(count + 1, sizeof *files);
    glassine_status status = files ? list_files(it, files, &watch, error) : gl_fail_memory(error);
    if (!status)
        gl_work_watched(count, write_file, files, &watch);
    if (!status && atomic_load(&watch.stopped))
        status = gl_watch_fail(error);
    for (size_t i = 0; i < count && !status; i++) {
        status = files[i].status;
        it->bytes += files[i].bytes;
        if (status && error)
            *error = files[i].error;
    }
    free(files);
    return status;
}

/* Fills the new folder `root` and gives it its name. */
static glassine_status unpack_into(const glassine_bundle *bundle, const char *root, const char *target_path,
                                   uint64_t *bytes, glassine_error *error) {
    unpacking it = {.bundle = bundle, .root = root};
    glassine_status status = make_folder_at(&it, strdup(root), false, error);
    if (!status)
        status = write_entries(&it, error);
    int code = status ? 0 : gl_file_rename(root, target_path);
    if (code)
        status = gl_fail_system(error, code, target_path, "cannot be given its name");
    if (status)
        take_away(&it);
    while (it.made_count)
        free(it.made[--it.made_count]);
    free(it.made);
    *bytes = it.bytes;
    return status;
}

/* An old edition has no directory of its own any more where the file was tidied: it is written out first. */
static glassine_status write_edition(glassine_bundle *bundle, const char *file, glassine_bundle **whole,
                                     glassine_error *error) {
    const glassine_options same = {.limits = &bundle->limits, .watch = bundle->watch};
    glassine_status status = gl_rewrite(bundle, file, false, error);
    return status ? status : glassine_bundle_open(file, GLASSINE_READ, &same, whole, error);
}

/* What is unpacked, and where. */
typedef struct outcome {
    const char *path;
    uint64_t bytes;
    size_t files;
} outcome;

static glassine_status unpack_within(const gl_part_folder *within, glassine_bundle *bundle, outcome *it,
                                     glassine_error *error) {
    bool old = bundle->edition < gl_zip_footer(bundle->zip)->edition;
    char *root = joined(within->path.text, gl_span_of(bundle->about.base));
    char *file = joined(within->path.text, GL_SPAN("edition.glassine"));
    glassine_bundle *whole = NULL;
    glassine_status status = root && file ? GLASSINE_OK : gl_fail_memory(error);
    if (!status && old)
        status = write_edition(bundle, file, &whole, error);
    const glassine_bundle *from = whole ? whole : bundle;
    if (!status)
        status = unpack_into(from, root, it->path, &it->bytes, error);
    it->files = gl_zip_count(from->zip);
    glassine_bundle_close(whole);
    if (old && file)
        gl_file_remove(file);
    free(file);
    free(root);
    return status;
}

static glassine_status unpack_beside(glassine_bundle *bundle, const char *folder, outcome *it,
                                     glassine_error *error) {
    if (access(it->path, F_OK) == 0) {
        gl_fail(error, GLASSINE_REFUSED, NULL, it->path, "it is there already");
        gl_error_remedy(error, "Unpack into another folder, or move it away");
        return GLASSINE_REFUSED;
    }
    gl_part_folder within;
    int code = gl_file_make_folder(folder);
    bool made = !code;
    if (code && code != EEXIST)
        return gl_fail_making(error, code, folder, "cannot be made");
    code = gl_part_folder_new(it->path, &within);
    glassine_status status = code ? gl_fail_making(error, code, folder, "cannot be written") : GLASSINE_OK;
    if (!status) {
        status = unpack_within(&within, bundle, it, error);
        gl_part_folder_end(&within);
    }
    if (status && made)
        rmdir(folder);
    return status;
}

static glassine_status unpack_bundle(glassine_bundle *bundle, const char *folder, glassine_report *report,
                                     glassine_error *error) {
    char *path = joined(folder, gl_span_of(bundle->about.base));
    outcome it = {.path = path};
    glassine_status status = path ? unpack_beside(bundle, folder, &it, error) : gl_fail_memory(error);
    if (!status && report) {
        glassine_node *result = glassine_report_result(report);
        glassine_report_about(report, bundle->path, bundle->edition);
        glassine_node_string(result, "folder", "unpacked into", path);
        glassine_node_integer(result, "files", "files", (int64_t)it.files);
        glassine_node_integer(result, "bytes", "bytes", (int64_t)it.bytes);
        status = gl_bundle_end_written(bundle, report, GLASSINE_OK, path, GL_STAYS_WHOLE, error);
    }
    free(path);
    return status;
}

glassine_status glassine_unpack(const char *path, const char *folder, const glassine_options *options,
                                glassine_report *report, glassine_error *error) {
    glassine_bundle *bundle;
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, options, &bundle, error);
    if (status)
        return status;
    status = unpack_bundle(bundle, folder, report, error);
    glassine_bundle_close(bundle);
    return status;
}
