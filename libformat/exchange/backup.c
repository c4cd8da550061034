/* Backups: a second file that holds the same history, to the same bytes. What is new is appended; a source
 * that was rewritten is copied whole, and takes the place of the copy before once it was read back. */
#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "bundle/bundle.h"
#include "container/follow.h"
#include "exchange/place.h"

typedef struct backup {
    glassine_bundle *from, *to; /* `to` is NULL where there is none yet */
    const char *destination;
    const glassine_backup_options *options;
    const char *way;
    uint64_t written;
    uint32_t editions; /* that are new in it */
    glassine_error *error;
} backup;

static uint64_t length_of(const glassine_bundle *bundle) {
    return gl_zip_footer(bundle->zip)->end;
}

/* -------------------------------------------------------------------------------------- may it be done */

static glassine_status check_source(const backup *it) {
    glassine_bundle *from = it->from;
    bool same = false;
    if (from->edition != gl_zip_footer(from->zip)->edition)
        return gl_fail(it->error, GLASSINE_REFUSED, NULL, from->path,
                       "a backup is made of the last edition, not of an earlier one");
    int code = gl_file_is_same(from->fd, from->file, &same);
    if (code)
        return gl_fail_system(it->error, code, from->file, "cannot be looked at");
    if (same)
        return GLASSINE_OK;
    gl_fail(it->error, GLASSINE_REFUSED, NULL, from->file,
            "it was rewritten while it was read, as `glassine tidy` does, or it is no bundle file");
    gl_error_remedy(it->error,
                    "Try again now; of a folder or an archive make a bundle first, with `glassine intake`");
    return GLASSINE_REFUSED;
}

static bool same_log(const backup *it, uint32_t edition) {
    return gl_digest_equal(&gl_log_edition(it->from->log, edition)->log,
                           &gl_log_edition(it->to->log, edition)->log);
}

/* The first edition that both have and that is not the same; 0: there is none. */
static uint32_t first_other(const backup *it) {
    uint32_t low = 1, high = it->from->edition < it->to->edition ? it->from->edition : it->to->edition;
    if (same_log(it, high)) /* the values are chained: what is before is the same, too */
        return 0;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (same_log(it, middle))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static glassine_status check_history(const backup *it) {
    const glassine_bundle *from = it->from, *to = it->to;
    if (strcmp(from->about.uuid, to->about.uuid) != 0) {
        gl_fail(it->error, GLASSINE_REFUSED, NULL, it->destination, "it is another bundle, \"%s\"",
                to->about.title);
        gl_error_remedy(it->error, "Choose another name for the backup");
        return GLASSINE_REFUSED;
    }
    uint32_t other = first_other(it);
    if (it->options->replace || (!other && to->edition <= from->edition))
        return GLASSINE_OK;
    if (other)
        gl_fail(it->error, GLASSINE_REFUSED, NULL, it->destination,
                "its history is another one: edition %u is not that of %s", other, from->file);
    else
        gl_fail(it->error, GLASSINE_REFUSED, NULL, it->destination,
                "it has editions up to %u, and %s ends with %u: the backup is the newer one", to->edition,
                from->file, from->edition);
    gl_error_remedy(
        it->error, "`glassine diff` compares the two, `glassine merge` brings them together; --replace gives "
                   "up what only the backup has");
    return GLASSINE_REFUSED;
}

/* ----------------------------------------------------------------------------------------------- whole
 * copies */

static glassine_status copy_into(const backup *it, int fd) {
    uint64_t length = length_of(it->from), differs;
    int code = gl_file_copy_range(it->from->fd, 0, fd, 0, length);
    if (!code)
        code = gl_file_sync(fd);
    if (code)
        return gl_fail_making(it->error, code, it->destination, "cannot be written");
    glassine_status status =
        gl_follow_compare(it->from->fd, fd, 0, length, it->destination, &differs, it->error);
    if (!status && differs != UINT64_MAX)
        status = gl_fail(it->error, GLASSINE_SYSTEM, NULL, it->destination,
                         "byte %llu does not read back as it was written; nothing was replaced",
                         (unsigned long long)differs);
    return status;
}

/* Is what was written a bundle with this history? */
static glassine_status check_copy(const backup *it, const char *path) {
    glassine_bundle *copy;
    glassine_options options = {.limits = &it->from->limits};
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, &options, &copy, it->error);
    if (status)
        return status;
    if (copy->edition != it->from->edition ||
        !gl_digest_equal(&gl_log_edition(copy->log, copy->edition)->log,
                         &gl_log_edition(it->from->log, copy->edition)->log))
        status = gl_fail(it->error, GLASSINE_SYSTEM, NULL, it->destination,
                         "what was written does not read back as edition %u", it->from->edition);
    glassine_bundle_close(copy);
    return status;
}

/* The file that was there stays until the new one was read back. */
static glassine_status copy_whole(backup *it) {
    gl_buf temporary = GL_BUF_EMPTY;
    int fd = -1, code = gl_file_part_new(it->destination, GL_PART_SHARED, &temporary, &fd);
    if (code) {
        gl_buf_free(&temporary);
        return gl_fail_making(it->error, code, it->destination, "cannot be written");
    }
    code = gl_file_take_mode(it->to ? it->to->fd : it->from->fd, fd);
    glassine_status status =
        code == EPERM || !code /* memory cards keep no permissions */
            ? copy_into(it, fd)
            : gl_fail_making(it->error, code, it->destination, "cannot be given its permissions");
    if (!status)
        status = check_copy(it, temporary.text);
    if (!status)
        status = gl_put_in_place(temporary.text, it->destination, it->to != NULL, it->error);
    if (status)
        gl_file_remove(temporary.text);
    gl_file_close(fd);
    gl_buf_free(&temporary);
    it->way = it->to ? "replaced" : "made";
    it->written = length_of(it->from);
    return status;
}

/* ------------------------------------------------------------------------------------------------- what is
 * new */

static glassine_status refuse_tail(const backup *it) {
    gl_fail(it->error, GLASSINE_REFUSED, NULL, it->destination,
            gl_zip_tail(it->to->zip) == 1 ? "%llu byte behind its last edition is not of %s"
                                          : "%llu bytes behind its last edition are not of %s",
            (unsigned long long)gl_zip_tail(it->to->zip), it->from->file);
    gl_error_remedy(it->error, "`glassine recover` tells what is there; --replace gives it up");
    return GLASSINE_REFUSED;
}

static glassine_status refuse_damage(const backup *it, uint64_t differs) {
    gl_fail(it->error, GLASSINE_REFUSED, NULL, it->destination,
            "byte %llu is not what it is in %s, and the history is the same: one of the two is damaged",
            (unsigned long long)differs, it->from->file);
    gl_error_remedy(it->error,
                    "`glassine audit` tells which; if %s is sound, --replace writes the backup anew",
                    it->from->file);
    return GLASSINE_REFUSED;
}

static glassine_status append_new(backup *it) {
    uint64_t before = length_of(it->to), differs = UINT64_MAX;
    it->written = length_of(it->from) - before;
    it->way = it->written ? "appended" : "nothing new";
    if (!it->written && !gl_zip_tail(it->to->zip))
        return GLASSINE_OK;
    glassine_status status = gl_follow(it->to->zip, it->from->zip, it->error);
    if (!status && it->options->full)
        status = gl_follow_compare(it->to->fd, it->from->fd, before, length_of(it->from), it->destination,
                                   &differs, it->error);
    if (!status && differs != UINT64_MAX)
        status = gl_fail(it->error, GLASSINE_SYSTEM, NULL, it->destination,
                         "byte %llu does not read back as it was written", (unsigned long long)differs);
    return status ? status : check_copy(it, it->destination);
}

static glassine_status bring_up(backup *it) {
    uint64_t differs;
    bool begins, owns;
    glassine_status status = check_history(it);
    if (!status)
        status =
            gl_follow_begins(it->to->zip, it->from->zip, it->options->full, &begins, &differs, it->error);
    if (status)
        return status;
    it->editions = it->from->edition > it->to->edition ? it->from->edition - it->to->edition : 0;
    if (!begins)
        return copy_whole(it); /* one of the two was tidied since, or --replace was said */
    if (differs != UINT64_MAX)
        return it->options->replace ? copy_whole(it) : refuse_damage(it, differs);
    status = gl_follow_owns_tail(it->to->zip, it->from->zip, &owns, it->error);
    if (status)
        return status;
    if (!owns)
        return it->options->replace ? copy_whole(it) : refuse_tail(it);
    return append_new(it);
}

/* ----------------------------------------------------------------------------------------------------
 * interface */

static void tell(const backup *it, glassine_report *report) {
    glassine_node *result = glassine_report_result(report);
    glassine_node_string(result, "destination", "backup", it->destination);
    glassine_node_string(result, "way", "way", it->way);
    glassine_node_integer(result, "edition", "edition", it->from->edition);
    glassine_node_integer(result, "editions", "editions that were new", it->editions);
    glassine_node_integer(result, "bytes", "bytes written", (int64_t)it->written);
    glassine_node_string(result, "checked", "checked",
                         it->options->full || strcmp(it->way, "made") == 0 || strcmp(it->way, "replaced") == 0
                             ? "every byte"
                             : "history");
}

/* Opens the copy that is there, under its lock. */
static glassine_status open_copy(backup *it) {
    struct stat about;
    if (stat(it->destination, &about) != 0)
        return errno == ENOENT ? GLASSINE_OK
                               : gl_fail_making(it->error, errno, it->destination, "cannot be looked at");
    bool same = false;
    int code = gl_file_is_same(it->from->fd, it->destination, &same);
    if (code)
        return gl_fail_system(it->error, code, it->destination, "cannot be looked at");
    if (same)
        return gl_fail(it->error, GLASSINE_REFUSED, NULL, it->destination,
                       "it is the bundle itself, not a second file");
    glassine_options options = {.limits = &it->from->limits};
    glassine_status status =
        glassine_bundle_open(it->destination, GLASSINE_WRITE, &options, &it->to, it->error);
    if (status == GLASSINE_REFUSED && it->error)
        gl_error_remedy(it->error,
                        "It is no sound bundle: choose another name, or look at it with `glassine audit`");
    return status;
}

glassine_status glassine_backup(glassine_bundle *bundle, const char *destination,
                                const glassine_backup_options *options, glassine_report *report,
                                glassine_error *error) {
    static const glassine_backup_options plain = {.full = false};
    backup it = {
        .from = bundle, .destination = destination, .options = options ? options : &plain, .error = error};
    glassine_status status = check_source(&it);
    if (!status)
        status = open_copy(&it);
    if (!status && it.to) {
        status = bring_up(&it);
    } else if (!status) {
        it.editions = bundle->edition;
        status = copy_whole(&it);
    }
    if (!status && report) {
        tell(&it, report);
        status = gl_bundle_end_written(bundle, report, GLASSINE_OK, destination, GL_STAYS_WHOLE, error);
    }
    glassine_bundle_close(it.to);
    return status;
}
