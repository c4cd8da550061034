/* The files in an archive, through libarchive: tar and zip and 7z, plain or compressed. ZIP files are read
 * from their directory alone: who reads them as a stream can be shown other entries. */
#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/late.h"
#include "base/text.h"
#include "container/fault.h"
#include "container/foreign.h"

#define ARCHIVE_CALLS(X)                                                                                     \
    X(archive_entry_filetype)                                                                                \
    X(archive_entry_hardlink)                                                                                \
    X(archive_entry_is_encrypted)                                                                            \
    X(archive_entry_pathname)                                                                                \
    X(archive_entry_pathname_utf8)                                                                           \
    X(archive_entry_symlink)                                                                                 \
    X(archive_errno)                                                                                         \
    X(archive_error_string)                                                                                  \
    X(archive_read_data)                                                                                     \
    X(archive_read_free)                                                                                     \
    X(archive_read_new)                                                                                      \
    X(archive_read_next_header)                                                                              \
    X(archive_read_open_fd)                                                                                  \
    X(archive_read_support_filter_bzip2)                                                                     \
    X(archive_read_support_filter_gzip)                                                                      \
    X(archive_read_support_filter_lzma)                                                                      \
    X(archive_read_support_filter_xz)                                                                        \
    X(archive_read_support_filter_zstd)                                                                      \
    X(archive_read_support_format_7zip)                                                                      \
    X(archive_read_support_format_tar)                                                                       \
    X(archive_read_support_format_zip_seekable)
GL_LATE(libarchive, ARCHIVE_CALLS, GLASSINE_LATE_ARCHIVE, "archives cannot be read");

enum { BLOCK = 1 << 18, MEBIBYTE = 1 << 20 };

typedef struct packed {
    const char *path;
    const glassine_limits *limits;
    struct archive *archive;
    int fd;                     /* -1 until it is open */
    uint64_t count, done, most; /* entries met; bytes read, and how many may be */
    char *name;
} packed;

/* libarchive's own word, where it has one that blames the system; else the archive is unreadable. */
static glassine_status unreadable(const packed *it, glassine_error *error) {
    const char *why = libarchive.archive_error_string(it->archive);
    int code = libarchive.archive_errno(it->archive);
    if (code == ENOMEM)
        return gl_fail_memory(error);
    if (code == EIO || code == EACCES || code == ENOENT || code == EPERM)
        return gl_fail_system(error, code, it->path, "cannot be read");
    gl_fail(error, GLASSINE_REFUSED, "C010", it->path,
            "it is neither a bundle nor an archive that can be read (%s)", why ? why : "unknown form");
    gl_error_remedy(error, "Unpack it with the program that made it, and use the folder; or get it again");
    return GLASSINE_REFUSED;
}

/* The name as UTF-8; it lives until the next entry. */
static glassine_status take_name(packed *it, struct archive_entry *entry, gl_span *name,
                                 glassine_error *error) {
    const char *text = libarchive.archive_entry_pathname_utf8(entry);
    if (!text)
        text = libarchive.archive_entry_pathname(entry);
    if (!text || gl_utf8_check(gl_span_of(text)) != strlen(text))
        return gl_fail(error, GLASSINE_REFUSED, "C060", it->path, "the name of an entry in it is not UTF-8");
    free(it->name);
    it->name = strdup(text);
    *name = gl_span_of(it->name);
    return it->name ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status check_kind(const packed *it, struct archive_entry *entry, gl_span name,
                                  glassine_error *error) {
    if (libarchive.archive_entry_hardlink(entry) || libarchive.archive_entry_symlink(entry) ||
        libarchive.archive_entry_filetype(entry) != AE_IFREG)
        return gl_fault_in(error, "C036", it->path, name, "it is neither a plain file nor a folder");
    if (libarchive.archive_entry_is_encrypted(entry))
        return gl_fault_in(error, "C033", it->path, name, "it is encrypted");
    return GLASSINE_OK;
}

static glassine_status packed_next(void *source, gl_span *name, bool *end, glassine_error *error) {
    packed *it = source;
    for (;;) {
        struct archive_entry *entry;
        int code = libarchive.archive_read_next_header(it->archive, &entry);
        *end = code == ARCHIVE_EOF;
        if (*end)
            return GLASSINE_OK;
        if (code != ARCHIVE_OK && code != ARCHIVE_WARN)
            return unreadable(it, error);
        if (++it->count > it->limits->entries)
            return gl_fail(error, GLASSINE_REFUSED, "L001", it->path,
                           "it holds more than %" PRIu64 " entries", it->limits->entries);
        glassine_status status = take_name(it, entry, name, error);
        if (status)
            return status;
        if (libarchive.archive_entry_filetype(entry) == AE_IFDIR && !libarchive.archive_entry_hardlink(entry))
            continue;
        return check_kind(it, entry, *name, error);
    }
}

static glassine_status packed_read(void *source, char *bytes, size_t room, size_t *got,
                                   glassine_error *error) {
    packed *it = source;
    *got = 0;
    la_ssize_t length = libarchive.archive_read_data(it->archive, bytes, room);
    if (length < 0)
        return unreadable(it, error);
    it->done += (uint64_t)length;
    if (it->done > it->most)
        return gl_fault_in(error, "L006", it->path, gl_span_of(it->name),
                           "the archive unpacks to more than %" PRIu64 " times its size", it->limits->ratio);
    *got = (size_t)length;
    return GLASSINE_OK;
}

static void packed_close(void *source) {
    packed *it = source;
    libarchive.archive_read_free(it->archive);
    if (it->fd >= 0)
        gl_file_close(it->fd);
    free(it->name);
    free(it);
}

static const gl_foreign_kind packed_kind = {packed_next, packed_read, packed_close};

/* Not those filters for which libarchive would start another program. */
static void choose_forms(struct archive *archive) {
    libarchive.archive_read_support_filter_gzip(archive);
    libarchive.archive_read_support_filter_bzip2(archive);
    libarchive.archive_read_support_filter_xz(archive);
    libarchive.archive_read_support_filter_lzma(archive);
    libarchive.archive_read_support_filter_zstd(archive);
    libarchive.archive_read_support_format_tar(archive);
    libarchive.archive_read_support_format_zip_seekable(archive);
    libarchive.archive_read_support_format_7zip(archive);
}

/* Opens it, and says by its size how much it may unpack to. */
static int open_file(packed *it) {
    uint64_t size, ratio = it->limits->ratio;
    int code = gl_file_open_read(it->path, &it->fd);
    if (!code)
        code = gl_file_size(it->fd, &size);
    if (!code)
        it->most = size > (UINT64_MAX - MEBIBYTE) / ratio ? UINT64_MAX : size * ratio + MEBIBYTE;
    return code;
}

glassine_status gl_archive_open(const char *path, const glassine_limits *limits, gl_foreign *foreign,
                                glassine_error *error) {
    glassine_status status = gl_late_load(&libarchive_late, error);
    if (status) {
        gl_error_within(error, path);
        return status;
    }
    packed *it = calloc(1, sizeof *it);
    if (!it)
        return gl_fail_memory(error);
    *it = (packed){.path = path, .limits = limits, .archive = libarchive.archive_read_new(), .fd = -1};
    *foreign = (gl_foreign){&packed_kind, it};
    status = it->archive ? GLASSINE_OK : gl_fail_memory(error);
    int code = status ? 0 : open_file(it);
    if (code)
        status = gl_fault_reading(error, code, path);
    if (!status) {
        choose_forms(it->archive);
        if (libarchive.archive_read_open_fd(it->archive, it->fd, BLOCK) != ARCHIVE_OK)
            status = unreadable(it, error);
    }
    if (status)
        gl_foreign_close(foreign);
    return status;
}
