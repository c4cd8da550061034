/* Temporary files and folders beside the file that they will be: made, locked while somebody works on them,
 * and cleared away where whoever worked on one was killed. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

#include "base/calls.h"
#include "base/file.h"
#include "base/platform.h"

enum { RANDOM_LETTERS = 6, TRIES = 8 };

/* Of names beside PATH: ".NAME.XXXXXX.part". */
static const char letters[] = "abcdefghijklmnopqrstuvwxyz234567";
static const gl_span ending = {".part", 5};

int gl_file_temporary_name(const char *path, gl_buf *out) {
    size_t start = out->length;
    struct stat there;
    do {
        unsigned char random[RANDOM_LETTERS];
        out->length = start;
        if (!gl_platform_random(random, sizeof random))
            return EIO;
        gl_buf_add(out, gl_path_folder(path));
        gl_buf_add_char(out, '.');
        gl_buf_add(out, gl_path_name(path));
        gl_buf_add_char(out, '.');
        for (size_t i = 0; i < sizeof random; i++)
            gl_buf_add_char(out, letters[random[i] & 31]);
        gl_buf_add(out, ending);
        if (out->failed)
            return ENOMEM;
    } while (gl_calls_now()->stat(out->text + start, &there) == 0);
    return errno == ENOENT ? 0 : errno;
}

/* "..NAME.XXXXXX.part.YYYYYY.part" is a temporary file of a temporary file of NAME. */
static bool is_part_of(gl_span found, gl_span name) {
    while (found.length > 2 + RANDOM_LETTERS + ending.length && found.text[0] == '.') {
        size_t length = found.length - ending.length - RANDOM_LETTERS - 1;
        if (!gl_span_equal(gl_span_part(found, found.length - ending.length, ending.length), ending) ||
            found.text[length] != '.')
            return false;
        for (size_t i = 1; i <= RANDOM_LETTERS; i++)
            if (!memchr(letters, found.text[length + i], sizeof letters - 1))
                return false;
        found = gl_span_part(found, 1, length - 1);
        if (gl_span_equal(found, name))
            return true;
    }
    return false;
}

/* ".NAME.XXXXXX.parts" of ".NAME.XXXXXX.part". */
static bool name_folder(const char *part, gl_buf *folder) {
    gl_buf_add_text(folder, part);
    gl_buf_add_char(folder, 's');
    return !folder->failed;
}

/* Even when all is done to remove it. */
static bool keeps_folder(const char *folder) {
    return gl_platform_remove_folder(folder) != 0 && errno != ENOENT && errno != ENOTDIR;
}

/* The file stays as long as there is a folder to it. */
static void remove_part(const char *path) {
    gl_buf folder = GL_BUF_EMPTY;
    if (name_folder(path, &folder) && !keeps_folder(folder.text))
        gl_file_remove(path);
    gl_buf_free(&folder);
}

/* Ours (by its owner), a plain file, and nobody works on it: who does holds its lock. */
static void clear_stale(const char *path) {
    struct stat about;
    bool same = false;
    int fd = gl_calls_now()->open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC | O_NOCTTY, 0);
    if (fd < 0)
        return;
    if (gl_calls_now()->fstat(fd, &about) == 0 && S_ISREG(about.st_mode) && about.st_uid == geteuid() &&
        gl_calls_now()->flock(fd) == 0 && gl_file_is_same(fd, path, &same) == 0 && same)
        remove_part(path);
    gl_file_close(fd);
}

/* What fails here fails nobody: it is tried again the next time. */
static void clear_parts(const char *path) {
    gl_span name = gl_path_name(path);
    gl_buf folder = GL_BUF_EMPTY, found = GL_BUF_EMPTY;
    gl_buf_add(&folder, gl_path_folder(path));
    DIR *list = folder.failed ? NULL : opendir(folder.length ? folder.text : ".");
    for (const struct dirent *entry; list && (entry = readdir(list));) {
        if (!is_part_of(gl_span_of(entry->d_name), name))
            continue;
        gl_buf_clear(&found);
        gl_buf_add(&found, gl_buf_span(&folder));
        gl_buf_add_text(&found, entry->d_name);
        if (!found.failed)
            clear_stale(found.text);
    }
    if (list)
        closedir(list);
    gl_buf_free(&folder);
    gl_buf_free(&found);
}

/* Locked, and still there under its name: EAGAIN where somebody who clears up was faster. */
static int lock_part(int fd, const char *name) {
    bool same;
    if (gl_calls_now()->flock(fd) != 0)
        return errno == EWOULDBLOCK ? EAGAIN
                                    : 0; /* a file system without locks: then nobody clears up there */
    int code = gl_file_is_same(fd, name, &same);
    return code ? code : same ? 0 : EAGAIN;
}

int gl_file_part_new(const char *path, gl_part_mode mode, gl_buf *name, int *fd) {
    int code = EAGAIN;
    clear_parts(path);
    for (int i = 0; i < TRIES && code == EAGAIN; i++) {
        gl_buf_clear(name);
        code = gl_file_temporary_name(path, name);
        if (!code)
            code = mode == GL_PART_PRIVATE ? gl_file_open_private(name->text, fd)
                                           : gl_file_open_write(name->text, true, fd);
        if (code)
            continue;
        code = lock_part(*fd, name->text);
        if (code) {
            gl_file_remove(name->text);
            gl_file_close(*fd);
            *fd = -1;
        }
    }
    return code;
}

int gl_part_folder_new(const char *path, gl_part_folder *folder) {
    *folder = (gl_part_folder){.path = GL_BUF_EMPTY, .lock = GL_BUF_EMPTY, .fd = -1};
    int code = gl_file_part_new(path, GL_PART_PRIVATE, &folder->lock, &folder->fd);
    if (!code && !name_folder(folder->lock.text, &folder->path))
        code = ENOMEM;
    if (!code && gl_calls_now()->mkdir(folder->path.text, 0700) != 0)
        code = errno;
    if (code && folder->fd >= 0) {
        gl_file_remove(folder->lock.text);
        gl_file_close(folder->fd);
    }
    if (code) {
        gl_buf_free(&folder->path);
        gl_buf_free(&folder->lock);
    }
    return code;
}

void gl_part_folder_end(gl_part_folder *folder) {
    if (rmdir(folder->path.text) == 0)
        gl_file_remove(folder->lock.text);
    gl_file_close(folder->fd);
    gl_buf_free(&folder->path);
    gl_buf_free(&folder->lock);
}
