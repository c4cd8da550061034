/* A disk that may lose its power: every call that changes something is done for real and written down, with
 * what a sync has made safe. When the power goes, what was not synced is kept, dropped, torn or out of order,
 * at random, and the folder is put together again as it may be found afterwards. */
#ifndef TESTS_EXCHANGE_DISK_H
#define TESTS_EXCHANGE_DISK_H

#include <errno.h>
#include <fcntl.h>

#include "exchange/support.h"

enum { DISK_FILES = 64, DISK_OPS = 4096, DISK_SECTOR = 512, DISK_PATH = 256 };

typedef struct disk_write {
    uint64_t at; /* a cut: the new length */
    char *bytes; /* NULL: a cut */
    size_t length;
} disk_write;

typedef struct disk_file {
    dev_t device;
    ino_t number;
    gl_buf safe; /* what is on the disk whatever happens */
    disk_write *writes;
    size_t count, room;
} disk_file;

/* A name that comes, goes, or (both) takes the place of another. */
typedef struct disk_naming {
    char from[DISK_PATH], to[DISK_PATH];
    int file;
} disk_naming;

typedef enum disk_end {
    DISK_RUNS,
    DISK_NO_POWER, /* every call fails from now on, and nothing that was not synced is sure */
    DISK_KILLED,   /* every call fails from now on, and what was done is done: a process that was killed */
    DISK_FULL      /* writes fail */
} disk_end;

typedef struct disk {
    disk_file files[DISK_FILES];
    int file_count;
    disk_naming names[DISK_FILES];
    int name_count; /* safe ones; `to` and file */
    disk_naming namings[DISK_FILES];
    int naming_count; /* not synced */
    uint64_t calls;   /* that change something, so far */
    uint64_t last;    /* number of the call that fails; 0: none does */
    int failure;      /* its errno */
    disk_end then;    /* what is so from that call on */
    disk_end now;
    uint64_t luck;
} disk;

static disk the_disk;

/* ---------------------------------------------------------------------------------------- writing down */

static disk_file *disk_add(int fd) {
    struct stat about;
    assert_int_equal(fstat(fd, &about), 0);
    assert_true(the_disk.file_count < DISK_FILES);
    disk_file *file = &the_disk.files[the_disk.file_count++];
    *file = (disk_file){.device = about.st_dev, .number = about.st_ino, .safe = GL_BUF_EMPTY};
    return file;
}

/* The newest of that number: numbers are used again. NULL: not written down yet. */
static disk_file *disk_find(int fd) {
    struct stat about;
    assert_int_equal(fstat(fd, &about), 0);
    for (int i = the_disk.file_count; i-- > 0;)
        if (the_disk.files[i].device == about.st_dev && the_disk.files[i].number == about.st_ino)
            return &the_disk.files[i];
    return NULL;
}

/* A file that was there before: all of it is safe. */
static void disk_know(int fd, const char *path) {
    struct stat about;
    assert_int_equal(fstat(fd, &about), 0);
    if (!S_ISREG(about.st_mode) || disk_find(fd))
        return;
    disk_file *file = disk_add(fd);
    gl_buf_reserve(&file->safe, (size_t)about.st_size + 1);
    file->safe.length = (size_t)about.st_size;
    assert_int_equal(pread(fd, file->safe.text, file->safe.length, 0), about.st_size);
    disk_naming *name = &the_disk.names[the_disk.name_count++];
    snprintf(name->to, sizeof name->to, "%s", path);
    name->file = the_disk.file_count - 1;
}

static void disk_note(disk_file *file, uint64_t at, const void *bytes, size_t length) {
    if (file->count == file->room)
        file->writes = gl_grow(file->writes, &file->room, file->count + 1, sizeof *file->writes);
    char *copy = bytes ? malloc(length + 1) : NULL;
    if (bytes)
        memcpy(copy, bytes, length);
    file->writes[file->count++] = (disk_write){at, copy, length};
}

static void disk_apply(gl_buf *image, const disk_write *write, size_t from, size_t length) {
    uint64_t end = write->bytes ? write->at + from + length : write->at;
    gl_buf_reserve(image, (size_t)end + 1 - (end < image->length ? (size_t)end : 0));
    if (end > image->length)
        memset(image->text + image->length, 0, (size_t)end - image->length);
    if (end > image->length || !write->bytes)
        image->length = (size_t)end;
    if (write->bytes)
        memcpy(image->text + write->at + from, write->bytes + from, length);
}

static void disk_settle(disk_file *file) {
    for (size_t i = 0; i < file->count; i++) {
        disk_apply(&file->safe, &file->writes[i], 0, file->writes[i].length);
        free(file->writes[i].bytes);
    }
    file->count = 0;
}

static void disk_rename_safe(const disk_naming *naming) {
    for (int i = 0; i < the_disk.name_count; i++)
        if (strcmp(the_disk.names[i].to, naming->from) == 0 || strcmp(the_disk.names[i].to, naming->to) == 0)
            the_disk.names[i--] = the_disk.names[--the_disk.name_count];
    if (naming->to[0]) {
        assert_true(the_disk.name_count < DISK_FILES);
        the_disk.names[the_disk.name_count++] = *naming;
    }
}

static void disk_settle_names(int most) {
    for (int i = 0; i < most; i++)
        disk_rename_safe(&the_disk.namings[i]);
    the_disk.naming_count = 0;
}

static void disk_name(const char *from, const char *to, int file) {
    assert_true(the_disk.naming_count < DISK_FILES);
    disk_naming *naming = &the_disk.namings[the_disk.naming_count++];
    snprintf(naming->from, sizeof naming->from, "%s", from);
    snprintf(naming->to, sizeof naming->to, "%s", to);
    naming->file = file;
}

static int disk_file_at(const char *path) {
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return -1;
    disk_know(fd, path);
    disk_file *file = disk_find(fd);
    close(fd);
    return file ? (int)(file - the_disk.files) : -1;
}

/* Counts a call that changes something: false where it fails. *noted: it is written down all the same (the
 * power went while it was at work). */
static bool disk_goes(bool writes, bool *noted) {
    *noted = false;
    if (the_disk.now == DISK_RUNS && ++the_disk.calls == the_disk.last) {
        the_disk.now = the_disk.then;
        *noted = the_disk.now == DISK_NO_POWER;
        errno = the_disk.failure;
        return false;
    }
    errno = the_disk.failure;
    return the_disk.now == DISK_RUNS || (the_disk.now == DISK_FULL && !writes);
}

/* -------------------------------------------------------------------------------------------- the calls */

static int disk_open(const char *path, int flags, mode_t mode) {
    bool noted;
    bool changes = (flags & O_CREAT) != 0;
    if (changes ? !disk_goes(true, &noted) : the_disk.now == DISK_NO_POWER || the_disk.now == DISK_KILLED) {
        errno = the_disk.failure;
        return -1;
    }
    int fd = open(path, flags, mode);
    if (fd >= 0 && changes) {
        disk_file *file = disk_add(fd);
        disk_name("", path, (int)(file - the_disk.files));
    } else if (fd >= 0) {
        disk_know(fd, path);
    }
    return fd;
}

static ssize_t disk_pwrite(int fd, const void *bytes, size_t length, off_t offset) {
    bool noted, goes = disk_goes(true, &noted);
    if (goes || noted)
        disk_note(disk_find(fd), (uint64_t)offset, bytes, length);
    return goes ? pwrite(fd, bytes, length, offset) : -1;
}

static ssize_t disk_copy(int from, off_t from_offset, int to, off_t to_offset, size_t length) {
    static char bytes[1 << 16];
    ssize_t got = pread(from, bytes, length < sizeof bytes ? length : sizeof bytes, from_offset);
    return got <= 0 ? got : disk_pwrite(to, bytes, (size_t)got, to_offset);
}

static int disk_truncate(int fd, off_t size) {
    bool noted, goes = disk_goes(false, &noted);
    if (goes || noted)
        disk_note(disk_find(fd), (uint64_t)size, NULL, 0);
    return goes ? ftruncate(fd, size) : -1;
}

static int disk_sync(int fd) {
    bool noted;
    if (!disk_goes(false, &noted))
        return -1;
    disk_file *file = disk_find(fd);
    if (file)
        disk_settle(file);
    else
        disk_settle_names(the_disk.naming_count); /* a folder */
    return 0;
}

static int disk_rename(const char *from, const char *to) {
    bool noted, goes = disk_goes(false, &noted);
    int file = disk_file_at(from);
    disk_file_at(to); /* so that what is there is known */
    if (goes || noted)
        disk_name(from, to, file);
    return goes ? rename(from, to) : -1;
}

static int disk_rename_new(const char *from, const char *to) {
    if (access(to, F_OK) == 0) {
        errno = EEXIST;
        return -1;
    }
    return disk_rename(from, to);
}

static int disk_link(const char *from, const char *to) {
    bool noted, goes = disk_goes(false, &noted);
    int file = disk_file_at(from);
    int done = goes ? link(from, to) : -1;
    if (done == 0 || noted)
        disk_name("", to, file);
    return done;
}

static int disk_unlink(const char *path) {
    bool noted, goes = disk_goes(false, &noted);
    if (goes || noted)
        disk_name(path, "", -1);
    return goes ? unlink(path) : -1;
}

/* -------------------------------------------------------------------------------------------- interface */

/* Everything from now on goes over the disk; call number `last` (0: none) fails with `failure`, and then all
 * as `then` says. */
UNUSED static void disk_begin(uint64_t luck, uint64_t last, int failure, disk_end then) {
    static gl_calls calls;
    calls = *gl_calls_system();
    calls.open = disk_open;
    calls.pwrite = disk_pwrite;
    calls.copy_file_range = disk_copy;
    calls.ftruncate = disk_truncate;
    calls.fdatasync = disk_sync;
    calls.fsync = disk_sync;
    calls.rename = disk_rename;
    calls.rename_new = disk_rename_new;
    calls.link = disk_link;
    calls.unlink = disk_unlink;
    the_disk = (disk){.last = last, .failure = failure, .then = then, .luck = luck * 2654435761u + 1};
    gl_calls_use(&calls);
}

static uint32_t disk_luck(uint32_t below) {
    return random_below(&the_disk.luck, below);
}

/* One write as the disk may have it: whole, not at all, or only some of its sectors. */
static void disk_land(gl_buf *image, const disk_write *write) {
    uint32_t fate = disk_luck(3);
    if (fate == 0)
        return;
    if (fate == 1 || !write->bytes) {
        disk_apply(image, write, 0, write->length);
        return;
    }
    for (size_t at = 0; at < write->length;) {
        size_t left = DISK_SECTOR - (write->at + at) % DISK_SECTOR;
        size_t part = left < write->length - at ? left : write->length - at;
        if (disk_luck(2))
            disk_apply(image, write, at, part);
        at += part;
    }
}

static void disk_lose(disk_file *file) {
    for (size_t i = 0; i + 1 < file->count; i++) { /* in any order */
        size_t other = i + disk_luck((uint32_t)(file->count - i));
        disk_write write = file->writes[i];
        file->writes[i] = file->writes[other];
        file->writes[other] = write;
    }
    uint32_t manner = disk_luck(3); /* all of it, nothing of it, or each write as luck has it */
    for (size_t i = 0; i < file->count; i++) {
        if (manner == 0)
            disk_apply(&file->safe, &file->writes[i], 0, file->writes[i].length);
        else if (manner == 1)
            disk_land(&file->safe, &file->writes[i]);
        free(file->writes[i].bytes);
    }
    file->count = 0;
}

/* The system's own calls again. Where the power went, the folder is as it may be found then. */
UNUSED static void disk_finish(void) {
    bool lost = the_disk.now == DISK_NO_POWER;
    without_syncs();
    for (int i = 0; lost && i < the_disk.naming_count; i++) {
        unlink(the_disk.namings[i].from);
        unlink(the_disk.namings[i].to);
    }
    if (lost)
        disk_settle_names((int)disk_luck((uint32_t)the_disk.naming_count + 1));
    for (int i = 0; i < the_disk.file_count; i++)
        lost ? disk_lose(&the_disk.files[i]) : disk_settle(&the_disk.files[i]);
    for (int i = 0; lost && i < the_disk.name_count; i++) {
        const disk_file *file = &the_disk.files[the_disk.names[i].file];
        unlink(the_disk.names[i].to);
        FILE *out = fopen(the_disk.names[i].to, "wb");
        assert_non_null(out);
        assert_int_equal(fwrite(file->safe.text ? file->safe.text : "", 1, file->safe.length, out),
                         file->safe.length);
        fclose(out);
    }
    for (int i = 0; i < the_disk.file_count; i++) {
        gl_buf_free(&the_disk.files[i].safe);
        free(the_disk.files[i].writes);
    }
    the_disk = (disk){.file_count = 0};
}

#endif
