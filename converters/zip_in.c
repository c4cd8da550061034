#include "zip_in.h"

#include <errno.h>

#include <archive.h>
#include <archive_entry.h>

#include "late.h"

#define ZIP_CALLS(X)                                                                                         \
    X(archive_entry_is_encrypted)                                                                            \
    X(archive_entry_pathname)                                                                                \
    X(archive_errno)                                                                                         \
    X(archive_read_data)                                                                                     \
    X(archive_read_free)                                                                                     \
    X(archive_read_new)                                                                                      \
    X(archive_read_next_header)                                                                              \
    X(archive_read_open_filename)                                                                            \
    X(archive_read_support_format_zip_seekable)
CONV_LATE_DECLARE(libarchive, ZIP_CALLS);
CONV_LATE_DEFINE(libarchive, ZIP_CALLS, GLASSINE_LATE_ARCHIVE, "workbooks cannot be read");

#define PIECE 65536

typedef struct pass {
    const char *path;
    const zip_reader *reader;
    struct archive *archive;
    size_t members;
    uint64_t bytes;
    glassine_error *error;
} pass;

/* What libarchive says is not repeated: it may quote the file. */
static glassine_status damaged(const pass *p) {
    return conv_fail(p->error, GLASSINE_REFUSED, p->path, "Save it again as XLSX",
                     "it is no workbook that can be read (a damaged, encrypted or other file)");
}

static glassine_status too_much(const pass *p) {
    return conv_fail(p->error, GLASSINE_REFUSED, p->path, "Split it, or export it as CSV",
                     "it holds more than can be read");
}

static glassine_status read_member(pass *p) {
    char bytes[PIECE];
    la_ssize_t got;
    while ((got = libarchive.archive_read_data(p->archive, bytes, sizeof bytes)) > 0) {
        p->bytes += (uint64_t)got;
        if (p->bytes > ZIP_BYTES_MOST)
            return too_much(p);
        glassine_status status = p->reader->piece(p->reader->context, bytes, (size_t)got, p->error);
        if (status)
            return status;
    }
    return got < 0 ? damaged(p) : p->reader->piece(p->reader->context, NULL, 0, p->error);
}

static glassine_status read_members(pass *p) {
    struct archive_entry *entry;
    int code;
    while ((code = libarchive.archive_read_next_header(p->archive, &entry)) == ARCHIVE_OK ||
           code == ARCHIVE_WARN) {
        const char *name = libarchive.archive_entry_pathname(entry);
        if (++p->members > ZIP_MEMBERS_MOST)
            return too_much(p);
        if (!name || !p->reader->wanted(p->reader->context, name))
            continue;
        glassine_status status = libarchive.archive_entry_is_encrypted(entry) ? damaged(p) : read_member(p);
        if (status)
            return status;
    }
    return code == ARCHIVE_EOF ? GLASSINE_OK : damaged(p);
}

/* A file that is not there blames whoever named it. */
static glassine_status cannot_open(const pass *p) {
    int code = libarchive.archive_errno(p->archive);
    if (code != ENOENT && code != ENOTDIR && code != EISDIR && code != EACCES && code != EIO)
        return damaged(p);
    glassine_status status = conv_fail_system(p->error, code, p->path, "Cannot be read");
    if (code == EACCES || code == EIO)
        return status;
    if (p->error)
        p->error->status = GLASSINE_REFUSED;
    return GLASSINE_REFUSED;
}

glassine_status zip_read(const char *path, const zip_reader *reader, glassine_error *error) {
    glassine_status status = conv_late_load(&libarchive_late, path, error);
    if (status)
        return status;
    pass p = {.path = path, .reader = reader, .archive = libarchive.archive_read_new(), .error = error};
    if (!p.archive)
        return conv_fail_system(error, ENOMEM, path, "Cannot read the workbook");
    libarchive.archive_read_support_format_zip_seekable(p.archive);
    status = libarchive.archive_read_open_filename(p.archive, path, PIECE) == ARCHIVE_OK ? read_members(&p)
                                                                                         : cannot_open(&p);
    libarchive.archive_read_free(p.archive);
    return status;
}
