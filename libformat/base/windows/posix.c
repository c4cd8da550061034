/* The functions that the headers of this folder declare, by Windows' own. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <wchar.h>

#include <windows.h>

#include "base/platform.h"
#include "base/windows/failure.h"
#include "base/windows/long_name.h"

#define SHARED (FILE_SHARE_READ | FILE_SHARE_WRITE | FILE_SHARE_DELETE)
#define LINK_MODE 0xA000 /* S_IFLNK, which Windows' C library does not have */
#ifndef ERROR_DISK_QUOTA_EXCEEDED
#define ERROR_DISK_QUOTA_EXCEEDED 1295
#endif
/* CreateDirectoryW takes names of 248 units at most. */
enum { LONG_NAME = 240, MOST_AT_ONCE = 1 << 30 };

/* ------------------------------------------------------------------------------- errors and names */

int gl_windows_failed(void) {
    static const struct {
        DWORD code;
        int number;
    } known[] = {
        {ERROR_FILE_NOT_FOUND, ENOENT},
        {ERROR_PATH_NOT_FOUND, ENOENT},
        {ERROR_INVALID_NAME, ENOENT},
        {ERROR_BAD_PATHNAME, ENOENT},
        {ERROR_INVALID_DRIVE, ENOENT},
        {ERROR_BAD_NETPATH, ENOENT},
        {ERROR_ACCESS_DENIED, EACCES},
        {ERROR_SHARING_VIOLATION, EBUSY},
        {ERROR_LOCK_VIOLATION, EWOULDBLOCK},
        {ERROR_IO_PENDING, EWOULDBLOCK},
        {ERROR_FILE_EXISTS, EEXIST},
        {ERROR_ALREADY_EXISTS, EEXIST},
        {ERROR_DIR_NOT_EMPTY, ENOTEMPTY},
        {ERROR_DIRECTORY, ENOTDIR},
        {ERROR_DISK_FULL, ENOSPC},
        {ERROR_HANDLE_DISK_FULL, ENOSPC},
        {ERROR_DISK_QUOTA_EXCEEDED, EDQUOT},
        {ERROR_WRITE_PROTECT, EROFS},
        {ERROR_NOT_SUPPORTED, EOPNOTSUPP},
        {ERROR_INVALID_FUNCTION, EOPNOTSUPP},
        {ERROR_NOT_SAME_DEVICE, EXDEV},
        {ERROR_TOO_MANY_LINKS, EMLINK},
        {ERROR_INVALID_HANDLE, EBADF},
        {ERROR_TOO_MANY_OPEN_FILES, EMFILE},
        {ERROR_NOT_ENOUGH_MEMORY, ENOMEM},
        {ERROR_OUTOFMEMORY, ENOMEM},
        {ERROR_INVALID_PARAMETER, EINVAL},
        {ERROR_FILENAME_EXCED_RANGE, ENAMETOOLONG},
        {ERROR_CANT_RESOLVE_FILENAME, ELOOP},
        {ERROR_BROKEN_PIPE, EPIPE},
        {ERROR_NO_DATA, EPIPE},
        {ERROR_FILE_TOO_LARGE, EFBIG},
        {ERROR_NO_UNICODE_TRANSLATION, EILSEQ},
        {ERROR_PRIVILEGE_NOT_HELD, EPERM},
    };
    DWORD code = GetLastError();
    errno = EIO;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (known[i].code == code)
            errno = known[i].number;
    return -1;
}

/* The form without a limit of any name, in place of `name`: what a relative one begins with is not seen in it. */
static wchar_t *without_limit(wchar_t *name) {
    DWORD length = GetFullPathNameW(name, 0, NULL, NULL);
    wchar_t *whole = length ? malloc(length * sizeof *whole) : NULL;
    wchar_t *unlimited = length ? malloc((length + GL_LONG_NAME_MORE) * sizeof *unlimited) : NULL;
    if (whole && unlimited) {
        GetFullPathNameW(name, length, whole, NULL);
        gl_windows_long_name(whole, unlimited);
    } else {
        errno = length ? ENOMEM : EINVAL;
        free(unlimited);
        unlimited = NULL;
    }
    free(whole);
    free(name);
    return unlimited;
}

/* "a:b" would be a stream of the file a, which nobody sees; a colon belongs behind a drive. */
static bool names_stream(const char *utf8) {
    const char *colon = strchr(utf8, ':');
    if (colon && colon == utf8 + 1)
        colon = strchr(colon + 1, ':');
    return colon && strncmp(utf8, "\\\\", 2) != 0;
}

wchar_t *gl_windows_path(const char *utf8) {
    if (names_stream(utf8)) {
        errno = EINVAL;
        return NULL;
    }
    int length = MultiByteToWideChar(CP_UTF8, MB_ERR_INVALID_CHARS, utf8, -1, NULL, 0);
    if (length == 0) {
        gl_windows_failed();
        return NULL;
    }
    wchar_t *name = malloc((size_t)length * sizeof *name);
    if (!name)
        return NULL;
    MultiByteToWideChar(CP_UTF8, MB_ERR_INVALID_CHARS, utf8, -1, name, length);
    if (name[0] == L'\0') {
        free(name);
        errno = ENOENT;
        return NULL;
    }
    for (wchar_t *at = name; *at; at++)
        if (*at == L'/')
            *at = L'\\';
    return length > LONG_NAME && wcsncmp(name, L"\\\\?\\", 4) != 0 ? without_limit(name) : name;
}

static int as_posix(BOOL done) {
    return done ? 0 : gl_windows_failed();
}

/* ---------------------------------------------------------------------------------- what a file is */

static HANDLE handle_of(int fd) {
    return (HANDLE)_get_osfhandle(fd);
}

static time_t seconds(FILETIME time) {
    uint64_t ticks = (uint64_t)time.dwHighDateTime << 32 | time.dwLowDateTime;
    return (time_t)((int64_t)(ticks / 10000000) - 11644473600); /* from 1601 to 1970 */
}

static int facts_of(HANDLE file, struct stat *facts) {
    BY_HANDLE_FILE_INFORMATION about;
    *facts = (struct stat){.st_nlink = 1};
    DWORD kind = GetFileType(file);
    if (kind == FILE_TYPE_CHAR || kind == FILE_TYPE_PIPE) {
        facts->st_mode = (unsigned short)((kind == FILE_TYPE_CHAR ? S_IFCHR : S_IFIFO) | 0666);
        return 0;
    }
    if (!GetFileInformationByHandle(file, &about))
        return gl_windows_failed();
    bool folder = about.dwFileAttributes & FILE_ATTRIBUTE_DIRECTORY;
    bool link = about.dwFileAttributes & FILE_ATTRIBUTE_REPARSE_POINT;
    facts->st_mode = (unsigned short)(link ? LINK_MODE | 0777 : folder ? S_IFDIR | 0777 : S_IFREG | 0666);
    facts->st_size = (int64_t)((uint64_t)about.nFileSizeHigh << 32 | about.nFileSizeLow);
    facts->st_nlink = (short)about.nNumberOfLinks;
    facts->st_mtime = seconds(about.ftLastWriteTime);
    facts->st_atime = seconds(about.ftLastAccessTime);
    facts->st_ctime = seconds(about.ftCreationTime);
    /* Windows tells files apart by 32 bits of the disk and 64 of the file, of which 48 count them; st_ino has
     * 16 here, and st_dev takes the rest. */
    facts->st_ino = (_ino_t)(about.nFileIndexLow & 0xffff);
    facts->st_dev = (_dev_t)((about.nFileIndexLow >> 16 | about.nFileIndexHigh << 16) ^
                             about.nFileIndexHigh >> 16 ^ about.dwVolumeSerialNumber);
    return 0;
}

static int facts_by_name(const char *path, DWORD how, struct stat *facts) {
    wchar_t *name = gl_windows_path(path);
    if (!name)
        return -1;
    HANDLE file = CreateFileW(name, FILE_READ_ATTRIBUTES, SHARED, NULL, OPEN_EXISTING,
                              FILE_FLAG_BACKUP_SEMANTICS | how, NULL);
    free(name);
    if (file == INVALID_HANDLE_VALUE)
        return gl_windows_failed();
    int result = facts_of(file, facts);
    CloseHandle(file);
    return result;
}

int fstat(int fd, struct stat *facts) {
    return facts_of(handle_of(fd), facts);
}

int stat(const char *path, struct stat *facts) {
    return facts_by_name(path, 0, facts);
}

/* What is a link by Windows' reckoning but no symbolic one (a file that lies elsewhere until it is wanted) is
 * followed. */
int lstat(const char *path, struct stat *facts) {
    wchar_t *name = gl_windows_path(path);
    if (!name)
        return -1;
    WIN32_FIND_DATAW found;
    HANDLE search = FindFirstFileW(name, &found);
    free(name);
    bool link =
        search != INVALID_HANDLE_VALUE && found.dwFileAttributes & FILE_ATTRIBUTE_REPARSE_POINT &&
        (found.dwReserved0 == IO_REPARSE_TAG_SYMLINK || found.dwReserved0 == IO_REPARSE_TAG_MOUNT_POINT);
    if (search != INVALID_HANDLE_VALUE)
        FindClose(search);
    return facts_by_name(path, link ? FILE_FLAG_OPEN_REPARSE_POINT : 0, facts);
}

int access(const char *path, int mode) {
    struct stat facts;
    (void)mode; /* F_OK alone is asked */
    return stat(path, &facts);
}

int isatty(int fd) {
    DWORD mode;
    return GetConsoleMode(handle_of(fd), &mode) != 0;
}

/* Files have no owner by number: every one counts as ours, as in st_uid. */
short geteuid(void) {
    return 0;
}

/* Who may read a file is inherited from the folder that it lies in. */
int fchmod(int fd, mode_t mode) {
    (void)fd, (void)mode;
    return 0;
}

/* ---------------------------------------------------------------------------------------- open and close */

static DWORD access_of(int flags) {
    int asked = flags & (O_RDONLY | O_WRONLY | O_RDWR);
    return asked == O_RDONLY   ? GENERIC_READ
           : asked == O_WRONLY ? GENERIC_WRITE
                               : GENERIC_READ | GENERIC_WRITE;
}

static DWORD disposition_of(int flags) {
    if (flags & O_CREAT)
        return flags & O_EXCL ? CREATE_NEW : flags & O_TRUNC ? CREATE_ALWAYS : OPEN_ALWAYS;
    return flags & O_TRUNC ? TRUNCATE_EXISTING : OPEN_EXISTING;
}

/* 0, or why such a file is not to be opened so. */
static int why_not(HANDLE file, int flags) {
    struct stat facts;
    if (facts_of(file, &facts) != 0)
        return errno;
    if (S_ISDIR(facts.st_mode))
        return flags & (O_WRONLY | O_RDWR) ? EISDIR : 0;
    if (flags & O_DIRECTORY)
        return ENOTDIR;
    return (facts.st_mode & S_IFMT) == LINK_MODE ? ELOOP : 0;
}

static bool is_link(const char *path) {
    struct stat facts;
    return lstat(path, &facts) == 0 && (facts.st_mode & S_IFMT) == LINK_MODE;
}

int open(const char *path, int flags, ...) {
    if (flags & O_NOFOLLOW && is_link(path)) {
        errno = ELOOP;
        return -1;
    }
    wchar_t *name = gl_windows_path(path);
    if (!name)
        return -1;
    HANDLE file = CreateFileW(name, access_of(flags), SHARED, NULL, disposition_of(flags),
                              FILE_ATTRIBUTE_NORMAL | FILE_FLAG_BACKUP_SEMANTICS, NULL);
    free(name);
    if (file == INVALID_HANDLE_VALUE)
        return gl_windows_failed();
    int code = why_not(file, flags);
    int fd = code ? -1
                  : _open_osfhandle((intptr_t)file,
                                    O_BINARY | (flags & (O_RDONLY | O_WRONLY | O_RDWR | O_APPEND)));
    if (fd < 0) {
        CloseHandle(file);
        errno = code ? code : EMFILE;
    }
    return fd;
}

/* Text that is read may have either line end; all else is bytes. */
FILE *fopen(const char *path, const char *mode) {
    bool reads = mode[0] == 'r', adds = mode[0] == 'a', updates = strchr(mode, '+') != NULL;
    int flags = updates ? O_RDWR : reads ? O_RDONLY : O_WRONLY;
    if (!reads)
        flags |= O_CREAT | (adds ? O_APPEND : strchr(mode, 'x') ? O_EXCL : O_TRUNC);
    int fd = open(path, flags, 0666);
    if (fd < 0)
        return NULL;
    if (reads && !strchr(mode, 'b'))
        _setmode(fd, _O_TEXT);
    FILE *file = _fdopen(fd, adds ? updates ? "a+" : "a" : updates ? "r+" : reads ? "r" : "w");
    if (!file)
        _close(fd);
    return file;
}

/* ---------------------------------------------------------------------------------------- read and write */

static DWORD at_once(size_t length) {
    return length < MOST_AT_ONCE ? (DWORD)length : MOST_AT_ONCE;
}

static OVERLAPPED place(off_t offset) {
    return (OVERLAPPED){.Offset = (DWORD)offset, .OffsetHigh = (DWORD)((uint64_t)offset >> 32)};
}

static ssize_t read_some(int fd, void *bytes, size_t length, OVERLAPPED *where) {
    DWORD got = 0;
    if (ReadFile(handle_of(fd), bytes, at_once(length), &got, where))
        return got;
    if (GetLastError() == ERROR_HANDLE_EOF || GetLastError() == ERROR_BROKEN_PIPE)
        return 0;
    struct stat facts;
    DWORD code = GetLastError();
    if (fstat(fd, &facts) == 0 && S_ISDIR(facts.st_mode)) {
        errno = EISDIR;
        return -1;
    }
    SetLastError(code);
    return gl_windows_failed();
}

static ssize_t write_some(int fd, const void *bytes, size_t length, OVERLAPPED *where) {
    DWORD put = 0;
    return WriteFile(handle_of(fd), bytes, at_once(length), &put, where) ? (ssize_t)put : gl_windows_failed();
}

ssize_t read(int fd, void *bytes, size_t length) {
    return read_some(fd, bytes, length, NULL);
}

ssize_t write(int fd, const void *bytes, size_t length) {
    return write_some(fd, bytes, length, NULL);
}

ssize_t pread(int fd, void *bytes, size_t length, off_t offset) {
    OVERLAPPED where = place(offset);
    return read_some(fd, bytes, length, &where);
}

ssize_t pwrite(int fd, const void *bytes, size_t length, off_t offset) {
    OVERLAPPED where = place(offset);
    return write_some(fd, bytes, length, &where);
}

int ftruncate(int fd, off_t size) {
    FILE_END_OF_FILE_INFO end = {.EndOfFile.QuadPart = size};
    return as_posix(SetFileInformationByHandle(handle_of(fd), FileEndOfFileInfo, &end, sizeof end));
}

/* Windows keeps its folders by itself, and flushes only what is open for writing. */
int fsync(int fd) {
    struct stat facts;
    if (FlushFileBuffers(handle_of(fd)))
        return 0;
    if (GetLastError() != ERROR_ACCESS_DENIED)
        return gl_windows_failed();
    if (fstat(fd, &facts) == 0 && S_ISDIR(facts.st_mode))
        return 0;
    HANDLE again = ReOpenFile(handle_of(fd), GENERIC_WRITE, SHARED, 0);
    if (again == INVALID_HANDLE_VALUE)
        return gl_windows_failed();
    int result = as_posix(FlushFileBuffers(again));
    CloseHandle(again);
    return result;
}

/* ------------------------------------------------------------------------------------------------- names */

/* Over a file that somebody has open, too (Windows 10, 1809). */
static BOOL rename_over_open(const wchar_t *from, const wchar_t *to) {
    enum { REPLACE = 1, POSIX_WAY = 2, RENAME_INFO_EX = 22 };
    struct renaming {
        DWORD flags;
        HANDLE folder;
        DWORD length;
        wchar_t name[1];
    } * how;
    DWORD bytes = (DWORD)(wcslen(to) * sizeof *to);
    HANDLE file = CreateFileW(from, DELETE | SYNCHRONIZE, SHARED, NULL, OPEN_EXISTING,
                              FILE_FLAG_BACKUP_SEMANTICS, NULL);
    if (file == INVALID_HANDLE_VALUE)
        return FALSE;
    how = calloc(1, sizeof *how + bytes);
    BOOL done = FALSE;
    if (how) {
        how->flags = REPLACE | POSIX_WAY;
        how->length = bytes;
        memcpy(how->name, to, bytes);
        done = SetFileInformationByHandle(file, (FILE_INFO_BY_HANDLE_CLASS)RENAME_INFO_EX, how,
                                          (DWORD)sizeof *how + bytes);
    }
    free(how);
    CloseHandle(file);
    return done;
}

/* A file that nobody may write may be taken away all the same, as in POSIX. */
static BOOL remove_wide(const wchar_t *name) {
    if (DeleteFileW(name))
        return TRUE;
    DWORD code = GetLastError(), kind = GetFileAttributesW(name);
    bool kept = kind != INVALID_FILE_ATTRIBUTES && kind & FILE_ATTRIBUTE_READONLY;
    if (kept && SetFileAttributesW(name, kind & ~(DWORD)FILE_ATTRIBUTE_READONLY) && DeleteFileW(name))
        return TRUE;
    SetLastError(code);
    return FALSE;
}

/* The same where the disk cannot (FAT): the open file takes another name first, and goes when it is closed.
 * Should the machine stop between the two, both are there. */
static BOOL rename_by_stepping_aside(const wchar_t *from, const wchar_t *to) {
    static const wchar_t ending[] = L".replaced";
    size_t length = wcslen(to);
    wchar_t *aside = malloc((length * sizeof *aside) + sizeof ending);
    if (!aside)
        return FALSE;
    wmemcpy(aside, to, length);
    wmemcpy(aside + length, ending, sizeof ending / sizeof *ending);
    BOOL done = FALSE;
    if (MoveFileExW(to, aside, MOVEFILE_WRITE_THROUGH)) {
        done = MoveFileExW(from, to, MOVEFILE_WRITE_THROUGH);
        if (done)
            remove_wide(aside);
        else
            MoveFileExW(aside, to, MOVEFILE_WRITE_THROUGH);
    }
    free(aside);
    return done;
}

static BOOL rename_wide(const wchar_t *from, const wchar_t *to) {
    if (MoveFileExW(from, to, MOVEFILE_REPLACE_EXISTING | MOVEFILE_WRITE_THROUGH))
        return TRUE;
    DWORD code = GetLastError();
    bool open = code == ERROR_ACCESS_DENIED || code == ERROR_SHARING_VIOLATION;
    if (open && (rename_over_open(from, to) || rename_by_stepping_aside(from, to)))
        return TRUE;
    SetLastError(code);
    return FALSE;
}

static BOOL link_wide(const wchar_t *from, const wchar_t *to) {
    return CreateHardLinkW(to, from, NULL);
}

static int with_two(BOOL (*call)(const wchar_t *, const wchar_t *), const char *a, const char *b) {
    wchar_t *first = gl_windows_path(a), *second = gl_windows_path(b);
    int result = first && second ? as_posix(call(first, second)) : -1;
    free(first);
    free(second);
    return result;
}

int rename(const char *from, const char *to) {
    return with_two(rename_wide, from, to);
}

int link(const char *from, const char *to) {
    return with_two(link_wide, from, to);
}

int unlink(const char *path) {
    wchar_t *name = gl_windows_path(path);
    int result = name ? as_posix(remove_wide(name)) : -1;
    free(name);
    return result;
}

int rmdir(const char *path) {
    wchar_t *name = gl_windows_path(path);
    int result = name ? as_posix(RemoveDirectoryW(name)) : -1;
    free(name);
    return result;
}

int mkdir(const char *path, mode_t mode) {
    (void)mode;
    wchar_t *name = gl_windows_path(path);
    int result = name ? as_posix(CreateDirectoryW(name, NULL)) : -1, code = errno;
    free(name);
    struct stat there;
    if (result != 0) /* "C:" is refused as forbidden, not as being there */
        errno = code == EACCES && stat(path, &there) == 0 ? EEXIST : code;
    return result;
}

/* ----------------------------------------------------------------------------------------------- folders */

struct gl_posix_folder {
    HANDLE search;
    WIN32_FIND_DATAW found;
    bool ahead; /* `found` was not given out yet */
    struct dirent entry;
};

DIR *opendir(const char *path) {
    size_t length = strlen(path);
    char *pattern = malloc(length + sizeof "/*");
    DIR *folder = calloc(1, sizeof *folder);
    wchar_t *name = NULL;
    if (pattern && folder) {
        memcpy(pattern, path, length);
        strcpy(pattern + length, "/*");
        name = gl_windows_path(pattern);
    }
    bool open = name && (folder->search = FindFirstFileW(name, &folder->found)) != INVALID_HANDLE_VALUE;
    if (name && !open)
        gl_windows_failed();
    free(pattern);
    free(name);
    if (open) {
        folder->ahead = true;
        return folder;
    }
    free(folder);
    return NULL;
}

struct dirent *readdir(DIR *folder) {
    if (!folder->ahead && !FindNextFileW(folder->search, &folder->found)) {
        if (GetLastError() != ERROR_NO_MORE_FILES)
            gl_windows_failed();
        return NULL;
    }
    folder->ahead = false;
    if (!WideCharToMultiByte(CP_UTF8, WC_ERR_INVALID_CHARS, folder->found.cFileName, -1, folder->entry.d_name,
                             sizeof folder->entry.d_name, NULL, NULL)) {
        gl_windows_failed();
        return NULL;
    }
    return &folder->entry;
}

int closedir(DIR *folder) {
    FindClose(folder->search);
    free(folder);
    return 0;
}

static void free_entries(struct dirent **entries, int count) {
    while (count)
        free(entries[--count]);
    free(entries);
}

int scandir(const char *path, struct dirent ***entries, int (*wanted)(const struct dirent *),
            int (*order)(const struct dirent **, const struct dirent **)) {
    DIR *folder = opendir(path);
    struct dirent **list = NULL, *entry;
    int count = 0;
    if (!folder)
        return -1;
    errno = 0;
    while ((entry = readdir(folder)) != NULL) {
        if (!wanted(entry))
            continue;
        struct dirent **more = realloc(list, (size_t)(count + 1) * sizeof *list);
        list = more ? more : list;
        if (!more || !(list[count] = malloc(sizeof *entry))) {
            errno = ENOMEM;
            break;
        }
        *list[count++] = *entry;
    }
    int code = errno;
    closedir(folder);
    if (code) {
        free_entries(list, count);
        errno = code;
        return -1;
    }
    if (count)
        qsort(list, (size_t)count, sizeof *list, (int (*)(const void *, const void *))(void (*)(void))order);
    *entries = list;
    return count;
}

/* With slashes, as the program writes names. */
char *getcwd(char *out, size_t size) {
    wchar_t here[4096];
    DWORD length = GetCurrentDirectoryW(sizeof here / sizeof *here, here);
    int room = size < INT32_MAX ? (int)size : INT32_MAX;
    if (!length || length >= sizeof here / sizeof *here ||
        !WideCharToMultiByte(CP_UTF8, WC_ERR_INVALID_CHARS, here, -1, out, room, NULL, NULL)) {
        errno = ERANGE;
        return NULL;
    }
    for (char *at = out; *at; at++)
        if (*at == '\\')
            *at = '/';
    return out;
}

/* -------------------------------------------------------------------------------------------------- text */

char *strndup(const char *text, size_t length) {
    size_t taken = strnlen(text, length);
    char *copy = malloc(taken + 1);
    if (copy) {
        memcpy(copy, text, taken);
        copy[taken] = '\0';
    }
    return copy;
}

int strerror_r(int code, char *out, size_t size) {
    const char *text = gl_platform_error_text(code);
    if (strlen(text) >= size)
        return ERANGE;
    strcpy(out, text);
    return 0;
}
