#include <ctype.h>
#include <fcntl.h>
#include <io.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <windows.h>

#include "system.h"

/* Whether an argument with backslashes names a file: the folder that it would lie in is there. */
static bool is_in_folder(const char *argument) {
    char folder[4096];
    struct stat about;
    size_t length = strlen(argument);
    while (length > 0 && argument[length - 1] == '\\') {
        length--;
    }
    while (length > 0 && argument[length - 1] != '\\') {
        length--;
    }
    if (length == 0 || length >= sizeof folder) {
        return length == 0; /* "NAME\" lies where we are */
    }
    memcpy(folder, argument, length);
    folder[length] = '\0';
    return stat(folder, &about) == 0 && S_ISDIR(about.st_mode);
}

static void write_with_slashes(char *path) {
    for (; *path != '\0'; path++) {
        *path = *path == '\\' ? '/' : *path;
    }
}

static const char *const FOLDERS[] = {"HOME", "USERPROFILE", "XDG_CONFIG_HOME", "XDG_STATE_HOME",
                                      "XDG_CACHE_HOME"};

static void write_variables_with_slashes(void) {
    for (size_t i = 0; i < sizeof FOLDERS / sizeof FOLDERS[0]; i++) {
        char *value = getenv(FOLDERS[i]);
        char *copy = value != NULL ? _strdup(value) : NULL;
        if (copy != NULL) {
            write_with_slashes(copy);
            _putenv_s(FOLDERS[i], copy);
            free(copy);
        }
    }
}

/* The rest of the program knows '/' alone between folders, which Windows takes as well. */
void cli_system_begin(int count, char **arguments) {
    _setmode(_fileno(stdout), _O_BINARY);
    _setmode(_fileno(stderr), _O_BINARY);
    SetConsoleOutputCP(CP_UTF8);
    SetConsoleCP(CP_UTF8);
    for (int i = 1; i < count; i++) {
        if (strchr(arguments[i], '\\') != NULL && is_in_folder(arguments[i])) {
            write_with_slashes(arguments[i]);
        }
    }
    write_variables_with_slashes();
    /* Colours and the clearing of a line, on consoles that know them (Windows 10). */
    for (DWORD which = STD_OUTPUT_HANDLE; which >= STD_ERROR_HANDLE; which--) {
        DWORD mode;
        HANDLE console = GetStdHandle(which);
        if (GetConsoleMode(console, &mode)) {
            SetConsoleMode(console, mode | ENABLE_VIRTUAL_TERMINAL_PROCESSING);
        }
    }
}

unsigned cli_system_width(int descriptor) {
    CONSOLE_SCREEN_BUFFER_INFO about;
    if (!GetConsoleScreenBufferInfo((HANDLE)_get_osfhandle(descriptor), &about)) {
        return 0;
    }
    return (unsigned)(about.srWindow.Right - about.srWindow.Left + 1);
}

bool cli_system_echo(bool shown) {
    DWORD mode;
    HANDLE console = GetStdHandle(STD_INPUT_HANDLE);
    if (!GetConsoleMode(console, &mode)) {
        return false;
    }
    mode = shown ? mode | ENABLE_ECHO_INPUT : mode & ~(DWORD)ENABLE_ECHO_INPUT;
    return SetConsoleMode(console, mode) != 0;
}

void cli_system_on_interrupt(void (*stop)(int number)) {
    if (signal(SIGINT, stop) == SIG_IGN) {
        signal(SIGINT, SIG_IGN);
    }
}

/* "C:\…", "C:/…", "\\SERVER\…", "/…" (of this drive). */
bool cli_system_is_whole(const char *path) {
    bool drive = isalpha((unsigned char)path[0]) && path[1] == ':' && (path[2] == '/' || path[2] == '\\');
    return drive || path[0] == '/' || path[0] == '\\';
}

const char *cli_system_home(void) {
    const char *home = getenv("HOME");
    return home != NULL && home[0] != '\0' ? home : getenv("USERPROFILE");
}
