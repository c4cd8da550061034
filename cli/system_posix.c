#include <features.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include "system.h"

/* What is larger comes from the system and goes back to it: a large array then grows by its pages being moved, and leaves
 * no hole behind. By itself the C library keeps up to 32 MiB once it was given so much back. */
enum { LARGE = 1 << 20 };

static void give_back_large_memory(void) {
#ifdef __GLIBC__
    mallopt(M_MMAP_THRESHOLD, LARGE);
#endif
}

void cli_system_begin(int count, char **arguments) {
    (void)count, (void)arguments;
    give_back_large_memory();
    signal(SIGPIPE, SIG_IGN); /* a reader that went away is a failed write: exit status 3 */
}

unsigned cli_system_width(int descriptor) {
    struct winsize size;
    return isatty(descriptor) && ioctl(descriptor, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
}

bool cli_system_echo(bool shown) {
    struct termios how;
    if (tcgetattr(STDIN_FILENO, &how) != 0) {
        return false;
    }
    how.c_lflag = shown ? how.c_lflag | (tcflag_t)ECHO : how.c_lflag & (tcflag_t) ~(tcflag_t)ECHO;
    return tcsetattr(STDIN_FILENO, TCSAFLUSH, &how) == 0;
}

void cli_system_on_interrupt(void (*stop)(int number)) {
    struct sigaction before, now;
    memset(&now, 0, sizeof now);
    now.sa_handler = stop;
    now.sa_flags = (int)(SA_RESTART | SA_RESETHAND);
    sigemptyset(&now.sa_mask);
    if (sigaction(SIGINT, NULL, &before) == 0 && before.sa_handler == SIG_DFL) {
        sigaction(SIGINT, &now, NULL);
    }
}

bool cli_system_is_whole(const char *path) {
    return path[0] == '/';
}

const char *cli_system_home(void) {
    return getenv("HOME");
}
