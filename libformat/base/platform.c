#define _GNU_SOURCE /* copy_file_range, sync_file_range, renameat2, strerrordesc_np, madvise */
#include "base/platform.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/mman.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

bool gl_platform_random(void *bytes, size_t length) {
    char *at = bytes;
    while (length) {
        ssize_t got = getrandom(at, length, 0);
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0)
            return false;
        at += got;
        length -= (size_t)got;
    }
    return true;
}

/* A page of the usual size costs most of a microsecond when it is first touched, and half a million lines are tens of
 * thousands of pages. What is hardly longer than a large page or two would waste the rest of the last one. */
#define LARGE_PAGE ((uintptr_t)2 << 20)
#define LARGE_PAGES_WORTH ((size_t)4 * LARGE_PAGE)

/* The pages that it begins and ends in, too: where the block is a mapping of its own, all of that is advised alike, and
 * realloc can still move it without copying. */
void gl_platform_expect_filled(void *memory, size_t size) {
    if (size < LARGE_PAGES_WORTH)
        return;
    size_t page = (size_t)sysconf(_SC_PAGESIZE), before = (uintptr_t)memory & (page - 1);
    madvise((char *)memory - before, (before + size + page - 1) / page * page, MADV_HUGEPAGE);
}

bool gl_platform_hand_out(void *memory, size_t size) {
#ifdef MADV_POPULATE_WRITE
    size_t page = (size_t)sysconf(_SC_PAGESIZE), skipped = (size_t)(-(uintptr_t)memory & (page - 1));
    return size < skipped ||
           madvise((char *)memory + skipped, (size - skipped) / page * page, MADV_POPULATE_WRITE) == 0;
#else
    (void)memory, (void)size;
    return false;
#endif
}

unsigned gl_platform_processors(void) {
    long processors = sysconf(_SC_NPROCESSORS_ONLN);
    return processors < 1 ? 1 : (unsigned)processors;
}

const char *gl_platform_temporary_folder(void) {
    const char *folder = getenv("TMPDIR");
    return folder && *folder ? folder : "/tmp";
}

const char *gl_platform_error_text(int code) {
    const char *text = strerrordesc_np(code);
    return text ? text : "unknown system error";
}

ssize_t gl_platform_copy_file_range(int from, off_t from_offset, int to, off_t to_offset, size_t length) {
    return copy_file_range(from, &from_offset, to, &to_offset, length, 0);
}

int gl_platform_sync_file_range(int fd, off_t offset, off_t length) {
    return sync_file_range(fd, offset, length, SYNC_FILE_RANGE_WRITE);
}

int gl_platform_rename_new(const char *from, const char *to) {
    return renameat2(AT_FDCWD, from, AT_FDCWD, to, RENAME_NOREPLACE);
}

enum { DEPTH_MOST = 64 };

static void remove_inside(int folder, unsigned depth);

static void remove_entry(int folder, const char *name, unsigned depth) {
    if (unlinkat(folder, name, 0) == 0 || unlinkat(folder, name, AT_REMOVEDIR) == 0 || depth == DEPTH_MOST)
        return;
    int inner = openat(folder, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (inner < 0)
        return;
    remove_inside(inner, depth + 1);
    unlinkat(folder, name, AT_REMOVEDIR);
}

/* Closes it. */
static void remove_inside(int folder, unsigned depth) {
    DIR *list = fdopendir(folder);
    if (!list) {
        close(folder);
        return;
    }
    for (const struct dirent *entry; (entry = readdir(list));)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            remove_entry(folder, entry->d_name, depth);
    closedir(list);
}

int gl_platform_remove_folder(const char *path) {
    struct stat about;
    int folder = open(path, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (folder < 0)
        return -1;
    if (fstat(folder, &about) != 0 || about.st_uid != geteuid()) {
        close(folder);
        errno = EPERM;
        return -1;
    }
    remove_inside(folder, 0);
    return rmdir(path);
}

int gl_platform_try_lock(int fd) {
    return flock(fd, LOCK_EX | LOCK_NB);
}

/* /proc/locks: "1: FLOCK  ADVISORY  WRITE 4711 fe:01:1234 0 EOF". Some file systems show another device
 * number there than stat does, so a line with the right inode alone is second best. */
static long holder_of(FILE *locks, const struct stat *file) {
    char line[256];
    long found = 0;
    while (fgets(line, sizeof line, locks)) {
        long pid;
        unsigned major_number, minor_number;
        unsigned long long inode;
        if (sscanf(line, "%*s FLOCK %*s WRITE %ld %x:%x:%llu", &pid, &major_number, &minor_number, &inode) !=
                4 ||
            inode != (unsigned long long)file->st_ino || pid <= 0)
            continue;
        found = pid;
        if (major_number == major(file->st_dev) && minor_number == minor(file->st_dev))
            break;
    }
    return found;
}

long gl_platform_lock_holder(int fd, char *name, size_t size) {
    struct stat file;
    if (size)
        name[0] = '\0';
    if (fstat(fd, &file) != 0)
        return 0;
    FILE *locks = fopen("/proc/locks", "re");
    if (!locks)
        return 0;
    long pid = holder_of(locks, &file);
    fclose(locks);
    if (pid == 0 || size == 0)
        return pid;
    char path[64];
    snprintf(path, sizeof path, "/proc/%ld/comm", pid);
    FILE *comm = fopen(path, "re");
    if (!comm)
        return pid;
    if (fgets(name, (int)size, comm))
        name[strcspn(name, "\n")] = '\0';
    fclose(comm);
    return pid;
}
