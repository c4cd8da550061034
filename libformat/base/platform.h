/* What POSIX.1-2008 does not give: by Linux in platform.c, by Windows in windows/platform.c.
 * Functions that return an int return 0, or -1 with errno set, like the calls that they stand for. */
#ifndef GL_BASE_PLATFORM_H
#define GL_BASE_PLATFORM_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/* Fills all `length` bytes with the system's random numbers, or fails. */
bool gl_platform_random(void *bytes, size_t length);

/* The processor may fetch what lies there; a hint, no promise. The compiler would leave out the call of a
 * function that did nothing else, were it not for the empty statement. */
static inline void gl_platform_prefetch(const void *address) {
    __builtin_prefetch(address);
    __asm__ volatile("");
}

/* That memory was just given and will be filled: the system may hand it out in large pieces, where it is large. A hint,
 * no promise; nothing that lies there changes. */
void gl_platform_expect_filled(void *memory, size_t size);
/* The system hands it out now, not when it is first touched; nothing that lies there changes, and others may
 * be writing there. False where it does not do that. */
bool gl_platform_hand_out(void *memory, size_t size);

/* How many can work at once; at least 1. */
unsigned gl_platform_processors(void);

/* Where files go that nobody keeps. */
const char *gl_platform_temporary_folder(void);

/* English text of an errno value, whatever the locale; never NULL. */
const char *gl_platform_error_text(int code);

/* Copies inside the kernel, perhaps less than asked; ENOSYS where it cannot. */
ssize_t gl_platform_copy_file_range(int from, off_t from_offset, int to, off_t to_offset, size_t length);
/* Begins to write a range to disk, without waiting. */
int gl_platform_sync_file_range(int fd, off_t offset, off_t length);
/* Renames unless `to` exists (EEXIST), where hard links are not to be had. */
int gl_platform_rename_new(const char *from, const char *to);
/* Removes a folder of this user's with all that is in it; follows no link, and takes no other folder for it that
 * somebody puts there meanwhile. Not 0 where something of it is left. */
int gl_platform_remove_folder(const char *path);
/* An exclusive lock that belongs to the open file; EWOULDBLOCK where another one has it. */
int gl_platform_try_lock(int fd);
/* The process that holds such a lock on the file of `fd`, with its name; 0 where the system does not tell. */
long gl_platform_lock_holder(int fd, char *name, size_t size);

#endif
