#include "browser.h"

#include <fcntl.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "refuse.h"

extern char **environ;

enum { WORDS_MOST = 16, LOOKS = 20, LOOK_MS = 50 };

/* "file:///…" of an existing file (RFC 8089), whatever bytes its name has. */
static char *address_of(cli_pool *pool, const char *path) {
    static const char digits[] = "0123456789ABCDEF";
    char here[4096];
    const char *whole = path[0] == '/'                      ? path
                        : getcwd(here, sizeof here) != NULL ? cli_pool_print(pool, "%s/%s", here, path)
                                                            : NULL;
    char *address = whole != NULL ? cli_pool_take(pool, strlen(whole) * 3 + sizeof "file://") : NULL;
    if (address != NULL) {
        char *at = address + strlen(strcpy(address, "file://"));
        for (const unsigned char *c = (const unsigned char *)whole; *c != '\0'; c++) {
            bool plain =
                (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') || strchr("/0123456789-._~", *c) != NULL;
            if (plain) {
                *at++ = (char)*c;
            } else {
                *at++ = '%';
                *at++ = digits[*c >> 4];
                *at++ = digits[*c & 15];
            }
        }
        *at = '\0';
    }
    return address;
}

/* A program that fails at once could not show anything; one that goes on, or ended well, is taken at its
 * word. */
static bool goes_on(pid_t pid) {
    const struct timespec pause = {0, LOOK_MS * 1000000L};
    for (int i = 0; i < LOOKS; i++) {
        int how;
        pid_t ended = waitpid(pid, &how, WNOHANG);
        if (ended != 0) {
            return ended == pid && WIFEXITED(how) && WEXITSTATUS(how) == 0;
        }
        nanosleep(&pause, NULL);
    }
    return true;
}

/* In a process group of its own, and with nothing of ours: it stays when we are gone. */
static bool start(char *const *words) {
    posix_spawn_file_actions_t files;
    posix_spawnattr_t how;
    pid_t pid;
    if (posix_spawn_file_actions_init(&files) != 0) {
        return false;
    }
    bool started = false;
    if (posix_spawnattr_init(&how) == 0) {
        bool ready = posix_spawnattr_setflags(&how, POSIX_SPAWN_SETPGROUP) == 0;
        for (int fd = 0; fd <= 2; fd++) {
            ready = ready && posix_spawn_file_actions_addopen(&files, fd, "/dev/null",
                                                              fd == 0 ? O_RDONLY : O_WRONLY, 0) == 0;
        }
        started = ready && posix_spawnp(&pid, words[0], &files, &how, words, environ) == 0 && goes_on(pid);
        posix_spawnattr_destroy(&how);
    }
    posix_spawn_file_actions_destroy(&files);
    return started;
}

/* Words of a command of BROWSER; a word "%s" is the address, which else comes last. */
static bool start_command(cli_pool *pool, const char *command, char *address) {
    char *words[WORDS_MOST + 2], *text = cli_pool_copy(pool, command, strlen(command)), *rest = NULL;
    size_t count = 0;
    bool given = false;
    for (char *word = text != NULL ? strtok_r(text, " ", &rest) : NULL; word != NULL && count < WORDS_MOST;
         word = strtok_r(NULL, " ", &rest)) {
        bool here = strcmp(word, "%s") == 0;
        words[count++] = here ? address : word;
        given = given || here;
    }
    if (count == 0) {
        return false;
    }
    if (!given) {
        words[count++] = address;
    }
    words[count] = NULL;
    return start(words);
}

glassine_status cli_browser_show(cli_pool *pool, const char *path, const char **with, glassine_error *error) {
    static const char *const usual[] = {"xdg-open", "open"};
    const char *chosen = getenv("BROWSER");
    char *address = address_of(pool, path), *rest = NULL;
    char *list = cli_pool_copy(pool, chosen != NULL ? chosen : "", chosen != NULL ? strlen(chosen) : 0);
    *with = NULL;
    if (address == NULL || list == NULL) {
        return cli_memory(error);
    }
    for (char *one = strtok_r(list, ":", &rest); one != NULL && *with == NULL;
         one = strtok_r(NULL, ":", &rest)) {
        *with = start_command(pool, one, address) ? one : NULL;
    }
    for (size_t i = 0; i < sizeof usual / sizeof usual[0] && *with == NULL; i++) {
        *with = start_command(pool, usual[i], address) ? usual[i] : NULL;
    }
    return GLASSINE_OK;
}
