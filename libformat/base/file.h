/* Files: every system call on a file goes through here, so that a test can make each fail, and so that
 * another platform is one file (base/platform.c) or folder (base/windows). Functions return 0 or an errno value, of which
 * gl_fail_system makes a message. */
#ifndef GL_BASE_FILE_H
#define GL_BASE_FILE_H

#include <stdint.h>
#include <sys/stat.h>

#include "base/buf.h"

/* The calls themselves. gl_calls_system() is the real ones; a test passes its own to gl_calls_use (tests
 * only; the one piece of process-wide state there is, and never written by the library itself). */
typedef struct gl_calls gl_calls;

int gl_file_open_read(const char *path, int *fd);
/* Read and write; where `create`, the file must not exist (O_EXCL) and gets mode 0666 less the umask. */
int gl_file_open_write(const char *path, bool create, int *fd);
/* A new file (as with `create`) that its owner alone may read: for keys. */
int gl_file_open_private(const char *path, int *fd);
int gl_file_close(int fd);
/* Of a plain file; EISDIR for a folder, ESPIPE for a pipe or device. */
int gl_file_size(int fd, uint64_t *size);
int gl_file_truncate(int fd, uint64_t size);
/* Whole reads and writes: short ones and EINTR are retried. Reading past the end returns ENODATA. */
int gl_file_read_at(int fd, void *bytes, size_t length, uint64_t offset);
int gl_file_write_at(int fd, const void *bytes, size_t length, uint64_t offset);
int gl_file_sync_data(int fd);                          /* fdatasync */
int gl_file_sync(int fd);                               /* fsync */
int gl_file_sync_folder_of(const char *path);           /* fsync of the folder that holds `path` */
int gl_file_rename(const char *from, const char *to);   /* replaces */
int gl_file_link_new(const char *from, const char *to); /* as rename, but EEXIST where `to` is there */
/* The new file `to` gets the permissions of `from`. */
int gl_file_take_mode(int from, int to);
int gl_file_remove(const char *path);
int gl_file_make_folder(const char *path);
/* Whole content, appended, refused with EFBIG above `limit`. Works for pipes too. */
int gl_file_read_all(const char *path, size_t limit, gl_buf *out);
/* The first bytes of a plain file, as many as there are and have room. */
int gl_file_read_head(const char *path, char *out, size_t room, size_t *length);
/* Writes a whole small file durably: temporary file beside it, fsync, rename (or link where `fresh`: EEXIST
 * where the file is there), fsync of the folder. */
int gl_file_write_all(const char *path, gl_span content, bool fresh);
/* The same for a new file that its owner alone may read. */
int gl_file_write_private(const char *path, gl_span content);
/* Asks the system to begin writing a range to disk, so that the sync at the end is short. A hint, no promise.
 */
void gl_file_start_writing(int fd, uint64_t offset, uint64_t length);
/* Copies a range between files, by copy_file_range where the system can. */
int gl_file_copy_range(int from, uint64_t from_offset, int to, uint64_t to_offset, uint64_t length);
/* A name beside `path` for a temporary file, not existing at this moment: ".NAME.XXXXXX.part". */
int gl_file_temporary_name(const char *path, gl_buf *out);
/* A new file of such a name (in `name`), locked as long as *fd is open: it is to stay open until the file has the name
 * that it is for. Files like it that nobody works on any more (who did was killed) are cleared away first. */
typedef enum gl_part_mode { GL_PART_SHARED, GL_PART_PRIVATE } gl_part_mode;
int gl_file_part_new(const char *path, gl_part_mode mode, gl_buf *name, int *fd);

/* A new folder for work in progress, ".NAME.XXXXXX.parts", which its owner alone may enter, beside a file
 * ".NAME.XXXXXX.part" that is locked as long as the work goes on: folders that nobody works in any more go with
 * that file. */
typedef struct gl_part_folder {
    gl_buf path, lock;
    int fd;
} gl_part_folder;
int gl_part_folder_new(const char *path, gl_part_folder *folder);
/* Removes it, empty as it must be by now. Takes no memory. */
void gl_part_folder_end(gl_part_folder *folder);

/* A file without a name, for what is too large for memory: in the folder TMPDIR, else /tmp; it is gone once it is
 * closed. */
int gl_file_open_nameless(int *fd);

/* Advisory lock of one writer on an open file, held until it is closed. Waits up to `wait_ms`; EWOULDBLOCK
 * when somebody else still holds it. */
int gl_file_lock(int fd, unsigned wait_ms);
/* Adds who holds it ("process 4711 (glassine)"); false: nobody, or the system does not tell. */
bool gl_file_lock_holder(int fd, gl_buf *out);
/* Do this open file and the file of that name agree (device, inode)? */
int gl_file_is_same(int fd, const char *path, bool *same);

/* The last part of a path. */
gl_span gl_path_name(const char *path);
/* What stands before it: the folder with its slash; empty: the present one. */
gl_span gl_path_folder(const char *path);

#endif
