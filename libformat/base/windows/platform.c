/* base/platform.h for Windows. */
#include "base/platform.h"

#include <dirent.h>
#include <errno.h>
#include <io.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <windows.h>
/* After windows.h, whose types it takes. */
#include <bcrypt.h>

#include "base/windows/failure.h"

bool gl_platform_random(void *bytes, size_t length) {
    return length <= ULONG_MAX &&
           BCryptGenRandom(NULL, bytes, (ULONG)length, BCRYPT_USE_SYSTEM_PREFERRED_RNG) == 0;
}

void gl_platform_expect_filled(void *memory, size_t size) {
    (void)memory;
    (void)size;
}

bool gl_platform_hand_out(void *memory, size_t size) {
    (void)memory;
    (void)size;
    return false;
}

unsigned gl_platform_processors(void) {
    SYSTEM_INFO system;
    GetSystemInfo(&system);
    return system.dwNumberOfProcessors;
}

const char *gl_platform_temporary_folder(void) {
    static const char *const names[] = {"TMPDIR", "TEMP", "TMP"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        const char *folder = getenv(names[i]);
        if (folder && *folder)
            return folder;
    }
    return ".";
}

/* What Windows' C library knows no text for: it ends with the codes of 1989. */
const char *gl_platform_error_text(int code) {
    switch (code) {
    case EBUSY:
        return "Another program has it open";
    case EDQUOT:
        return "Disk quota exceeded";
    case ELOOP:
        return "Too many levels of symbolic links";
    case ENODATA:
        return "No data available";
    case EOPNOTSUPP:
        return "Operation not supported";
    case EOVERFLOW:
        return "Value too large for defined data type";
    case EWOULDBLOCK:
        return "Resource temporarily unavailable";
    default:
        return code >= 0 && code < sys_nerr ? strerror(code) : "unknown system error";
    }
}

ssize_t gl_platform_copy_file_range(int from, off_t from_offset, int to, off_t to_offset, size_t length) {
    (void)from, (void)from_offset, (void)to, (void)to_offset, (void)length;
    errno = ENOSYS;
    return -1;
}

int gl_platform_sync_file_range(int fd, off_t offset, off_t length) {
    (void)fd, (void)offset, (void)length;
    return 0;
}

int gl_platform_rename_new(const char *from, const char *to) {
    wchar_t *wide_from = gl_windows_path(from), *wide_to = gl_windows_path(to);
    bool done = wide_from && wide_to && MoveFileExW(wide_from, wide_to, MOVEFILE_WRITE_THROUGH);
    if (wide_from && wide_to && !done)
        gl_windows_failed();
    free(wide_from);
    free(wide_to);
    return done ? 0 : -1;
}

enum { DEPTH_MOST = 64 };

static int remove_folder(const char *path, unsigned depth);

static void remove_entry(const char *folder, const char *name, unsigned depth) {
    size_t length = strlen(folder) + strlen(name) + 2;
    char *path = malloc(length);
    if (path) {
        snprintf(path, length, "%s/%s", folder, name);
        if (unlink(path) != 0)
            remove_folder(path, depth + 1);
    }
    free(path);
}

/* A folder that is another's link goes with the first call, and is not looked into. */
static int remove_folder(const char *path, unsigned depth) {
    if (rmdir(path) == 0)
        return 0;
    DIR *list = depth < DEPTH_MOST ? opendir(path) : NULL;
    if (!list)
        return -1;
    for (const struct dirent *entry; (entry = readdir(list));)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            remove_entry(path, entry->d_name, depth);
    closedir(list);
    return rmdir(path);
}

int gl_platform_remove_folder(const char *path) {
    return remove_folder(path, 0);
}

/* On a byte that no file reaches: Windows' locks keep others from reading what they cover. */
int gl_platform_try_lock(int fd) {
    OVERLAPPED where = {.OffsetHigh = 0x40000000};
    HANDLE file = (HANDLE)_get_osfhandle(fd);
    return LockFileEx(file, LOCKFILE_EXCLUSIVE_LOCK | LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &where)
               ? 0
               : gl_windows_failed();
}

long gl_platform_lock_holder(int fd, char *name, size_t size) {
    (void)fd;
    if (size)
        name[0] = '\0';
    return 0;
}
